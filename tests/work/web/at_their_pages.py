"""People at their pages: how they come to one, fill it in and send it, and what they may expect of that."""

from __future__ import annotations

import json
from contextlib import ExitStack
from io import StringIO
from uuid import uuid4

from django.core.management import call_command

from permits.ledger.models import Entry
from permits.work import queries
from permits.work.rules.next_step import next_step
from permits.work.rules.written import KINDS
from tests.factories_people import PIN
from tests.work.conftest import rolled_back
from tests.work.every_form import FORMS
from tests.work.forms_moved_on import WHATEVER_HAPPENED
from tests.work.small_plant import PEOPLE, at
from tests.work.web.addresses import MACHINES, Route, address
from tests.work.web.browsing import Browser, Reply
from tests.work.web.clock import Clock, going_by
from tests.work.web.filling import Hand, Typed, fill
from tests.work.web.watching import CLOCK, Watch, asked_for
from tests.work.web.works import STRANGER, Works

NEEDS_FRESH = {name for name, form in FORMS.items() if form.fresh}
LOCKED = "is locked after"
STALE = "has moved on since this page was shown"

# By hand. What concerns a page about the whole site; after what no page of a permit holds that is not always
# right; and what concerns no other step than one that has to come from a fresh page.
OF_THE_SITE = {
    "EMERGENCY_DECLARED", "EMERGENCY_ENDED", "PAPER_DECLARED", "PAPER_ENDED", "RETURNED_TOLD",
    "ABSENT_LOCK_REMOVED", "ABSENT_SIGNED_OFF",
}  # fmt: skip
OVER_FOR_ALL = {"PERMIT_CANCELLED", "PERMIT_CLOSED", "CLOSED_OUT_OF_USE"}
OF_NO_STEP = {
    "PERMIT_REQUESTED", "PERMIT_EXTENDED", "AFFECTED_TOLD", "ISOLATED", "CREW_SIGNED_OFF", "CONFIRMED_CLEAR",
    "WATCH_LEFT", "CLOSURE_SIGNED", "HANDOVER_WITHDRAWN", "NOTICE_ACKNOWLEDGED",
}  # fmt: skip
ALWAYS_RIGHT = {*WHATEVER_HAPPENED, "declare-emergency"}

# A next step may still have to wait for somebody else's work; then the refusal names them. Near a permit's
# end too little of its time may be left for a test: an issuer extends it first.
WAITS_FOR_OTHERS = {
    "exposes-crew", "locked-by-another", "relies-on-dead-upstream", "someone-inside", "crew-signed-on",
    "window-too-long",
}  # fmt: skip


