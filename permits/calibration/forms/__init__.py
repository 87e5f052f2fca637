"""Forms of calibration: they parse and word errors; lengths are read as people write them."""

from permits.calibration.forms.asking import JustKeyForm, KeyedForm, OnPermitForm
from permits.calibration.forms.describing import AxisForm, FeatureForm
from permits.calibration.forms.jobs import CloseJobForm, JobForm, OpenAxisForm, OpenJobForm, PreCheckForm
from permits.calibration.forms.measuring import EarlierForm, InstrumentForm, PolicyForm
from permits.calibration.forms.on_axis import CorrectionForm, EndAxisForm, PieceForm, StrikeForm, WorkForm

__all__ = [
    "AxisForm",
    "CloseJobForm",
    "CorrectionForm",
    "EarlierForm",
    "EndAxisForm",
    "FeatureForm",
    "InstrumentForm",
    "JobForm",
    "JustKeyForm",
    "KeyedForm",
    "OnPermitForm",
    "OpenAxisForm",
    "OpenJobForm",
    "PieceForm",
    "PolicyForm",
    "PreCheckForm",
    "StrikeForm",
    "WorkForm",
]
