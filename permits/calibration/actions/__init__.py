"""What can be done in calibration; the only writers of this room. In a job the permit is asked first."""

from permits.calibration.actions.describing import (
    remove_axis,
    remove_feature,
    save_axis,
    save_feature,
    save_policy,
)
from permits.calibration.actions.earlier import enter_earlier
from permits.calibration.actions.instruments import remove_instrument, save_instrument
from permits.calibration.actions.jobs import close_job, open_job, pre_check
from permits.calibration.actions.on_axis import correct, end_axis, judge, open_axis, read_pieces, strike_piece
from permits.calibration.actions.who import Who

__all__ = [
    "Who",
    "close_job",
    "correct",
    "end_axis",
    "enter_earlier",
    "judge",
    "open_axis",
    "open_job",
    "pre_check",
    "read_pieces",
    "remove_axis",
    "remove_feature",
    "remove_instrument",
    "save_axis",
    "save_feature",
    "save_instrument",
    "save_policy",
    "strike_piece",
]
