"""A machine's procedures: the list, a revision, writing the next, approving it, two side by side."""

import pytest
from django.urls import reverse
from django.utils.timezone import now

from permits.plant.actions import draft_procedure, save_link, save_node
from permits.plant.models import Procedure
from permits.plant.rules.procedures import TEXTS
from tests.factories_plant import CLERK, SAW_ZONES, SEVEN, WRITTEN

ALL = reverse("plant:procedures", args=["C1"])
WRITE = reverse("plant:write-procedure", args=["C1"])
COMPARE = reverse("plant:compare-procedures", args=["C1"])
PARTS = {field: f"How it is done: {field}.\r\nTwice." for field in TEXTS}


def text_of(answer) -> str:
    return answer.content.decode()


def at(revision: int) -> str:
    return reverse("plant:procedure", args=["C1", revision])


def approve(revision: int) -> str:
    return reverse("plant:approve-procedure", args=["C1", revision])


# ---- reading


def test_every_revision_is_in_the_list_with_its_people(as_odo, works, draft):
    page = text_of(as_odo.get(ALL))
    works.head.refresh_from_db()
    day = f"{works.head.last_at.astimezone(works.zone):%-d %b %Y}"
    assert page.index("Revision 2") < page.index("Revision 1")
    assert f"written by Maud Ferrisdale, {day}; approved by Torvald Eskmoor" in page
    assert "Write the next revision" not in page


def test_a_machine_without_a_procedure_says_what_follows(as_odo):
    assert "Without an approved procedure no permit can be issued" in text_of(as_odo.get(ALL))


def test_a_revision_shows_its_texts_points_and_picture(as_odo, written):
    page = text_of(as_odo.get(at(1)))
    assert "In words: how zero energy is tested." in page
    assert page.index("Cell main disconnector") < page.index("Measuring gantry")
    assert '<svg class="ep ep-' in page
    assert "Approve" not in page.replace("Approved", "")


def test_a_revision_that_no_longer_holds_shows_the_path(as_odo, works, written):
    save_link(site=works, link={"from": "B3-BAR", "to": "C1-CLAMP"}, by=CLERK, at=now())
    page = text_of(as_odo.get(at(1)))
    assert "It no longer holds" in page
    assert "<li>Board 3 busbar</li>" in page
    assert "no longer holds" in text_of(as_odo.get(reverse("plant:machine", args=["C1"])))


def test_an_unknown_revision_is_not_found(as_odo, written):
    assert as_odo.get(at(7)).status_code == 404


# ---- writing


def test_the_first_revision_is_for_every_zone_unless_said_otherwise(as_maud):
    form = as_maud.get(WRITE).context["form"]
    assert form["zones"].value() == list(SAW_ZONES)


def test_a_draft_is_kept_once(as_maud, works, maud, keyed, entries):
    data = keyed(zones=["C1-OUTFEED"], **PARTS)
    assert as_maud.post(WRITE, data).url == at(1)
    assert as_maud.post(WRITE, data).url == ALL
    found = Procedure.objects.get()
    assert (found.author, found.zones) == (maud, ["C1-OUTFEED"])
    assert found.shutdown == "How it is done: shutdown.\nTwice."
    assert len(entries("PROCEDURE_DRAFTED")) == 1


def test_the_next_revision_begins_with_what_the_last_one_says(as_maud, draft):
    page = text_of(as_maud.get(WRITE))
    assert "Write revision 3 for Crosscut cell" in page
    assert "stopped at the end of a shift" in page


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"zones": []}, "No zone is ticked; one at least would be right."),
        ({"zones": ["D1-BED"]}, "D1-BED is no zone of this machine; one of the list would be right."),
        ({"isolation": "x" * 6001}, "This has 6001 characters; 6000 at most would be right."),
    ],
)
def test_what_cannot_be_kept_says_why_and_keeps_what_was_typed(as_maud, keyed, changes, says):
    answer = as_maud.post(WRITE, keyed(zones=["C1-OUTFEED"], **PARTS) | changes)
    assert answer.status_code == 422
    assert says in text_of(answer)
    assert "How it is done: verification." in text_of(answer)
    assert not Procedure.objects.exists()


