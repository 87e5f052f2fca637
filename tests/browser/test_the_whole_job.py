"""One calibration job on the phone, in a real browser, from request to a verified ledger."""

import os
import re
import sqlite3
import subprocess
import sys
import time

import pytest

from tests.browser.phone import pin
from tests.browser.serving import ROOT, SECONDS

pytestmark = pytest.mark.browser

ZONES = ["C1-INFEED", "C1-CHAMBER", "C1-OUTFEED"]
PADLOCKS = iter(range(101, 199))


def short_code(folder, point: str) -> str:
    """What is printed on the point's plate."""
    with sqlite3.connect(folder / "permits.sqlite3") as database:
        query = (
            "SELECT t.short_code FROM plant_tag t JOIN plant_node n ON n.id = t.node_id "
            "WHERE n.code = ? AND t.withdrawn_at IS NULL"
        )
        return database.execute(query, [point]).fetchone()[0]


def token(folder, point: str) -> str:
    with sqlite3.connect(folder / "permits.sqlite3") as database:
        query = (
            "SELECT t.token FROM plant_tag t JOIN plant_node n ON n.id = t.node_id "
            "WHERE n.code = ? AND t.withdrawn_at IS NULL"
        )
        return database.execute(query, [point]).fetchone()[0]


def make_safe(phone, folder, permit: str, *, scan: bool) -> None:
    """Lock and release whatever the page names next, until it asks for readings or for patience."""
    while phone.open(f"/permits/{permit}/").next_title().startswith(("Lock", "Release")):
        point = point_named(phone, folder)
        padlock = next(PADLOCKS)
        if scan:  # the phone's camera opens the plate's address; its page leads to the form
            phone.open("/T/" + token(folder, point))
            phone.press_next()
        else:
            phone.press_next()
            phone.fill(code=short_code(folder, point).lower())
        if phone.page.locator("#the-form [name=position]").count():
            phone.fill(padlock=padlock, tag=7000 + padlock, position="off")
        elif phone.page.locator("#the-form [name=padlock]").count():
            phone.fill(method="as on its plate", padlock=padlock, tag=7000 + padlock)
        else:  # a store that the test filled again: the lock that held it still hangs
            phone.fill(method="as on its plate")
        phone.send()
        assert not phone.page.locator(".refusal, .error-summary").count(), phone.text()


def point_named(phone, folder) -> str:
    designation = re.search(r"=\S+", phone.next_title()).group(0)
    with sqlite3.connect(folder / "permits.sqlite3") as database:
        query = "SELECT code FROM plant_node WHERE designation = ? AND removed_at IS NULL"
        return database.execute(query, [designation]).fetchone()[0]


def prove_dead(phone, permit: str, *, value: str = "0") -> None:
    """Fill every reading that the page asks for, machine by machine, until the permit is isolated."""
    for _ in range(20):
        if phone.open(f"/permits/{permit}/").band() == "Proven dead":
            return
        if not phone.page.locator(".action a.primary").count():
            time.sleep(SECONDS / 2)
            continue
        phone.press_next()
        for box in phone.page.locator(".readings input:visible").all():
            box.fill(value)
        if phone.page.locator("[name=instrument]").count():
            phone.fill(instrument="VT-07", proven_before=True, proven_after=True)
        phone.send()
        assert not phone.page.locator(".refusal, .error-summary").count(), phone.text()
    raise AssertionError(phone.text())


def confirm_clear(phone, permit: str) -> None:
    phone.open(f"/permits/{permit}/confirm-clear/")
    areas = [box.get_attribute("value") for box in phone.page.locator("[name=areas]").all()]
    phone.fill(areas=areas, how="seen", one_place=True).send()
    assert "Confirmed clear." in phone.text()


def read_pieces(phone, permit: str, *sizes: str) -> None:
    for size in sizes:
        phone.open(f"/permits/{permit}/job/").fill(nominal="1200", measured=size).send()
        assert not phone.page.locator(".refusal, .error-summary").count(), phone.text()


