"""Routes of the records room."""

from django.urls import path

from permits.records import views

app_name = "records"

about_one = [
    path("records/<str:reference>/", views.story, name="story"),
    path("records/<str:reference>/record.pdf", views.pdf, name="pdf"),
    path("records/<str:reference>/entries.json", views.download, name="download"),
]

urlpatterns = [
    path("records/", views.search, name="search"),
    path("records/exceptions/", views.exceptions, name="exceptions"),
    path("records/ledger/", views.ledger, name="ledger"),
    *about_one,
]