def test_zones_that_nothing_isolates_are_refused_with_the_path(as_maud, works, keyed):
    save_node(site=works, node={"id": "SUN", "kind": "supply"}, by=CLERK, at=now())
    save_link(site=works, link={"from": "SUN", "to": "C1-CLAMP"}, by=CLERK, at=now())
    answer = as_maud.post(WRITE, keyed(zones=list(SAW_ZONES), **PARTS))
    page = text_of(answer)
    assert answer.status_code == 409
    assert "Not yet: keep the draft" in page
    assert "<li>SUN</li>" in page
    assert "How it is done: verification." in page


# ---- approving


def test_another_officer_approves_it_once(as_torvald, draft, written, torvald, keyed, entries):
    assert "Approve revision 2" in text_of(as_torvald.get(at(2)))
    data = keyed()
    assert as_torvald.post(approve(2), data).url == as_torvald.post(approve(2), data).url == at(2)
    draft.refresh_from_db()
    written.refresh_from_db()
    assert (draft.state, draft.approver, written.state) == ("approved", torvald, "superseded")
    assert len(entries("PROCEDURE_APPROVED")) == 2


def test_the_author_is_told_who_could(as_maud, draft, keyed):
    page = text_of(as_maud.get(at(2)))
    assert "You wrote it; another safety officer approves it: Torvald Eskmoor." in page
    assert "Approve revision 2" not in page
    answer = as_maud.post(approve(2), keyed())
    assert answer.status_code == 409
    assert "Nobody approves what they wrote; another safety officer can." in text_of(answer)


def test_what_is_not_written_is_named_before_and_at_approval(as_torvald, cell, maud, keyed):
    draft_procedure(machine=cell, zones=SAW_ZONES, texts=WRITTEN | {"verification": ""}, by=maud, at=SEVEN)
    page = text_of(as_torvald.get(at(1)))
    assert "Before it can be approved it has to say" in page
    assert "Approve revision 1" not in page
    answer = as_torvald.post(approve(1), keyed())
    assert answer.status_code == 409
    assert "It does not say how zero energy is tested; a revision that does would be right." in text_of(
        answer
    )


def test_a_revision_that_is_approved_already_is_refused(as_torvald, written, keyed):
    answer = as_torvald.post(approve(1), keyed())
    assert answer.status_code == 409
    assert "Revision 1 is approved; only a draft can be approved." in text_of(answer)


def test_approving_is_no_link(as_torvald, draft):
    assert as_torvald.get(approve(2)).status_code == 405


# ---- side by side


def test_the_last_two_are_compared_word_by_word(as_odo, draft):
    page = text_of(as_odo.get(COMPARE))
    assert "<del>shut down.</del>" in page
    assert "<ins>stopped at the end of a shift.</ins>" in page
    assert "Zones and points: the same" in page


def test_zones_and_points_that_came_or_went_are_shown(as_odo, written, cell, maud):
    draft_procedure(machine=cell, zones=["C1-OUTFEED"], texts=WRITTEN, by=maud, at=SEVEN)
    compared = as_odo.get(COMPARE + "?old=1&new=2").context["compared"]
    gone = {point.name for point in compared.points if point.old and not point.new}
    assert {"Crosscut infeed", "Saw chamber", "Measuring gantry"} <= gone
    assert all(part.same for part in compared.texts)


def test_an_unknown_revision_is_said(as_odo, draft):
    answer = as_odo.get(COMPARE + "?old=1&new=9")
    assert answer.status_code == 422
    assert "There is no revision 9; one of the list would be right." in text_of(answer)


def test_one_revision_cannot_be_compared(as_odo, written):
    assert as_odo.get(COMPARE).status_code == 404
