"""People of two sites with their own browsers, over HTTP alone, in any order, with time passing between them.

After every request (browsing.py, watching.py): the new entries follow the chain, the tables say what the
entries say, nobody inside is reached, what was answered as done wrote something once, what was refused wrote
nothing and says who can help. At the end the whole ledger verifies and makes the same tables again.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    precondition,
    rule,
    run_state_machine_as_test,
)

from tests.factories_people import PIN
from tests.work.every_form import FORMS
from tests.work.small_plant import PEOPLE
from tests.work.web.addresses import routes
from tests.work.web.at_their_pages import NEEDS_FRESH, AtTheirPages, bare, page_for
from tests.work.web.watching import CLOCK, PIN_TRIED
from tests.work.web.works import STRANGER, Works, two_sites

pytestmark = pytest.mark.django_db

WHO = st.sampled_from(sorted(PEOPLE))
NUMBER = st.integers(0, 60)
PERMIT = st.sampled_from(["P-1", "P-1", "P-1", "P-2", "P-2", "P-3"])
SELDOM = st.sampled_from([False, False, False, True])
ROUTES = routes()
OF_A_PERMIT = [one for one in ROUTES if one.of_a_permit]
LOOKS = ("work:permit", "work:permit-now", "work:picture", "calibration:job")
COMMANDS = [
    one for one in OF_A_PERMIT if one.name.startswith(("work:", "calibration:")) and one.name not in LOOKS
]
STOPS = ("work:stop-work", "work:suspend", "work:cancel", "work:close-out-of-use")  # or all stands still
SITE_WIDE = [one for one in ROUTES if one.name.startswith("work:") and not one.of_a_permit]
STARTS = (
    (("CUT", ("SAW", "OUT"), "odo"), ("DRILL", ("NEXT",), "pia")),
    (("CUT", ("SAW", "OUT"), "odo"), ("BOARD", ("LUG",), "pia")),
    (("CUT", ("SAW",), "odo"), ("CUT", ("OUT",), "pia")),
)
AT_A_POINT = ("code", "padlock", "tag", "method")  # what whoever acts knows, on whosever phone
WRONG_PIN = "917350"
SIGNED = sorted(name for name, form in FORMS.items() if form.signed)


class PeopleAtTheirPages(AtTheirPages, RuleBasedStateMachine):
    """`works` is there before the first example; what an example does is undone at its end."""

    def __init__(self) -> None:
        super().__init__()
        self.open()

    def teardown(self) -> None:
        self.close()

    # ── the work ────────────────────────────────────────────────────────────────────────────────────────

    @initialize(start=st.sampled_from(STARTS), moves=st.sampled_from([0, 6, 12, 18, 25]))
    def two_permits_are_asked_for(self, start, moves):
        for machine, zones, who in start:
            self.ask_for(machine, zones, who)
        for permit in ("P-1", "P-2"):
            self.go_on(permit, moves)

    @rule(permit=PERMIT, moves=st.sampled_from([1, 3, 8]))
    def work_goes_on(self, permit, moves):
        self.go_on(permit, moves)

    @rule(who=WHO, permit=PERMIT)
    def someone_follows_their_next_step(self, who, permit):
        action = self.to_do(permit).get(who, "")
        if action:
            self.follow(who, permit, action)
        else:
            assert not self.next_page(who, permit), f"{who} has nothing to do under {permit}, says the rule"

    @rule(minutes=st.sampled_from([1, 6, 11, 50, 200]), settled=st.booleans())
    def time_passes(self, minutes, settled):
        """With or without the job of each minute; else the next request writes what fell due."""
        self.clock.pass_by(minutes=minutes)
        if settled:
            self.minute_job()

    @precondition(lambda self: len(self.watch.world.site.open) < 2)
    @rule(start=st.sampled_from([one for start in STARTS for one in start]))
    def another_permit_is_asked_for(self, start):
        self.ask_for(*start)

    # ── what else they do ───────────────────────────────────────────────────────────────────────────────

    @rule(permit=PERMIT, number=NUMBER)
    def someone_sends_a_form_twice(self, permit, number):
        """The same request again, as after a lost answer: it counts once and leads to the same page."""
        for who, way in self.some_next_page(permit, number):
            found = self.opened(who, way, permit)
            assert found
            first, again = (self.browsers[who].post(*found) for _ in range(2))
            assert (again.status, again.to) == (first.status, first.to), (who, found, first.said, again.said)
            assert first.status != 302 or not again.wrote

    @rule(who=WHO, permit=PERMIT, number=NUMBER)
    def someone_does_what_else_is_possible(self, who, permit, number):
        """Stop, suspend, hand over, name crew, give more time: whatever the permit's page has a way to."""
        page = self.browsers[who].get(f"/permits/{permit}/")
        ways = [link for link in page.links if link.startswith(f"/permits/{permit}/") and link != page.url]
        if ways:
            self.try_to_send(who, ways[number % len(ways)], permit, number)

    @rule(who=WHO, number=st.integers(0, len(COMMANDS) - 1), permit=PERMIT)
    def someone_asks_for_what_is_not_offered(self, who, number, permit):
        for route in (COMMANDS * 2)[number : number + 4]:
            if route.name not in STOPS or number % 5 == 0:
                self.try_to_send(who, self.address(route, permit, number), permit, number)

    @rule(who=WHO, route=st.sampled_from(SITE_WIDE), really=SELDOM, number=NUMBER)
    def someone_does_something_about_the_whole_site(self, who, route, really, number):
        """An emergency, paper mode, the site's own numbers, a word to who was absent."""
        if really:
            self.try_to_send(who, self.address(route, "P-1", number), "P-1", number)

    @rule(permit=PERMIT, number=NUMBER)
    def someone_leaves_a_field_out(self, permit, number):
        for who, way in self.some_next_page(permit, number):
            url, typed = self.opened(who, way, permit) or ("", {})
            names = sorted(set(typed) - {"key", "seen", "csrfmiddlewaretoken"})
            if names:
                typed.pop(names[number % len(names)])
                self.browsers[who].post(url, typed)

    # ── pages that have gone stale ──────────────────────────────────────────────────────────────────────

    @rule(permit=PERMIT, number=NUMBER)
    def someone_opens_a_page_and_is_called_away(self, permit, number):
        for who, way in self.some_next_page(permit, number):
            found = self.opened(who, way, permit)
            assert found
            self.drawer.append((who, permit, *found))

    @rule(permit=PERMIT, name=st.sampled_from(sorted(NEEDS_FRESH)), number=NUMBER, moves=st.integers(1, 3))
    def someone_thinks_it_over_while_work_goes_on(self, permit, name, number, moves):
        if found := self.whoever_can(page_for(name, permit), permit, number):
            who, url, typed = found
            self.go_on(permit, moves)
            self.send_late(who, permit, url, typed)

    @precondition(lambda self: self.drawer)
    @rule(number=NUMBER)
    def a_page_that_was_opened_earlier_is_sent(self, number):
        self.send_late(*self.drawer.pop(number % len(self.drawer)))

    # ── who signs ───────────────────────────────────────────────────────────────────────────────────────

    @rule(name=st.sampled_from(SIGNED), permit=PERMIT, number=NUMBER)
    def someone_mistypes_their_pin(self, name, permit, number):
        found = self.whoever_can(page_for(name, permit), permit, number)
        if found is None:
            return
        who, url, typed = found
        assert typed["pin"] == [PIN]
        reply = self.browsers[who].post(url, typed | {"pin": [WRONG_PIN]})
        assert reply.status == 422, (who, name, reply.said)
        assert {entry.kind for entry in reply.wrote if entry.by != CLOCK} <= PIN_TRIED

    @rule(permit=PERMIT, number=NUMBER)
    def someone_else_acts_on_my_phone(self, permit, number):
        """By their own name and PIN; the entry is theirs, and says on whose device."""
        for who, way in self.some_next_page(permit, number):
            at_the_point = self.opened(who, way, permit)
            assert at_the_point
            for lender in PEOPLE:
                found = self.opened(lender, way, permit, by=who) if lender != who else None
                if found and "sign_in" in found[1]:
                    url, typed = found
                    there = {name: at_the_point[1][name] for name in AT_A_POINT if name in at_the_point[1]}
                    self.lend(lender, who, url, typed | there)
                    return

    # ── who only looks, and who has no business here ────────────────────────────────────────────────────

    @rule(who=WHO, number=st.integers(0, len(ROUTES) - 1), permit=PERMIT)
    def someone_looks_around(self, who, number, permit):
        """Any page of the product, by its address."""
        for route in (ROUTES * 2)[number : number + 4]:
            self.browsers[who].get(self.address(route, permit, number))

    @rule(number=st.integers(0, len(OF_A_PERMIT) - 1), permit=PERMIT)
    def a_stranger_tries_this_sites_permits(self, number, permit):
        """With every role at the other site: to them there is no such permit, by any address."""
        browser = self.browsers[STRANGER]
        for route in (OF_A_PERMIT * 2)[number : number + 6]:
            url = self.address(route, permit, number)
            replies = browser.get(url), browser.post(url, bare(self.last_of_site()))
            found = {reply.status for reply in replies}
            assert 404 in found <= {404, 405}, (url, found)
            assert not any(reply.wrote for reply in replies)

    @precondition(lambda self: self.drawer)
    @rule(number=NUMBER)
    def a_stranger_sends_someone_elses_form(self, number):
        _, _, url, typed = self.drawer[number % len(self.drawer)]
        reply = self.browsers[STRANGER].post(url, typed)
        assert (reply.status, reply.wrote) == (404, [])

    @rule(route=st.sampled_from(SITE_WIDE), number=NUMBER)
    def a_stranger_acts_at_their_own_site(self, route, number):
        """An emergency over there stops nothing here."""
        before = self.watch.number
        url = self.address(route, "P-1", number)
        if found := self.opened(STRANGER, url, "P-1", number):
            self.browsers[STRANGER].post(*found)
        assert self.watch.number == before


@pytest.fixture
def works(db) -> Works:
    return two_sites()


def test_people_at_their_pages(works):
    class Here(PeopleAtTheirPages):
        pass

    Here.works = works
    run_state_machine_as_test(
        Here,
        settings=settings(
            max_examples=10,
            stateful_step_count=20,
            deadline=None,
            phases=[Phase.generate],  # a run takes seconds; a failing one is told as it was drawn
            suppress_health_check=list(HealthCheck),
            database=None,
        ),
    )
