"""What the pages of a permit show and do when it goes otherwise: stopped, handed over, absent, late."""

from __future__ import annotations

import json
import re

import pytest
from django.utils.timezone import now

from permits.people.models import Person
from permits.plant.actions import save_link
from permits.plant.models import Tag
from permits.work.forms.late import KINDS
from permits.work.rules import commands as c
from permits.work.rules.amending import lacking_points
from permits.work.rules.handing_over import lacking
from permits.work.rules.words import BOX, Position
from tests.cast import PIN
from tests.work.every_form import FORMS
from tests.work.form_rows import ref
from tests.work.forms_otherwise import by_the_clock, offered, on_paper, second, stopped
from tests.work.reading_pages import filled, page_of, send, text_of

STOP = r'<a class="button danger" href="{}stop/">STOP'


@pytest.fixture
def odo(works, phone):
    return phone("odo")


def pinned(answer) -> str:
    """The part of a page that stays in sight at the foot of a phone."""
    return answer.content.decode().partition('<section class="action"')[2].partition("</section>")[0]


def after(client, answer) -> str:
    """The page to which a step that was done leads."""
    assert answer.status_code == 302, text_of(answer)
    return text_of(client.get(answer.url))


def last(job, kind: str) -> dict:
    """The data of the latest entry of a kind."""
    return json.loads([entry for entry in job.entries() if entry.kind == kind][-1].body)["data"]


# ── stop ────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("who", ["pia", "darya", "odo", "ilse"])
def test_whoever_looks_at_a_permit_has_stop_in_sight_and_it_asks_for_nothing(job, phone, who):
    job.to("signed_on")
    client = phone(who)
    assert re.search(STOP.format(job.url), pinned(client.get(job.url)))
    page = after(client, send(client, f"{job.url}stop/"))
    assert "Stopped. Odo Kestrelman: come out and sign off." in page
    assert f"A safety officer lifts it, on {job.id}'s page: Maud Ferrisdale, Torvald Eskmoor." in page
    assert last(job, "WORK_STOPPED")["why"] == "no reason given yet"


def test_every_permit_that_names_a_point_can_be_stopped_from_it(job, odo):
    job.to("told")
    token = Tag.objects.get(node__code="C1-QB1", withdrawn_at=None).token
    assert re.findall(STOP.format(job.url) + "<span", pinned(odo.get(f"/T/{token}")))
    other = job.another("C1-INFEED")
    foot = pinned(odo.get(f"/T/{token}"))
    assert re.findall(STOP.format("(/permits/P-[0-9]+/)") + " (P-[0-9]+)<", foot) == [
        (job.url, job.id), (f"/permits/{other}/", other),
    ]  # fmt: skip


@pytest.mark.parametrize("path", ["hand-over/", "try-start/C1/", "crew/", "suspend/"])
def test_a_form_under_way_has_stop_in_sight(job, odo, path):
    job.to("proven")
    assert re.search(STOP.format(job.url), pinned(odo.get(f"{job.url}{path}")))


def test_a_permit_that_is_over_has_nothing_to_stop(job, odo):
    job.to("closed")
    assert "STOP" not in pinned(odo.get(job.url))


def test_a_stop_says_who_when_and_why_until_it_is_lifted_and_after(job, odo, phone):
    job.to("signed_on")
    stopped(job)
    page = text_of(odo.get(job.url))
    assert "Come out: stopped" in page
    assert re.search(
        r"Held up Stopped by Pía Lindqvall at \d\d:\d\d on \d+ \w+: smoke at the drive\. "
        r"A safety officer lifts it, on P-\d's page: Maud Ferrisdale, Torvald Eskmoor\.", page,
    )  # fmt: skip
    job.do(c.SignOffCrew, "odo")
    assert 'data-state="unproven"' in odo.get(job.url).content.decode().partition("<main")[0]
    assert re.search(r'band-word">Stopped<', odo.get(job.url).content.decode())
    maud = phone("maud")
    assert maud.get(job.url).context["step"].url == f"{job.url}lift/"
    page = after(maud, send(maud, f"{job.url}lift/", how="a hot bearing, greased", pin=PIN["maud"]))
    assert re.search(r"Lifted by Maud Ferrisdale at \d\d:\d\d on \d+ \w+: a hot bearing, greased\.", page)
    assert "Not proven dead" in page


