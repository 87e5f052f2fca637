"""Forms of the plant: they parse, word what is wrong and what would be right, and change nothing."""

from permits.plant.forms.asking import KeyedForm, SendForm, WhyForm
from permits.plant.forms.demands import DemandsForm
from permits.plant.forms.files import ConfirmForm, UploadForm
from permits.plant.forms.links import LinkForm
from permits.plant.forms.machines import MachineForm
from permits.plant.forms.nodes import NodeForm
from permits.plant.forms.plans import PlanForm
from permits.plant.forms.procedures import CompareForm, ProcedureForm
from permits.plant.forms.tags import IssueForm, SheetForm, TagFilterForm

__all__ = [
    "CompareForm",
    "ConfirmForm",
    "DemandsForm",
    "IssueForm",
    "KeyedForm",
    "LinkForm",
    "MachineForm",
    "NodeForm",
    "PlanForm",
    "ProcedureForm",
    "SendForm",
    "SheetForm",
    "TagFilterForm",
    "UploadForm",
    "WhyForm",
]
