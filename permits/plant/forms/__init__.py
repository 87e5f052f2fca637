"""Forms of the plant: they parse, word what is wrong and what would be right, and change nothing."""

from permits.plant.forms.asking import KeyedForm, SendForm, WhyForm
from permits.plant.forms.choosing import node_choices
from permits.plant.forms.demands import DemandsForm
from permits.plant.forms.files import ConfirmForm, UploadForm
from permits.plant.forms.hazards import HazardLinesForm
from permits.plant.forms.links import LinkForm
from permits.plant.forms.machines import MachineForm
from permits.plant.forms.nodes import NodeForm
from permits.plant.forms.physics import PhysicsForm
from permits.plant.forms.plans import PlanForm
from permits.plant.forms.procedures import CompareForm, ProcedureForm
from permits.plant.forms.tags import IssueForm, SheetForm, TagFilterForm

__all__ = [
    "CompareForm",
    "ConfirmForm",
    "DemandsForm",
    "HazardLinesForm",
    "IssueForm",
    "KeyedForm",
    "LinkForm",
    "MachineForm",
    "NodeForm",
    "PhysicsForm",
    "PlanForm",
    "ProcedureForm",
    "SendForm",
    "SheetForm",
    "TagFilterForm",
    "UploadForm",
    "WhyForm",
    "node_choices",
]