def test_a_suspension_is_called_that_and_its_holder_lifts_it(job, odo):
    job.to("told")
    job.do(c.SuspendPermit, "odo", why="lightning")
    page = odo.get(job.url)
    assert re.search(r'band-word">Suspended<', page.content.decode())
    assert page.context["step"].url == f"{job.url}lift/"
    row = next(row for row in odo.get("/board/").context["rows"] if row.id == job.id)
    assert (row.state, row.word) == ("unproven", "Suspended")
    assert row.held_up[0].startswith("Suspended by Odo Kestrelman at ")


def test_a_machine_that_several_permits_hold_is_in_service_when_the_last_ends(job, odo):
    job.to("proven")
    rows = {row.id: row for row in odo.get("/board/").context["rows"]}
    assert rows[job.id].service == f"in service only when the last of P-1, {job.id} ends"
    job.to("signed_off").to("closed")
    assert "not in service until P-1 ends" in text_of(odo.get(job.url))


# ── hand over ───────────────────────────────────────────────────────────────────────────────────────────


def test_a_handover_leads_the_next_holder_past_their_own_locks_to_the_signature(job, odo, phone):
    job.to("locked")
    page = after(odo, send(odo, f"{job.url}hand-over/", to=ref("eleni"), pin=PIN["odo"]))
    assert "Odo Kestrelman hands it over to Ελένη Δρυμώνα" in page
    eleni = phone("eleni")
    assert eleni.get(job.url).context["step"].url == f"{job.url}lock/"
    answer = send(eleni, f"{job.url}take-over/", **FORMS["take-over"].good(job), pin=PIN["eleni"])
    assert answer.status_code == 409
    assert "Odo Kestrelman's lock hangs on =L3.C1+H3-QB1 Cell main disconnector" in text_of(answer)
    for n, point in enumerate({lock.where for lock in job.look().permit.hanging}):
        lock = {"padlock": f"E-{n}", "tag": f"TE-{n}", "position": "off"}
        job.do(c.ApplyLock, "eleni", point=point, **lock)
    page = text_of(eleni.get(f"{job.url}take-over/"))
    assert "Odo Kestrelman hands it over" in page
    assert "Cell main disconnector" in page
    assert "O-1 E-" in page
    page = after(eleni, send(
        eleni, f"{job.url}take-over/", **FORMS["take-over"].good(job), pin=PIN["eleni"]
    ))  # fmt: skip
    assert "Holder Ελένη Δρυμώνα" in page
    assert "Handover" not in page


def test_the_holder_reads_for_whom_a_handover_waits_what_they_need_and_how_to_take_it_back(job, odo):
    job.to("proven")
    offered(job)
    locks = lacking(job.look().site, job.look().permit, ref("eleni"))
    for n, point in enumerate(locks[1:]):
        lock = {"padlock": f"E-{n}", "tag": f"TE-{n}", "position": Position.OFF}
        job.do(c.ApplyLock, "eleni", point=point, **lock)
    answer = odo.get(job.url)
    step = answer.context["step"]
    assert (step.title, step.url) == ("Ελένη Δρυμώνα takes the permit over", "")
    assert "their own lock beside yours on =L3.C1+H3-QB1 Cell main disconnector, then they sign." in step.text
    assert "Until then the permit is yours and your locks stay on." in step.text
    choices = answer.context["choices"]
    assert (f"{job.url}withdraw-handover/", "Withdraw the handover") in choices
    assert (f"{job.url}sign-on/", "Sign on") in choices  # the work itself may go on meanwhile
    lock = {"padlock": "E-90", "tag": "TE-90", "position": Position.OFF}
    job.do(c.ApplyLock, "eleni", point=locks[0], **lock)
    assert "Their locks hang. They read the plan and sign." in odo.get(job.url).context["step"].text
    page = after(odo, send(odo, f"{job.url}withdraw-handover/", why="I stay on"))
    assert "takes the permit over" not in page


def test_who_has_handed_over_takes_off_their_locks_next(job, odo):
    job.to("proven")
    offered(job)
    for n, point in enumerate(lacking(job.look().site, job.look().permit, ref("eleni"))):
        lock = {"padlock": f"E-{n}", "tag": f"TE-{n}", "position": Position.OFF}
        job.do(c.ApplyLock, "eleni", point=point, **lock)
    job.do(c.AcceptHandover, "eleni", knows_energies=True, knows_hazards=True, knows_control=True)
    step = odo.get(job.url).context["step"]
    assert (step.title, step.url) == ("Take your locks off", f"{job.url}remove-locks/")


