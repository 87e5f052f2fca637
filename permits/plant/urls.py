"""Routes of the plant room."""

app_name = "plant"

urlpatterns: list = []
