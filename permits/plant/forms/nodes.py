"""A node of the energy graph: the fields that fit its kind, with its test and its release."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from crispy_forms.bootstrap import InlineCheckboxes
from crispy_forms.layout import Fieldset, Row
from django import forms

from permits.plant.forms.asking import KeyedForm, LinesField, code, digest_of, is_taken, text, whole
from permits.plant.pages.words import CONTROLS
from permits.plant.rules.conductors import CONDUCTORS, PAIRS, pairs
from permits.plant.rules.energy import Grade, Kind, Medium
from permits.plant.rules.plantfile import PlantFileError

COMMON = ("label", "machine", "designation", "place", "medium", "magnitude", "device")
OF_KIND: dict[Kind, tuple[str, ...]] = {
    Kind.SUPPLY: (),
    Kind.ISOLATOR: ("lockable", "out_of_service", "grade", "effort", "sequence"),
    Kind.STORE: ("releasable", "effort", "sequence"),
    Kind.CARRIER: (),
    Kind.ZONE: ("danger_area", "outfeed"),
}
DEFAULTS: dict[str, Any] = {
    "lockable": True, "releasable": True, "effort": 1, "sequence": 0, "danger_area": False, "outfeed": False,
    "out_of_service": False, "grade": "",
}  # fmt: skip
TEST = ("test_quantity", "test_unit", "test_limit", "test_conductors", "test_combinations")
RELEASE = ("release_method", "release_wait_s", "release_undoable", "release_recheck_min")
PARTS = ("test", "release", "tag_only")
TESTED = (Kind.ISOLATOR, Kind.STORE)
_INDEX = re.compile(r"\[\d+\]$")


class NodeForm(KeyedForm):
    """A new node, or one that there is (`row`, a row of the plant file), as a node of this kind."""

    id = code(example="C1-QB1")
    label = text("Name", most=120, help_text="What people call it, such as Main disconnector.")
    machine = forms.ChoiceField(
        label="Machine",
        required=False,
        error_messages={"invalid_choice": "There is no machine %(value)s; one of the list would be right."},
    )
    designation = text("Designation", most=120, help_text="After IEC 81346, such as =L3.C1+H3-QB1.")
    place = text("Place", most=200, help_text="Where to walk to.")
    medium = forms.ChoiceField(
        label="Energy",
        required=False,
        choices=[("", "not said"), *((medium.value, medium.value) for medium in Medium)],
        error_messages={"invalid_choice": "%(value)s is no energy of the list; one of it would be right."},
    )
    magnitude = text("How much", most=120, help_text="In words: 400 V AC, 63 A.")
    device = text("Device", most=120)
    lockable = forms.BooleanField(label="It can be locked", required=False)
    out_of_service = forms.BooleanField(
        label="It is out of service: nothing may be isolated by it", required=False
    )
    grade = forms.ChoiceField(
        label="Grade",
        required=False,
        choices=[("", "not stated"), *((grade.value, grade.value) for grade in Grade)],
        help_text=(
            "Positive: parted so that nothing can pass. Proved: shut, and its holding can be tested. "
            "Non-proved: shut, and taken on trust."
        ),
        error_messages={"invalid_choice": "%(value)s is no grade of the list; one of it would be right."},
    )
    tag_only_measure = LinesField(
        label="Where it takes a tag but no lock",
        most=400,
        rows=2,
        help_text="What is done besides the tag, such as: handle taken off. Empty where it takes neither.",
    )
    releasable = forms.BooleanField(label="It can be made harmless", required=False)
    effort = whole(
        "Effort",
        initial=1,
        help_text="What it costs to lock or release it. Of all plans the one with the least sum is taken.",
    )
    sequence = whole(
        "Place in the order", initial=0, help_text="Lower numbers are locked, or released, first."
    )
    danger_area = forms.BooleanField(
        label="Danger area: confirmed clear of people before energy returns", required=False
    )
    outfeed = forms.BooleanField(label="Outfeed: parts are thrown or carried out here", required=False)
    test_quantity = text("What is read", most=60, help_text="Such as voltage, gauge pressure.")
    test_unit = text("Unit", most=16, help_text="Such as V, bar, mm.")
    test_limit = text("Highest that passes", most=40, help_text="In digits, such as 50 or 0.05.")
    test_conductors = forms.MultipleChoiceField(
        label="Conductors at this point",
        required=False,
        choices=[(mark, mark) for mark in CONDUCTORS],
        widget=forms.CheckboxSelectMultiple,
        help_text="Electrical points: every pair of the ticked ones is measured.",
        error_messages={"invalid_choice": "%(value)s is no conductor of the list; one of it would be right."},
    )
    test_combinations = text(
        "Only these pairs",
        most=300,
        help_text="Instead of conductors, where not every pair can be reached: L1-L2, L1-PE.",
    )
    release_method = LinesField(
        label="How it is made harmless",
        most=400,
        rows=2,
        help_text="Such as: open the bleed to the tank and leave it open.",
    )
    release_wait_s = whole(
        "Wait before the test", initial=None, unit="s", help_text="A reading taken earlier does not count."
    )
    release_recheck_min = whole(
        "Test again every", initial=None, unit="min", help_text="Only where it can recharge by itself."
    )
    release_undoable = forms.BooleanField(
        label="Someone could take it away again (a prop, a pin, an open bleed, an earth): it carries a lock",
        required=False,
    )

    DEVICE_HELP: ClassVar[dict[Kind, str]] = {
        Kind.ISOLATOR: f"What it is, such as load-break disconnector. {CONTROLS}",
        Kind.CARRIER: f"What it is, such as contactor. {CONTROLS}",
        Kind.STORE: "What it is, such as capacitor bank.",
        Kind.SUPPLY: "What it is, such as transformer.",
    }

    def __init__(
        self,
        data: Any = None,
        *,
        kind: Kind,
        machines: Sequence[tuple[str, str]],
        row: Mapping[str, Any] | None = None,
        machine: str = "",
        taken: Mapping[str, str] | None = None,
        button: str,
    ) -> None:
        self.kind, self.machines, self.row_there, self.taken = kind, machines, row, taken or {}
        initial = as_initial(row) if row else {"machine": machine, "lockable": True, "releasable": True}
        super().__init__(data, button=button, seen=digest_of(row), initial=initial)

    def prepare(self) -> None:
        self.fields["id"].disabled = self.row_there is not None
        self.fields["machine"].choices = [  # type: ignore[attr-defined]
            ("", "shared: it belongs to no machine"),
            *((code, f"{name} ({code})") for code, name in self.machines),
        ]
        own = {"key", "seen", "id", *COMMON, *OF_KIND[self.kind]}
        if self.kind in TESTED:
            own |= set(TEST)
        if self.kind is Kind.STORE:
            own |= set(RELEASE)
        if self.kind is Kind.ISOLATOR:
            own.add("tag_only_measure")
        if self.kind is Kind.ZONE:
            own -= {"medium", "magnitude", "device"}
        measured = (self.row_there or {}).get("test", {}).get("combinations")
        if (self.row_there or {}).get("medium", Medium.ELECTRICAL) != Medium.ELECTRICAL and not measured:
            own -= {"test_conductors", "test_combinations"}
        for name in [name for name in self.fields if name not in own]:
            del self.fields[name]
        if "device" in self.fields:
            self.fields["device"].help_text = self.DEVICE_HELP[self.kind]

    def body(self) -> list[Any]:
        layout: list[Any] = [
            Row("id", "label"), Row("machine", "designation"), "place",
        ]  # fmt: skip
        if "medium" in self.fields:
            layout += [Row("medium", "magnitude"), "device"]
        if self.kind is Kind.ZONE:
            layout += ["danger_area", "outfeed"]
        if self.kind in TESTED:
            can = ["lockable", "tag_only_measure", "out_of_service", "grade"]
            if self.kind is Kind.STORE:
                can = ["releasable"]
            layout.append(Fieldset("In a plan", *can, Row("effort", "sequence")))
        if self.kind is Kind.STORE:
            layout.append(
                Fieldset(
                    "How it is released",
                    "release_method",
                    Row("release_wait_s", "release_recheck_min"),
                    "release_undoable",
                )
            )
        if self.kind in TESTED:
            conductors = [InlineCheckboxes("test_conductors"), "test_combinations"]
            if "test_conductors" not in self.fields:
                conductors = []
            layout.append(
                Fieldset(
                    "How zero energy is proven",
                    Row("test_quantity", "test_unit", "test_limit"),
                    *conductors,
                )
            )
        return layout

    def clean_id(self) -> str:
        id: str = self.cleaned_data["id"]
        if self.row_there is None and id in self.taken:
            raise forms.ValidationError(is_taken(id, self.taken[id]))
        return id

    def field_of(self, error: PlantFileError) -> str | None:
        if not error.row.startswith("nodes["):
            return None
        name = _INDEX.sub("", error.field).replace(".", "_")
        whole = {"test": "test_quantity", "release": "release_method", "tag_only": "tag_only_measure"}
        name = whole.get(name, name)
        return name if name in self.fields else None

    def row(self) -> dict[str, Any]:
        """The node as a row of the plant file. What the form has no field for stays as it is there."""
        given = self.cleaned_data
        there = self.row_there or {}
        kept = there if there.get("kind") == self.kind.value else {f: there[f] for f in COMMON if f in there}
        row: dict[str, Any] = {**kept, "id": given["id"], "kind": self.kind.value}
        for name in (*COMMON, *OF_KIND[self.kind]):
            if name not in self.fields:
                continue
            value = DEFAULTS.get(name, "") if given[name] is None else given[name]
            row.pop(name, None)
            if value != DEFAULTS.get(name, ""):
                row[name] = value
        parts = {"test": self._test(), "release": self._release(), "tag_only": self._tag_only()}
        for name, part in parts.items():
            row.pop(name, None)
            if part:
                row[name] = part
        return row

    def _test(self) -> dict[str, Any]:
        given = self.cleaned_data
        if "test_quantity" not in self.fields:
            return {}
        test = {
            field: given[f"test_{field}"] for field in ("quantity", "unit", "limit") if given[f"test_{field}"]
        }
        if given.get("test_conductors"):
            test["conductors"] = list(given["test_conductors"])
        if given.get("test_combinations"):
            test["combinations"] = [
                pair.strip().upper() for pair in re.split(r"[,;\s]+", given["test_combinations"]) if pair
            ]
        return test

    def clean_tag_only_measure(self) -> str:
        measure: str = self.cleaned_data["tag_only_measure"]
        if measure.strip() and self.cleaned_data.get("lockable"):
            raise forms.ValidationError(
                "It can be locked, as ticked above, so a tag is no choice. Untick that, or leave this empty."
            )
        return measure

    def _tag_only(self) -> dict[str, Any]:
        measure = self.cleaned_data.get("tag_only_measure", "")
        return {"measure": measure} if measure else {}

    def _release(self) -> dict[str, Any]:
        given = self.cleaned_data
        if "release_method" not in self.fields:
            return {}
        release = {
            "method": given["release_method"] or None,
            "wait_s": given["release_wait_s"],
            "undoable": given["release_undoable"] or None,
            "recheck_min": given["release_recheck_min"],
        }
        return {name: value for name, value in release.items() if value is not None}


def as_initial(row: Mapping[str, Any]) -> dict[str, Any]:
    """A row of the plant file as the form shows it."""
    initial = DEFAULTS | {name: value for name, value in row.items() if name not in PARTS}
    test = row.get("test") or {}
    measured = tuple(test.get("combinations", ()))
    conductors = [mark for mark in CONDUCTORS if any(mark in _ends(pair) for pair in measured)]
    every = measured == pairs(conductors)
    initial |= {f"test_{name}": test.get(name, "") for name in ("quantity", "unit", "limit")}
    initial["test_conductors"] = conductors if every else []
    initial["test_combinations"] = "" if every else ", ".join(measured)
    initial["tag_only_measure"] = (row.get("tag_only") or {}).get("measure", "")
    return initial | {f"release_{name}": value for name, value in (row.get("release") or {}).items()}


_ENDS = {f"{a}-{b}": (a, b) for a in CONDUCTORS for b in CONDUCTORS}


def _ends(pair: str) -> tuple[str, str]:
    """The two conductors of a pair: "L+-PE" is L+ and PE."""
    return _ENDS[pair] if pair in PAIRS else ("", "")