@pytest.mark.parametrize("said", ["knows_energies", "knows_hazards", "knows_control"])
def test_whoever_takes_over_confirms_all_three(job, phone, said):
    job.to("told")
    offered(job)
    good = {name: value for name, value in FORMS["take-over"].good(job).items() if name != said}
    answer = send(phone("eleni"), f"{job.url}take-over/", **good, pin=PIN["eleni"])
    assert answer.status_code == 409
    assert job.look().permit.holder == ref("odo")


def test_a_new_holder_of_an_absent_one_is_named_on_the_page(job, phone):
    job.to("told")
    maud = phone("maud")
    named = {"to": ref("eleni"), "why": "went home ill"}
    page = after(maud, send(maud, f"{job.url}new-holder/", **named, pin=PIN["maud"]))
    assert "Odo Kestrelman is absent. An officer named Ελένη Δρυμώνα the new holder" in page


# ── points that the plan lacks ──────────────────────────────────────────────────────────────────────────


def test_an_issuer_is_shown_the_way_past_the_plan_with_what_it_lacks_ticked(job, odo, phone):
    job.to("told")
    save_link(
        site=job.site, link={"from": "B3-BAR", "to": "C1-RAIL"}, by=Person.objects.get(sign_in="maud").author,
        at=now(),
    )  # fmt: skip
    assert "Stopped: the plant has changed" in text_of(odo.get(job.url))
    job.at = now()
    job.do(c.LiftHalt, "maud", minutes=0, how="looked at, another point is needed")
    looked = job.look()
    missing = [point for found in lacking_points(looked.site, looked.permit) for point in found]
    assert missing
    szczesny = phone("szczesny")
    assert szczesny.get(job.url).context["step"].url == f"{job.url}amend/"
    page = page_of(szczesny.get(f"{job.url}amend/"))
    assert "The plan does not cover this way" in page.text
    assert page.posts["lacking"] == missing
    assert "Ticked because energy still reaches the zones without them" in page.text
    answer = send(szczesny, f"{job.url}amend/", why="the new link", pin=PIN["szczesny"])
    assert "Added." in after(szczesny, answer)
    assert set(missing) <= set(job.look().permit.points)


def test_a_longer_plan_without_a_point_is_refused(job, phone):
    job.to("told")
    answer = send(phone("szczesny"), f"{job.url}amend/", why="to be sure", pin=PIN["szczesny"])
    assert answer.status_code == 409
    assert "No point is named." in text_of(answer)


# ── absent ──────────────────────────────────────────────────────────────────────────────────────────────


def test_who_was_signed_off_in_their_absence_is_told_before_they_go_on(job, phone, odo):
    job.to("signed_on")
    maud, form = phone("maud"), FORMS["absent"]
    page = after(maud, send(maud, f"{job.url}absent/", **form.typed(job)))
    said = "Odo Kestrelman is not told yet that their lock was taken off"
    assert said in page
    assert last(job, "ABSENT_SIGNED_OFF")["second"] == ref("torvald")
    assert odo.get(job.url).context["step"].title == "You have to be told something first"
    assert f"Odo Kestrelman for {job.id}" in text_of(phone("szczesny").get("/whole-site/"))
    szczesny = phone("szczesny")
    page = after(szczesny, send(szczesny, "/whole-site/tell-returned/", how="at the gate"))
    assert "Recorded that they were told." in page
    assert said not in text_of(odo.get(job.url))
    page = text_of(szczesny.get("/whole-site/tell-returned/"))
    assert "Nobody has to be told anything now." in page


def test_a_padlock_on_the_box_needs_the_zones_searched(job, phone):
    job.to("signed_on")
    answer = send(phone("maud"), f"{job.url}absent/", **FORMS["absent"].typed(job) | {"searched": ""})
    assert answer.status_code == 409
    assert "You write who searched every zone, and when, on this page." in text_of(answer)


def test_only_what_hangs_of_others_is_offered(job, phone):
    job.to("signed_on")
    offers = page_of(phone("maud").get(f"{job.url}absent/")).offers["which"]
    hanging = [f"{ref('odo')} {lock.where}" for lock in job.look().permit.hanging]
    assert offers == [f"{ref('odo')} {BOX}", *hanging]


# ── the second signature ────────────────────────────────────────────────────────────────────────────────


def test_the_second_person_s_wrong_pin_signs_nothing_counts_and_is_recorded(job, phone, person):
    job.to("signed_on")
    sent = FORMS["absent"].typed(job) | {"second_pin": "000000"}
    before, seen = len(job.entries()), job.seen
    answer = send(phone("maud"), f"{job.url}absent/", **sent)
    assert answer.status_code == 422
    page = page_of(answer)
    said = f"This is not the PIN of {person('torvald').name}; 9 more tries before it locks."
    assert said in page.text
    assert answer.context["form"].errors["second_pin"][0].startswith(said)
    assert page.posts["second_sign_in"] == ["torvald"]
    assert page.posts["tried"] == ["telephone, home"]
    assert job.seen == seen
    [entry] = job.entries()[before:]
    assert (entry.kind, entry.about) == ("PIN_FAILED", person("torvald").about)
    assert person("torvald").pin_failures == 1