def test_the_whole_job_on_the_phone(people, plant):
    _, folder = plant
    odo, wim, issuer, operator = people["odo"], people["wim"], people["szczesny"], people["pia"]

    # Ask, issue, accept.
    odo.open("/permits/new/C1/").fill(zones=ZONES).send()
    assert "Outfeed conveyor disconnector" in odo.page.inner_text(".plan")  # the plan, before it is asked for
    odo.fill(reason="Boards run 2 mm long", hours=8).send()
    permit = re.search(r"/permits/(P-\d+)/", odo.page.url).group(1)
    assert odo.no_sideways_scroll()
    assert re.search(r"P-1 holds .*Outfeed conveyor disconnector as well", odo.text())
    holder = issuer.open(f"/permits/{permit}/issue/").page.locator("[name=holder] option", has_text="Odo")
    crew = issuer.page.locator("label", has_text="Wim Ottergaard").locator("input").get_attribute("value")
    issuer.fill(holder=holder.get_attribute("value"), crew=[crew])
    if issuer.page.locator("[name=coordinator]").count():
        issuer.fill(coordinator=holder.get_attribute("value"))
    issuer.fill(pin=pin("szczesny")).send()
    assert "Issued." in issuer.text()
    odo.open(f"/permits/{permit}/").press_next()
    odo.fill(pin="000000", knows_energies=True, knows_hazards=True, knows_control=True).send()
    assert "This is not the PIN" in odo.text()
    odo.fill(pin=pin("odo")).send()
    assert "Accepted." in odo.text()

    # Tell, lock by tag, release, prove.
    odo.do(whom="operators of lines 3 and 4", how="in person", covers_tests=True)
    make_safe(odo, folder, permit, scan=True)
    prove_dead(odo, permit)
    assert odo.band() == "Proven dead"
    assert odo.no_sideways_scroll()

    # Sign on with one's own padlock, check the machine, sign off.
    odo.do(padlock="B-1")
    wim.open(f"/permits/{permit}/sign-on/").fill(padlock="B-2").send()
    assert "Inside: Odo Kestrelman, Wim Ottergaard" in odo.open(f"/permits/{permit}/").text()
    odo.press_next()
    for item in ("obstructions", "damage", "cables", "cleaning", "maintenance", "alignment"):
        odo.fill(**{item: "in order"})
    odo.fill(wear="defect", wear_note="feed roller worn").send()
    assert "Open defects" in odo.text()
    odo.open(f"/permits/{permit}/defects/").fill(defect="0", ended="resolved", how="roller changed").send()
    assert "feed roller worn" not in odo.open(f"/permits/{permit}/").text()

    # A sanction that would reach someone next door is refused, by name and path.
    issuer.open(f"/permits/{permit}/sanction/")
    points = [box.get_attribute("value") for box in issuer.page.locator("[name=points]").all()]
    freed = ["C1-QB1", "C1-QB2", "C1-QB3", "OUT-QB1"]
    assert set(freed) <= set(points)
    issuer.fill(
        points=freed, limits="Manual, one board at a time", cycles=3, minutes=120, pin=pin("szczesny")
    ).send()
    refusal = issuer.page.inner_text(".refusal")
    assert "Ελένη Δρυμώνα" in refusal
    assert "400 V feeder to board 4" in refusal
    assert "Outfeed conveyor disconnector" in issuer.page.inner_text(".refusal .path")
    assert issuer.page.locator('[name=points][value="OUT-QB1"]').is_checked()  # what was typed is kept
    issuer.page.locator('[name=points][value="OUT-QB1"]').uncheck()
    issuer.fill(pin=pin("szczesny")).send()
    assert "Sanction given." in issuer.text()

    # Everyone out, open the job, begin the cycle, locks off by their owner, areas clear, ready.
    wim.open(f"/permits/{permit}/sign-off/").send()
    odo.open(f"/permits/{permit}/sign-off/").send()
    odo.open(f"/permits/{permit}/job/open/").fill(
        settings_before="C1-settings-1.txt", reference_board="R-7", test_piece="38 × 89, 1200 mm"
    ).send()
    run_cycle(odo, operator, permit)

    # As found: out of tolerance; correct; as left decides.
    odo.open(f"/permits/{permit}/job/")
    odo.page.select_option("[name=axis]", label="Length, short system")
    odo.page.select_option("[name=instrument]", label="ST-03 Steel tape, 10 m, class I")
    odo.send()
    read_pieces(odo, permit, "1202.0", "1202.1", "1201.9", "1202.0")
    assert "adjust" in odo.page.inner_text("main")
    correction = odo.page.locator("form[action$='/job/correction/']")
    odo.page.click("summary:has-text('Enter a correction')")
    correction.locator("[name=old]").fill("12.5")
    correction.locator("[name=new]").fill("10.5")
    correction.locator("button").click()
    odo.page.wait_for_selector("text=Correction 1")
    odo.open(f"/permits/{permit}/job/").fill(nominal="1200", measured="1200,1").send()
    assert "Accepted: millimetres" in odo.text()  # a comma is refused, and what was typed stays
    read_pieces(odo, permit, "1200.0", "1200.1", "1199.9", "1200.0")
    odo.page.click("text=judge the result")
    odo.page.wait_for_load_state()
    odo.page.click("summary:has-text('End this axis')")
    odo.page.click("form[action$='/job/axis/end/'] button")
    odo.page.wait_for_selector("text=Open an axis")
    odo.page.click("summary:has-text('Close the job')")
    odo.page.fill("[name=settings_after]", "C1-settings-2.txt")
    odo.page.click("form[action$='/job/close/'] button")
    odo.page.wait_for_selector("text=The job is closed.")

    # Re-isolate once, so that the second isolation is seen too; then hand back.
    odo.open(f"/permits/{permit}/re-isolate/").send()
    make_safe(odo, folder, permit, scan=False)
    prove_dead(odo, permit)
    hand_back(odo, permit)
    finish(odo, operator, issuer, permit)

    # The auditor reads it, and the ledger verifies.
    auditor = people["darya"].open(f"/records/{permit}/")
    assert auditor.status == 200
    assert "Closed" in auditor.text()
    verified = subprocess.run(
        [sys.executable, "manage.py", "verify_ledger"], cwd=ROOT, capture_output=True, text=True, timeout=60,
        env={**os.environ, "PERMITS_DATA": str(folder)},
    )  # fmt: skip
    assert verified.returncode == 0, verified.stdout + verified.stderr


