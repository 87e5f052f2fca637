"""What a refusal shows in full, and what stands on the page before a signature."""


import pytest

from permits.people.models import Person
from tests.cast import PIN
from tests.work.reading_pages import page_of, send, text_of
from tests.work.the_job import FREED


@pytest.fixture
def odo(works, phone):
    return phone("odo")


def test_accepting_without_reading_names_each_thing_that_is_not_known(job, odo):
    job.to("issued")
    answer = send(odo, f"{job.url}accept/", pin=PIN["odo"], knows_hazards="on")
    assert answer.status_code == 409
    page = page_of(answer)
    assert "2 things are missing." in page.text
    assert "the kind and magnitude of each energy" in page.text
    assert "the means by which each energy is controlled" in page.text
    assert page.posts["knows_hazards"] == ["on"]
    assert "knows_energies" not in page.posts


def test_a_sanction_that_would_reach_someone_next_door_names_them_and_the_path(job, phone):
    job.to("signed_off")
    issuer, seen = phone("szczesny"), job.seen
    points = [*FREED, "OUT-QB1"]
    terms = {"limits": "Manual", "cycles": "2", "minutes": "60", "pin": PIN["szczesny"]}
    answer = send(issuer, f"{job.url}sanction/", points=points, **terms)
    assert answer.status_code == 409
    page = page_of(answer)
    assert "Ελένη Δρυμώνα, signed on under P-1 in Transfer from the crosscut outfeed" in page.text
    path = ("400 V feeder to board 4", "Board 4 busbar", "Outfeed motor breaker", "Outfeed conveyor motor")
    assert all(name in page.text for name in path)
    assert "padlock E-32 hangs on =L3.C1+H4-QB4 Outfeed conveyor disconnector for permit P-1" in page.text
    assert page.posts["points"] == points
    assert page.posts["limits"] == ["Manual"]
    assert job.seen == seen


def test_the_issuer_sees_the_plan_and_the_clashes_before_signing(job, phone):
    job.to("asked")
    page = text_of(phone("szczesny").get(f"{job.url}issue/"))
    assert "Lock Cell main disconnector =L3.C1+H3-QB1, Board 3, by column A4, line 3 aisle, panel 2" in page
    assert "Electrical, 400 V AC, 63 A" in page
    assert "Test: voltage, dead at 50 V or less" in page
    assert "Hazards: Crosscut cell" in page
    assert "P-1 holds =L3.C1+H4-QB4 Outfeed conveyor disconnector as well" in page
    assert "Asked for by Odo Kestrelman" in page
    job.to("signed_off")
    page = text_of(phone("szczesny").get(f"{job.url}sanction/"))
    assert "Outfeed conveyor disconnector" in page
    assert "P-1 holds" in page


def test_the_issuer_sees_who_is_authorised_and_qualified(job, phone):
    job.to("asked")
    page = text_of(phone("szczesny").get(f"{job.url}issue/"))
    assert "Odo Kestrelman (qualified to test)" in page
    # Authorised, neither more nor less; whose he is, and who answers for him here.
    assert "Wim Ottergaard (contractor of Harrowmere Fitters, hosted by Maud Ferrisdale)" in page
    pressed = Person.objects.get(sign_in="wim").ref
    press = f"/permits/{job.another('P1-BED', by='odo')}/issue/"
    assert "hosted by Maud Ferrisdale; not authorised for P1)" in text_of(phone("szczesny").get(press))
    answer = send(phone("szczesny"), press, holder=pressed, pin=PIN["szczesny"])
    assert answer.status_code == 409
    assert "Wim Ottergaard is not authorised for P1" in text_of(answer)
    officers = "Maud Ferrisdale, Torvald Eskmoor"
    assert f"A safety officer authorises them, under “People”: {officers}." in text_of(answer)


def test_a_second_permit_on_the_machine_asks_for_one_coordinator(job, phone):
    job.to("accepted")
    second = job.another("C1-INFEED")
    page = page_of(phone("szczesny").get(f"/permits/{second}/issue/"))
    assert Person.objects.get(sign_in="odo").ref in page.offers["coordinator"]
    answer = send(
        phone("szczesny"), f"/permits/{second}/issue/", holder=Person.objects.get(sign_in="ruben").ref,
        pin=PIN["szczesny"],
    )  # fmt: skip
    assert answer.status_code == 409
    assert f"Open on the same machine: {job.id}; nobody coordinates the permits." in text_of(answer)


def test_by_radio_the_page_asks_who_sees_it_and_keeps_what_was_typed(job, phone, person):
    job.to("unlocked")
    pia, url = phone("pia"), f"{job.url}confirm-clear/"
    answer = send(pia, url, areas=["C1-OUTFEED"], how="radio")
    assert answer.status_code == 409
    page = page_of(answer)
    assert "It is not said who sees the areas and told you by radio." in page.text
    assert (page.posts["areas"], page.posts["how"]) == (["C1-OUTFEED"], ["radio"])
    assert send(pia, url, areas=["C1-OUTFEED"], how="radio", seen_by=person("wim").ref).status_code == 302
    [said] = job.row.confirmations.filter(void_at=None)
    assert (said.by, said.seen_by) == (person("pia").ref, person("wim").ref)
    assert "Wim Ottergaard" in text_of(phone("odo").get(job.url))
