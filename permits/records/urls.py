"""Routes of the records room."""

app_name = "records"

urlpatterns: list = []
