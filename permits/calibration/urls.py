"""Routes of calibration, grouped by noun."""

from django.urls import path

from permits.calibration.views import features, instruments, jobs, on_axis, over_time, setup
from permits.plant import codes_in_addresses  # noqa: F401  # registers <code:…>

app_name = "calibration"

urlpatterns = [
    path("calibration/", setup.home, name="home"),
    path("calibration/policy/", setup.policy, name="policy"),
    path("instruments/", instruments.instruments, name="instruments"),
    path("instruments/<int:instrument>/remove/", instruments.remove_instrument, name="remove-instrument"),
    # axes
    path("axes/<code:machine>/", setup.axes, name="axes"),
    path("axes/<code:machine>/add/", setup.add_axis, name="add-axis"),
    path("axes/<code:machine>/features/", features.features, name="features"),
    path(
        "axes/<code:machine>/features/<int:feature>/remove/", features.remove_feature, name="remove-feature"
    ),
    path("axes/<code:machine>/<int:axis>/", over_time.axis, name="axis"),
    path("axes/<code:machine>/<int:axis>/change/", setup.change_axis, name="change-axis"),
    path("axes/<code:machine>/<int:axis>/remove/", setup.remove_axis, name="remove-axis"),
    path("axes/<code:machine>/<int:axis>/earlier/", over_time.earlier, name="earlier"),
    # the job of a permit
    path("permits/<str:reference>/job/", jobs.job, name="job"),
    path("permits/<str:reference>/job/open/", jobs.open_job, name="open-job"),
    path("permits/<str:reference>/job/pre-check/", jobs.pre_check, name="pre-check"),
    path("permits/<str:reference>/job/close/", jobs.close_job, name="close-job"),
    path("permits/<str:reference>/job/axis/open/", on_axis.open_axis, name="open-axis"),
    path("permits/<str:reference>/job/axis/end/", on_axis.end_axis, name="end-axis"),
    path("permits/<str:reference>/job/piece/", on_axis.read_pieces, name="read-piece"),
    path("permits/<str:reference>/job/piece/strike/", on_axis.strike_piece, name="strike-piece"),
    path("permits/<str:reference>/job/correction/", on_axis.correct, name="correct"),
    path("permits/<str:reference>/job/judge/", on_axis.judge, name="judge"),
]
