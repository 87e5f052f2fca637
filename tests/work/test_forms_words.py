"""No form of any room says anything in Django's own words: every error has a sentence of ours."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator

import pytest
from django import forms
from django.utils.timezone import now

from permits.work.forms import handing_over, isolating, issuing, late, occupying, proving, restoring, testing
from permits.work.forms.asking import AskForm, CommandForm, SeenForm, SiteForm, first_person
from permits.work.forms.finding import FindForm
from permits.work.forms.requesting import RequestForm, ZonesForm
from permits.work.forms.site_policy import PolicyForm
from permits.work.rules import commands as c

ROOMS = ("people", "plant", "work", "calibration", "records")


BUILT_ON = (
    AskForm, SeenForm, SiteForm, CommandForm, isolating.AtPointForm, handing_over.NextHolderForm,
    late.PointOnPaperForm,
)  # fmt: skip


def modules(room: str) -> Iterator[str]:
    """The room's form modules, by name."""
    root = importlib.import_module(f"permits.{room}")
    names = [name for _, name, _ in pkgutil.walk_packages(root.__path__, f"permits.{room}.")]
    return (name for name in names if name.split(".")[2] == "forms")


def form_classes(room: str) -> dict[str, type[forms.BaseForm]]:
    """Every form class that is written in the room."""
    found = {}
    for name in modules(room):
        for thing in vars(importlib.import_module(name)).values():
            if isinstance(thing, type) and issubclass(thing, forms.BaseForm) and thing.__module__ == name:
                found[f"{name.removeprefix('permits.')}.{thing.__name__}"] = thing
    return found


EVERY = {name: made for room in ROOMS for name, made in form_classes(room).items()}
OURS = {name: made for name, made in EVERY.items() if issubclass(made, AskForm)}


def standard_words(field: forms.Field) -> Iterator[str]:
    """The errors of a field for which it would show a sentence of Django's."""
    known: dict[str, object] = {}
    for made in reversed(type(field).__mro__):
        if made.__module__.startswith("django."):
            known |= getattr(made, "default_error_messages", {})
    for code, message in known.items():
        if field.error_messages.get(code) == message and (field.required or code != "required"):
            yield code
    for validator in field.validators:
        code = getattr(validator, "code", "")
        ours = not type(validator).__module__.startswith("django.")
        if code and not ours and code not in field.error_messages:
            yield code


def test_there_are_forms_in_every_room_that_has_pages():
    assert {name.split(".")[0] for name in EVERY} >= {"people", "plant", "work", "calibration"}


@pytest.fixture
def made(job):
    """made(form class): the form as its page has it, with every field that it can have."""
    job.finds = "feed roller worn"
    job.to("checked")
    looked = job.look()
    asked = {"site": looked.site, "permit": looked.permit, "person": looked.permit.holder, "at": now()}

    def build(form: type[forms.BaseForm]) -> forms.BaseForm:
        if form in (proving.VerifyForm, proving.TryStartForm):
            return form(**asked, machine="C1")
        if form is late.EnterLateForm:
            return form(**asked, kind="checked")
        if issubclass(form, CommandForm):
            return form(**asked)
        if issubclass(form, AskForm):
            return form(**{name: value for name, value in asked.items() if name != "permit"})
        if form is PolicyForm:
            return form(policy=looked.site.policy)
        if issubclass(form, ZonesForm):
            return form(site=looked.site, machine="C1")
        return form()

    return build


@pytest.mark.parametrize("name", [name for name in EVERY if name.startswith("work.")])
def test_every_error_of_a_permits_forms_has_words_of_ours(made, name):
    said = {label: list(standard_words(field)) for label, field in made(EVERY[name]).fields.items()}
    assert {label: codes for label, codes in said.items() if codes} == {}


@pytest.mark.parametrize("name", OURS)
def test_a_form_names_itself_its_button_and_what_comes_of_it(name):
    form = OURS[name]
    if form in BUILT_ON:
        return  # what others build on
    assert form.title
    assert form.button
    assert form.done.endswith(".")


def test_the_forms_that_are_signed_are_those_whose_command_is():
    signed = {form.signed for form in OURS.values() if form.signed}
    assert signed == set(c.SIGNED.values())


def test_no_lock_and_no_reading_asks_for_a_pin():
    for form in (
        isolating.LockForm, isolating.ReleaseForm, proving.VerifyForm, proving.TryStartForm,
        occupying.SignOnForm, occupying.SignOffForm, restoring.RemoveLocksForm, testing.ConfirmClearForm,
    ):  # fmt: skip
        assert not form.signed
        assert form.lends


@pytest.mark.parametrize(
    ("meaning", "said"),
    [
        ("issues the permit: the plan is right", "issue the permit: the plan is right"),
        ("is ready to energise: everyone is clear", "am ready to energise: everyone is clear"),
        ("hands the machine back: whole", "hand the machine back: whole"),
        ("closes the permit", "close the permit"),
    ],
)
def test_a_signature_speaks_in_the_first_person(meaning, said):
    assert first_person(meaning) == said


def test_every_signature_reads_as_a_sentence(made):
    for form in (issuing.IssueForm, issuing.AcceptForm, testing.SanctionForm, testing.ReadyForm):
        assert not first_person(form.signed).split()[0].endswith("ss")
    assert first_person(c.SIGNED[c.AcceptPermit]).startswith("accept the permit: know the energies")


@pytest.mark.parametrize("typed", ["A\x00B", "\x00"])
def test_a_character_that_cannot_be_kept_is_said_in_words_of_ours(typed):
    form = FindForm({"code": typed})
    assert form.errors["code"] == ["One character in it cannot be kept; typed anew it would be right."]


def test_a_reading_takes_a_decimal_comma(made):
    form = made(proving.VerifyForm)
    reading = next(field for name, field in form.fields.items() if name.startswith("r_"))
    assert str(reading.clean("0,3")) == "0.3"
    assert reading.clean("") is None


def test_a_request_carries_the_zones_of_its_plan_unseen(made):
    form = made(RequestForm)
    form.for_this_plan()
    hidden = {field.name for field in form.hidden_fields()}
    assert hidden == {"key", "zones", "keep_live"}
