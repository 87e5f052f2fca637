"""What an officer asked of a plan stays with the revision: what stays live, what was pinned and ruled out."""

from io import BytesIO
from urllib.parse import parse_qs, urlsplit

import pypdf
import pytest
from django.urls import reverse
from django.utils.timezone import now

from permits.plant.actions import (
    Chosen,
    PlantRefused,
    approve_procedure,
    draft_procedure,
    remove_link,
    save_link,
)
from permits.plant.models import Procedure
from permits.plant.pages.placard import placard_of
from permits.plant.prints.page import Paper
from permits.plant.prints.placard import placard
from permits.plant.rules.plan import plan
from permits.plant.rules.procedures import TEXTS, Choice
from permits.plant.store import graph_of
from tests.factories_plant import CLERK, SAW_ZONES, SEVEN, WRITTEN

AT_CELL = reverse("plant:plan", args=["C1"])
WRITE = reverse("plant:write-procedure", args=["C1"])
PARTS = {field: f"How it is done: {field}." for field in TEXTS}
ASKED = AT_CELL + "?asked=1&zone=C1-CHAMBER&keep=C1-PLC&pin=OUT-QB1&forbid=B3-QB1"


def text_of(answer) -> str:
    return answer.content.decode()


def query_of(address: str) -> dict[str, list[str]]:
    return parse_qs(urlsplit(address).query)


def at(revision: int) -> str:
    return reverse("plant:procedure", args=["C1", revision])


def starve_the_controller(works):
    """The controller's supply is changed over to the rail behind the cell's own disconnector."""
    save_link(site=works, link={"from": "C1-RAIL", "to": "C1-PLC"}, by=CLERK, at=now())
    remove_link(site=works, source="CTRL-BAR", target="C1-PLC", by=CLERK, at=now())


@pytest.fixture
def kept(cell, maud, torvald):
    """Revision 1, approved, in which the controller has to stay live."""
    made = draft_procedure(
        machine=cell, zones=SAW_ZONES, texts=WRITTEN, keep_live=["C1-PLC"], by=maud, at=SEVEN
    )
    approve_procedure(procedure=made, by=torvald, at=SEVEN)
    made.refresh_from_db()
    return made


# ---- kept with the revision


def test_a_draft_from_a_plan_remembers_all_that_was_asked(as_maud, keyed, entries):
    tried = as_maud.get(ASKED).context["tried"]
    asked = query_of(tried.draft)
    assert (asked["keep"], asked["pin"], asked["forbid"]) == (["C1-PLC"], ["OUT-QB1"], ["B3-QB1"])
    answer = as_maud.get(tried.draft)
    page = text_of(answer)
    assert answer.context["form"]["keep_live"].value() == ["C1-PLC"]
    assert "open><summary>Something must stay live" in page
    assert "Had to be in it: Outfeed conveyor disconnector." in page
    as_maud.post(tried.draft, keyed(zones=["C1-CHAMBER"], keep_live=["C1-PLC"], **PARTS))
    draft = Procedure.objects.get()
    assert draft.keep_live == ["C1-PLC"]
    assert draft.choice == {"pinned": ["OUT-QB1"], "forbidden": ["B3-QB1"]}
    assert "OUT-QB1" in draft.lock
    (entry,) = entries("PROCEDURE_DRAFTED")
    assert (entry["keep_live"], entry["choice"]) == (draft.keep_live, draft.choice)


def test_a_plan_that_is_the_computed_one_is_no_choice(as_maud, keyed):
    draft = as_maud.get(AT_CELL).context["tried"].draft
    as_maud.post(draft, keyed(zones=SAW_ZONES, **PARTS))
    assert Procedure.objects.get().choice is None


def test_another_plan_is_a_choice_even_where_nothing_was_pinned(as_maud, keyed):
    other = as_maud.get(AT_CELL).context["tried"].others[0]
    as_maud.post(other.draft, keyed(zones=SAW_ZONES, **PARTS))
    assert Procedure.objects.get().choice == {"pinned": [], "forbidden": []}
    assert "By a safety officer, not computed." in text_of(as_maud.get(at(1)))


def test_the_next_revision_begins_with_what_stays_live(as_maud, kept, keyed):
    form = as_maud.get(WRITE).context["form"]
    assert form["keep_live"].value() == ["C1-PLC"]
    as_maud.post(WRITE, keyed(zones=SAW_ZONES, keep_live=form["keep_live"].value(), **PARTS))
    assert Procedure.objects.get(revision=2).keep_live == ["C1-PLC"]


# ---- proven


