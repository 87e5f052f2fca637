"""Every room's routes, each included once."""

from django.urls import include, path

urlpatterns = [
    path("", include("permits.people.urls")),
    path("", include("permits.plant.urls")),
    path("", include("permits.work.urls")),
    path("", include("permits.calibration.urls")),
    path("", include("permits.records.urls")),
]

handler500 = "permits.config.faults.failed"
handler400 = "permits.config.faults.not_understood"
