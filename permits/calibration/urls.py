"""Routes of calibration, grouped by noun."""

from django.urls import path

from permits.calibration.views import jobs, setup

app_name = "calibration"

urlpatterns = [
    path("permits/<str:reference>/job/", jobs.job, name="job"),
    path("permits/<str:reference>/job/open/", jobs.open_job, name="open-job"),
    path("permits/<str:reference>/job/axis/open/", jobs.open_axis, name="open-axis"),
    path("permits/<str:reference>/job/piece/", jobs.read_piece, name="read-piece"),
    path("permits/<str:reference>/job/correction/", jobs.correct, name="correct"),
    path("permits/<str:reference>/job/judge/", jobs.judge, name="judge"),
    path("permits/<str:reference>/job/axis/end/", jobs.end_axis, name="end-axis"),
    path("permits/<str:reference>/job/close/", jobs.close_job, name="close-job"),
    path("instruments/", setup.instruments, name="instruments"),
    path("axes/<path:machine>/", setup.axes, name="axes"),
]