def run_cycle(odo, operator, permit: str) -> None:
    odo.open(f"/permits/{permit}/begin-cycle/").fill(tools_out=True, guards_on=True).send()
    odo.open(f"/permits/{permit}/").press_next()
    points = [box.get_attribute("value") for box in odo.page.locator("[name=points]").all()]
    odo.fill(points=points).send()
    confirm_clear(operator, permit)
    odo.open(f"/permits/{permit}/ready/").fill(pin=pin("odo")).send()
    assert "Ready." in odo.text()


def hand_back(odo, permit: str) -> None:
    odo.open(f"/permits/{permit}/hand-back/")
    odo.fill(machine_whole=True, guards_on=True, tools_out=True, people_out=True, pin=pin("odo")).send()
    assert "Handed back." in odo.text()


def finish(odo, operator, issuer, permit: str) -> None:
    odo.open(f"/permits/{permit}/").press_next()
    points = [box.get_attribute("value") for box in odo.page.locator("[name=points]").all()]
    odo.fill(points=points).send()
    odo.do(whom="operators of lines 3 and 4")
    confirm_clear(operator, permit)
    odo.open(f"/permits/{permit}/").do(visual_check=True)
    odo.open(f"/permits/{permit}/").do(pin=pin("odo"))
    issuer.open(f"/permits/{permit}/").do(pin=pin("szczesny"))
    assert issuer.open(f"/permits/{permit}/").band() == "Closed"