def test_a_change_that_cuts_off_what_stays_live_is_a_flaw_and_mending_it_ends_that(works, kept, entries):
    assert kept.holds
    starve_the_controller(works)
    kept.refresh_from_db()
    assert not kept.holds
    (flaw,) = kept.flaws
    assert (flaw["id"], flaw["kept_dead"], flaw["path"][-1]) == ("C1-PLC", True, "C1-PLC")
    assert "C1-QB1" in flaw["path"]
    assert len(entries("PROCEDURE_UNPROVEN")) == 1
    save_link(site=works, link={"from": "CTRL-BAR", "to": "C1-PLC"}, by=CLERK, at=now())
    kept.refresh_from_db()
    assert kept.holds


def test_the_revisions_page_says_what_went_dead(as_odo, works, kept):
    assert "Stays live throughout: Cell controller. Treat it as live." in text_of(as_odo.get(at(1)))
    starve_the_controller(works)
    page = text_of(as_odo.get(at(1)))
    assert "Cell controller has to stay live, and the points locked cut it off from every supply." in page
    assert 'aria-label="A way to it that they cut"' in page


def test_a_draft_that_no_longer_keeps_it_live_is_not_approved(works, cell, maud, torvald):
    made = draft_procedure(
        machine=cell, zones=SAW_ZONES, texts=WRITTEN, keep_live=["C1-PLC"], by=maud, at=SEVEN
    )
    starve_the_controller(works)
    with pytest.raises(PlantRefused) as refused:
        approve_procedure(procedure=made, by=torvald, at=SEVEN)
    (reason,) = refused.value.reasons
    assert reason.startswith("Cell controller has to stay live, and the points locked cut it off")
    assert reason.endswith("A new revision would be right.")


def test_points_chosen_that_cut_it_off_are_refused(works, cell, maud):
    found = plan(graph_of(works), SAW_ZONES)
    with pytest.raises(PlantRefused) as refused:
        draft_procedure(
            machine=cell, zones=SAW_ZONES, texts=WRITTEN, keep_live=["C1-PLC"], by=maud, at=SEVEN,
            chosen=Chosen((*found.lock, "UPS-QB1"), found.release),
        )  # fmt: skip
    (reason,) = refused.value.reasons
    assert reason.startswith("Cell controller has to stay live, and the points locked cut it off")
    assert reason.endswith("Points that leave it live would be right.")


def test_points_that_are_not_what_was_asked_for_are_refused(works, cell, maud):
    found = plan(graph_of(works), SAW_ZONES)
    with pytest.raises(PlantRefused) as refused:
        draft_procedure(
            machine=cell, zones=SAW_ZONES, texts=WRITTEN, by=maud, at=SEVEN,
            chosen=Chosen(found.lock, found.release, Choice(("UPS-QB1",), ("C1-QB1",))),
        )  # fmt: skip
    asked, ruled_out = refused.value.reasons
    assert "was asked for and is not among the points chosen" in asked
    assert "Cell main disconnector was ruled out and is among the points chosen" in ruled_out


def test_what_cannot_stay_live_and_what_is_not_there_are_refused(cell, maud):
    def reasons(node: str) -> tuple[str, ...]:
        with pytest.raises(PlantRefused) as refused:
            draft_procedure(machine=cell, zones=["C1-CHAMBER"], texts={}, keep_live=[node], by=maud, at=SEVEN)
        return tuple(refused.value.reasons)

    assert reasons("NONE") == (
        "NONE has to stay live but is not in the plant; a node that is would be right.",
    )
    (reason,) = reasons("C1-RAIL")
    assert "cannot stay live while Saw chamber is isolated" in reason


# ---- shown


def test_two_revisions_show_what_stays_live_and_what_was_asked(as_odo, works, kept, cell, maud):
    found = plan(graph_of(works), SAW_ZONES)
    draft_procedure(
        machine=cell, zones=SAW_ZONES, texts=WRITTEN, by=maud, at=SEVEN,
        chosen=Chosen(found.lock, found.release, Choice(("C1-QB1",), ("B3-QB1",))),
    )  # fmt: skip
    answer = as_odo.get(reverse("plant:compare-procedures", args=["C1"]))
    pairs = {(pair.what, pair.name): (pair.old, pair.new) for pair in answer.context["compared"].points}
    assert pairs["Stays live", "Cell controller"] == (True, False)
    assert pairs["Had to be in it", "Cell main disconnector"] == (False, True)
    assert [new for (what, _), new in pairs.items() if what == "Ruled out"] == [(False, True)]
    page = text_of(answer)
    assert ">Stays live<" in page
    assert "<del>need not stay live now</del>" in page
    assert "<ins>ruled out now</ins>" in page


def test_the_placard_warns_of_what_stays_live(works, kept, cell):
    shown = placard_of(works, cell, public_url="https://permits.example", address_of=str)
    assert shown.stays_live == ("Cell controller",)
    pdf = pypdf.PdfReader(BytesIO(placard(shown, paper=Paper.A4, printed_at=SEVEN)))
    words = " ".join(pdf.pages[0].extract_text().split())
    assert "Stays live throughout: Cell controller. Treat it as live." in words