def test_a_second_person_whose_pin_is_locked_signs_nothing(job, phone, person):
    job.to("signed_on")
    torvald = person("torvald")
    torvald.pin_failures, torvald.pin_locked_at = 10, job.at
    torvald.save()
    answer = send(phone("maud"), f"{job.url}absent/", **FORMS["absent"].typed(job))
    assert answer.status_code == 422
    assert "is locked after 10 wrong ones" in answer.context["form"].errors["second_pin"][0]


def test_someone_of_another_site_is_no_second_person(job, phone, elsewhere):
    from permits.people.rules.roles import Role
    from tests.factories_people import PersonFactory

    job.to("signed_on")
    elsewhere(Role.OFFICER)
    stranger = PersonFactory(sign_in="stranger")
    sent = FORMS["absent"].typed(job) | {"second_sign_in": stranger.sign_in}
    answer = send(phone("maud"), f"{job.url}absent/", **sent)
    assert answer.status_code == 422
    assert "signs in as 'stranger'" in answer.context["form"].errors["second_sign_in"][0]


def test_who_is_absent_cannot_be_the_second_person(job, phone):
    job.to("signed_on")
    answer = send(phone("maud"), f"{job.url}absent/", **FORMS["absent"].typed(job) | second("odo"))
    assert answer.status_code == 409
    assert "A second person takes part, neither the officer nor the lock's owner." in text_of(answer)


# ── notices ─────────────────────────────────────────────────────────────────────────────────────────────


def test_a_notice_says_whom_it_reached(job, phone):
    job.to("told")
    pia = phone("pia")
    assert "Nobody has said yet that it reached them." in text_of(pia.get(job.url))
    assert "It reached Pía Lindqvall." in after(pia, send(pia, f"{job.url}acknowledge/", notice="0"))
    answer = send(pia, f"{job.url}acknowledge/", notice="0")
    assert answer.status_code == 409
    assert "You have said so already." in text_of(answer)


# ── entered late ────────────────────────────────────────────────────────────────────────────────────────


def late(job, **fields) -> dict:
    around = {"who": ref("odo"), "happened_at": by_the_clock(job, minutes_ago=20), "printed": "F-7"}
    return around | second("tamar") | {"pin": PIN["szczesny"]} | fields


def test_what_can_have_happened_on_paper_is_chosen_first(job, phone):
    job.to("told")
    on_paper(job)
    answer = phone("szczesny").get(f"{job.url}enter-late/")
    assert "The site is on paper since" in text_of(answer)
    kinds = [kind for kind, _ in answer.context["kinds"]]
    assert {"lock-on", "signed-off", "handed-back", "cancelled"} <= set(kinds)
    assert "power-back" not in kinds  # not before the machine was handed back


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_of_what_happened_has_a_page(job, phone, kind):
    job.to("told")
    on_paper(job)
    answer = phone("szczesny").get(f"{job.url}enter-late/{kind}/")
    assert answer.status_code == 200
    assert KINDS[kind].title in text_of(answer)
    assert phone("szczesny").get(f"{job.url}enter-late/sang/").status_code == 404


@pytest.mark.parametrize(
    ("stage", "kind", "fields", "entry"),
    [
        ("told", "lock-on", {"padlock": "L-1", "tag": "T-1", "position": "off"}, "LOCK_APPLIED"),
        ("locked", "released", {"method": "as written", "padlock": "L-2", "tag": "T-2"}, "STORE_RELEASED"),
        ("signed_on", "signed-off", {}, "CREW_SIGNED_OFF"),
        ("told", "stopped", {"why": "smoke"}, "WORK_STOPPED"),
        (
            "signed_off", "handed-back",
            {"machine_whole": "on", "guards_on": "on", "tools_out": "on", "people_out": "on"}, "HANDED_BACK",
        ),
        ("handed_back", "lock-off", {"points": ["C1-QB1"]}, "LOCK_REMOVED"),
        ("told", "cancelled", {"why": "asked in error"}, "PERMIT_CANCELLED"),
    ],
)  # fmt: skip
def test_what_happened_is_of_whoever_did_it_and_two_vouch_for_it(job, phone, stage, kind, fields, entry):
    job.to(stage)
    on_paper(job)
    if kind in ("lock-on", "released"):
        fields = fields | {"point": job.planned("lock" if kind == "lock-on" else "release")[0]}
    szczesny, before = phone("szczesny"), len(job.entries())
    page = after(szczesny, send(szczesny, f"{job.url}enter-late/{kind}/", **late(job, **fields)))
    assert "Entered late." in page
    entered, *others = job.entries()[before:]
    done = next(one for one in others if one.kind == entry)
    assert (entered.kind, entered.by) == ("LATE_ENTERED", f"person:{ref('szczesny')}")
    assert last(job, "LATE_ENTERED")["second"] == ref("tamar")
    assert done.by == f"person:{ref('odo')}"