class AtTheirPages:
    """Two sites, everyone with a browser of their own, and one clock; `close` undoes all that was done."""

    works: Works

    def open(self) -> None:
        self.stack = ExitStack()
        self.stack.enter_context(rolled_back())
        self.clock = Clock(at(0))
        self.stack.enter_context(going_by(self.clock))
        self.watch, self.beside = Watch(self.works.site), Watch(self.works.workshop)
        names = [person.name for person in self.works.people.values()]
        self.browsers = {
            who: Browser(who, [self.watch, self.beside], names) for who in (*sorted(PEOPLE), STRANGER)
        }
        self.drawer: list[tuple[str, str, str, Typed]] = []  # who, which permit, where to: not sent yet

    # ── what people know ────────────────────────────────────────────────────────────────────────────────

    def ref(self, who: str) -> str:
        return self.works.people[who].ref

    def hand(self, who: str, permit: str, **more) -> Hand:
        p = self.watch.world.site.permits.get(permit)
        own = frozenset(k.where for k in p.hanging if k.owner == self.ref(who)) if p else frozenset()
        second = "maud" if who != "maud" else "sig"
        return Hand(who, permit, self.works.plates, own, self.clock.at, second, **more)

    def to_do(self, permit: str) -> dict[str, str]:
        """Each person's next step under the permit, by its action; who waits is not among them."""
        site = queries.settled(self.works.site, self.clock.at)
        if permit not in site.permits:
            return {}
        steps = {w: next_step(site, site.permits[permit], self.ref(w), self.clock.at) for w in PEOPLE}
        return {who: step.action for who, step in steps.items() if step.action}

    def address(self, route: Route, permit: str, number: int) -> str:
        plate = list(self.works.plates.values())[number % len(self.works.plates)]
        return address(
            route, permit=permit, machine=MACHINES[number % len(MACHINES)], token=plate.token,
            code=plate.node, person=self.ref(sorted(PEOPLE)[number % len(PEOPLE)]),
        )  # fmt: skip

    # ── how they use a page ─────────────────────────────────────────────────────────────────────────────

    def opened(
        self, who: str, url: str, permit: str, number: int = 0, *, by: str = ""
    ) -> tuple[str, Typed] | None:
        """The page at this address, filled in (`by` another person, who acts on this one's phone), and where
        its form goes; None where it has none to send."""
        browser = self.browsers[who]
        reply = browser.get(url)
        while reply.status == 302 or (reply.sheet and not reply.sheet.form and self.deeper(reply, number)):
            url = reply.to or self.deeper(reply, number)
            reply = browser.get(url)
        if reply.status != 200 or reply.sheet is None:
            return None
        forms = [one for one in reply.sheet.forms if one.method == "post" and "key" in one.fields]
        form = reply.sheet.form if reply.sheet.form in forms else (forms[-1] if forms else None)
        if form is None:
            return None
        return form.action or url, fill(reply.sheet, form, self.hand(by or who, permit))

    @staticmethod
    def deeper(reply: Reply, number: int) -> str:
        """A page that only asks which: one of the ways that lead on below it."""
        below = [link for link in reply.page.links if link.startswith(reply.url) and link != reply.url]
        return below[number % len(below)] if below else ""

    def next_page(self, who: str, permit: str) -> str:
        """Where the permit's page sends this person now; "" while they wait or it is not there."""
        page = self.browsers[who].get(f"/permits/{permit}/")
        assert page.status in (200, 404)
        return page.page.next if page.status == 200 else ""

    def follow(self, who: str, permit: str, action: str) -> bool:
        """Open the permit, take the one next step it offers, answer everything, send it. Was it accepted?"""
        way = self.next_page(who, permit)
        assert way, f"{who} may {action} under {permit}, and the page offers no way there"
        found = self.opened(who, way, permit)
        assert found, f"{who} is sent to {way}, where there is nothing to fill in"
        reply = self.browsers[who].post(*found)
        self.clock.pass_by(seconds=20)
        self.answered_well(who, reply)
        return reply.status == 302

    @staticmethod
    def answered_well(who: str, reply: Reply) -> None:
        """A next step that is answered well is accepted, unless it has to wait for somebody else."""
        if reply.status == 409:
            assert reply.codes <= WAITS_FOR_OTHERS, (who, reply.url, reply.said)
        elif reply.status != 302:
            assert LOCKED in reply.page.text, (who, reply.url, reply.status, reply.page.text)

    def some_next_page(self, permit: str, number: int) -> list[tuple[str, str]]:
        """One person who has something to do under the permit, and where its page sends them."""
        having = sorted(self.to_do(permit))
        who = having[number % len(having)] if having else ""
        return [(who, self.next_page(who, permit))] if who else []

    def ask_for(self, machine: str, zones: tuple[str, ...], who: str) -> None:
        """Choose the zones, look at the plan, ask for the permit."""
        browser, url = self.browsers[who], f"/permits/new/{machine}/"
        page = browser.get(url).page
        hand = self.hand(who, "", zones=zones)
        assert page.form
        chosen = fill(page, page.form, hand)
        query = "&".join(f"{name}={value}" for name, values in chosen.items() for value in values)
        plan = browser.get(f"{url}?{query}").page
        assert plan.form
        reply = browser.post(url, fill(plan, plan.form, hand))
        assert reply.status == 302, reply.page.text

    # ── how they send one ───────────────────────────────────────────────────────────────────────────────────

    def go_on(self, permit: str, moves: int) -> None:
        """Whoever has something to do does it; where all wait for time, it passes; else for other work."""
        for _ in range(moves):
            having = self.to_do(permit)
            if not having:
                self.clock.pass_by(minutes=6)
            elif not any(self.follow(who, permit, action) for who, action in having.items()):
                return

    def try_to_send(self, who: str, url: str, permit: str, number: int) -> None:
        """By the page's form where it shows one, else by a bare request. The browser looks at the answer."""
        found = self.opened(who, url, permit, number)
        self.browsers[who].post(*(found or (url, bare(self.last_of_site()))))
        self.clock.pass_by(seconds=20)

    def whoever_can(self, url: str, permit: str, number: int) -> tuple[str, str, Typed] | None:
        """Someone to whom this page shows a form, with the form filled in."""
        people = sorted(PEOPLE)
        for who in (people * 2)[number % len(people) :][: len(people)]:
            if found := self.opened(who, url, permit):
                return who, *found
        return None

    def send_late(self, who: str, permit: str, url: str, typed: Typed) -> None:
        """Where what changed concerns it, it is refused and says what changed; else the rules decide."""
        self.minute_job()
        of_the_site = url.startswith("/whole-site/")
        about = "" if of_the_site else permit
        since = self.kinds_since(about, int(typed["seen"][0])) if "seen" in typed else set()
        name = url.split("/")[2 if of_the_site else 3]
        reply = self.browsers[who].post(url, typed)
        stale = reply.sheet is not None and STALE in reply.page.text
        may_be = since if name in NEEDS_FRESH else set() if name in ALWAYS_RIGHT else since - OF_NO_STEP
        must_be = may_be if name in NEEDS_FRESH else may_be & OVER_FOR_ALL
        assert not stale or may_be, (who, url, reply.said, since)
        if must_be:
            assert reply.status >= 400, (who, url, "accepted from a page that no longer held", since)
        if stale:
            assert reply.status == 409
            assert "Since this page was shown" in reply.page.text
            form = reply.page.form
            if form is None:
                assert "Calibration job, closed" in reply.page.text, "only what is over shows no form again"
                return
            assert form.values["seen"] == [str(self.last_of_site())], "then it is up to date"
            again = self.browsers[who].post(url, typed | {"seen": form.values["seen"]})
            assert again.sheet is None or STALE not in again.page.text

    def minute_job(self) -> None:
        """What fell due is written: by the clock, and by nobody else."""
        call_command("settle_due", stdout=StringIO())
        assert all(entry.by == CLOCK for watch in (self.watch, self.beside) for entry in watch.new())

    def lend(self, lender: str, who: str, url: str, typed: Typed) -> None:
        """Another person's next step on one's own phone, by their name and PIN: theirs, on this device."""
        reply = self.browsers[lender].post(url, typed | {"sign_in": [who], "pin": [PIN]})
        self.answered_well(who, reply)
        for entry in asked_for(reply.wrote):
            assert entry.by == f"person:{self.ref(who)}"
            assert json.loads(entry.body)["device"] == f"person:{self.ref(lender)}"

    def kinds_since(self, permit: str, seen: int) -> set[str]:
        """The kinds of what happened under the permit ("": to the whole site) after an entry."""
        after = Entry.objects.filter(head=self.works.site.head_id, number__gt=seen, kind__in=KINDS)
        here = after.filter(about=f"permit:{permit}") if permit else after.filter(kind__in=OF_THE_SITE)
        return set(here.values_list("kind", flat=True))

    def last_of_site(self) -> int:
        return Entry.objects.filter(head=self.works.site.head_id).latest("number").number

    def close(self) -> None:
        """Both ledgers verify and make their tables again; then nothing of it has been."""
        with self.stack:
            self.watch.is_whole()
            self.beside.is_whole()


def page_for(name: str, permit: str) -> str:
    """The page of a row of every_form.py's table."""
    return f"/permits/{permit}/{FORMS[name].path or name + '/'}"


def bare(seen: int) -> Typed:
    """What a hand-made request has: a key, and that it is up to date."""
    return {"key": [str(uuid4())], "seen": [str(seen)]}