def test_a_time_before_the_site_was_on_paper_is_refused(job, phone):
    job.to("told")
    on_paper(job)
    then = by_the_clock(job, minutes_ago=600)
    sent = late(job, said="lockout", whom="all", how="by radio", happened_at=then)
    answer = send(phone("szczesny"), f"{job.url}enter-late/told/", **sent)
    assert answer.status_code == 409
    assert "You enter the time that stands on the form, on this page." in text_of(answer)


@pytest.mark.parametrize("path", ["enter-late/", "enter-late/told/"])
def test_while_the_site_is_not_on_paper_nothing_is_asked_for_and_it_is_said_who_declares_it(job, phone, path):
    job.to("told")
    answer = phone("odo").get(job.url + path)
    assert answer.status_code == 409
    page = text_of(answer)
    assert "Paper mode is not declared: what happens now is entered when it happens." in page
    officers = "Maud Ferrisdale, Torvald Eskmoor"
    assert f"An officer declares it, under “The whole site”: {officers}." in page
    assert page_of(answer).posts == {}
    assert "Declare paper mode" not in page
    assert "Declare paper mode" in text_of(phone("maud").get(job.url + path))


def test_the_word_that_the_machine_starts_is_not_filed_as_one_of_the_lockout(job, phone):
    job.to("locked")
    on_paper(job)
    url, szczesny, before = f"{job.url}enter-late/told/", phone("szczesny"), len(job.entries())
    sent = late(job, said="start", whom="all", how="by radio", happened_at=by_the_clock(job, minutes_ago=0))
    answer = send(szczesny, url, **sent)
    assert answer.status_code == 422
    assert "That the machine starts is told again now" in text_of(answer)
    assert len(job.entries()) == before
    page = after(szczesny, send(szczesny, url, **sent | {"said": "lockout"}))
    assert page.count(", of the lockout. Nobody") == 2
    assert "before locking" not in page


def test_once_the_machine_is_handed_back_no_late_word_of_it_is_offered(job, phone):
    job.to("locks_off")
    on_paper(job)
    kinds = [kind for kind, _ in phone("szczesny").get(f"{job.url}enter-late/").context["kinds"]]
    assert "told" not in kinds


def test_a_notice_says_what_it_was_about(job, phone):
    job.to("told_again")
    page = text_of(phone("szczesny").get(job.url))
    assert page.count(", of the lockout. Nobody") == 1
    assert page.count(", that the machine starts again. Nobody") == 1


@pytest.mark.parametrize("who", ["szczesny", "maud"])
def test_an_issuer_or_an_officer_tells_affected_people_for_the_holder(job, phone, who):
    job.to("locked")
    teller = phone(who)
    assert (f"{job.url}tell/", "Tell affected people") in teller.get(job.url).context["choices"]
    page = after(teller, send(teller, f"{job.url}tell/", whom="the night shift", how="by radio"))
    assert "the night shift by radio" in page.lower()
    assert last(job, "AFFECTED_TOLD")["whom"] == "the night shift"


def test_what_was_typed_while_on_paper_is_refused_once_paper_mode_has_ended(job, phone):
    job.to("told")
    on_paper(job)
    url, szczesny = f"{job.url}enter-late/told/", phone("szczesny")
    typed = filled(szczesny, url, **late(job, said="lockout", whom="the night shift", how="by radio"))
    job.do(c.EndPaper, "maud", how="every form is entered, kept in the office", all_inside_signed_on=True)
    answer = szczesny.post(url, typed)
    assert answer.status_code == 409
    page = text_of(answer)
    assert "Paper mode is not declared: what happens now is entered when it happens." in page
    officers = "Maud Ferrisdale, Torvald Eskmoor"
    assert f"An officer declares it, under “The whole site”: {officers}." in page
    assert page_of(answer).posts["whom"] == ["the night shift"]
