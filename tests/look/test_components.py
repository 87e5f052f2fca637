"""Each component says what it was given, as words, and draws nothing it was not given."""

from typing import NamedTuple

import pytest
from django.test import override_settings

from tests.look import sample
from tests.look.conftest import Page


class Unmet(NamedTuple):
    code: str
    what: str
    who: str
    path: tuple[str, ...]


@pytest.mark.parametrize(("state", "word"), sample.STATES)
def test_a_state_is_a_word_and_a_shape(component, state: str, word: str) -> None:
    badge = component("state_badge", state=state, word=word)
    assert badge.words == word
    assert f'data-state="{state}"' in badge


def test_a_band_shows_the_state_first_and_the_sentence_below(component) -> None:
    band = component("band", state="dead", word="Isolated", say="Two people are signed on.")
    assert band.words == "Isolated Two people are signed on."


def test_a_refusal_names_what_was_asked_and_everything_that_is_missing(component) -> None:
    words = component("refusal", refusal=sample.REFUSAL, back_url="/p", back_text="Back to P-17").words
    assert words.startswith("Not yet: sanction for test on 3 points Nothing was changed.")
    assert "3 things are missing." in words
    for what, who, where in sample.REFUSAL.unmet:
        assert what in words
        assert who in words
        assert where in words
    assert "The path that is open Board L4-2 Outfeed conveyor isolator Conveyor drive Outfeed zone" in words
    assert words.endswith("Back to P-17")


def test_a_refusal_shows_each_path_once_with_its_condition(component) -> None:
    unmet = [
        Unmet("crew-signed-on", "Nela Quist is still signed on.", "Nela Quist signs off.", ()),
        Unmet("exposes", "Sava Orme would be reached.", "Wait for P-21.", ("Board L4-2", "Outfeed zone")),
    ]
    refusal = {"asked": "", "unmet": unmet, "path": ("Board L4-2", "Outfeed zone")}
    assert component("refusal", refusal=refusal).words == (
        "Not yet Nothing was changed. 2 things are missing. "
        "Nela Quist is still signed on. Nela Quist signs off. "
        "Sava Orme would be reached. Wait for P-21. Board L4-2 Outfeed zone"
    )


def test_a_path_ends_at_the_person(component) -> None:
    path = component("path", path=["Feeder", {"name": "Drive", "note": "Cabinet +H2"}], person="Sava Orme")
    assert path.words == "Feeder Drive Cabinet +H2 Sava Orme"
    assert path.count("<li") == 3
    assert path.index("path-person") < path.index("Sava Orme")


def test_a_danger_says_who_is_reached(component) -> None:
    danger = component("danger", title="Energy reaches people", text="Everyone out.", people=["Sava Orme"])
    assert danger.words == "Energy reaches people Everyone out. Sava Orme"


def test_the_next_step_is_one_way_on(component) -> None:
    given = {"title": "Lock QB1", "text": "Cabinet +H2", "url": "/t", "button": "Go"}
    step = component("next_step", step=given)
    assert step.words == "Next Lock QB1 Cabinet +H2 Go"
    assert step.count("<a ") == 1


def test_without_a_way_on_the_next_step_says_who_is_awaited(component) -> None:
    step = component("next_step", step={"title": "Maud Tessel issues the permit"})
    assert step.words == "Waiting Maud Tessel issues the permit"
    assert "<a " not in step


def test_phases_say_which_is_the_present_one(component) -> None:
    steps = component("steps", steps=sample.PHASES, note="3 of 5 points")
    assert steps.count("aria-current") == 1
    assert "Requested , done" in steps.words
    assert "Isolating 3 of 5 points Isolated , to come" in steps.words


def test_a_countdown_is_a_time_and_what_happens_then_before_any_script_runs(component) -> None:
    box = component("countdown", until=sample.NOW, now=sample.NOW, title="Bleed wait", ends="Then it counts.")
    assert box.words == "09:31 Bleed wait , until 09:31 . Then it counts."
    assert 'data-countdown-until="2026-11-25T09:31:20+00:00"' in box
    assert 'data-countdown-now="2026-11-25T09:31:20+00:00"' in box


def test_a_point_card_shows_whose_locks_are_on_it(component) -> None:
    words = component("point_card", point=sample.QB1, url="/points/qb1").words
    assert words == (
        "=L3.C1-QB1 Main disconnector Proven dead Where Cabinet +H2, left door Energy 400 V electrical "
        "Lock 0417 Odo Marrel P-17 Lock 0552 Nela Quist P-18"
    )


def test_a_plan_is_an_ordered_list_with_a_word_for_each_state(component) -> None:
    plan = component("plan", points=sample.POINTS)
    assert plan.count("<li") == 5
    assert "Lock Main disconnector =L3.C1-QB1, Cabinet +H2, left door Lock 0417 Proven dead" in plan.words


def test_a_story_marks_its_exceptions_in_words(component) -> None:
    words = component("story", entries=sample.STORY).words
    assert "Reading 48 V on L1–L2 Exception: reading over its limit of 10 V" in words
    assert "entry 1219" in words


def test_facts_without_a_value_show_a_dash_and_zero_is_a_value(component) -> None:
    words = component("key_value", pairs=[("Coordinator", None), ("Defects", 0), ("Note", "")]).words
    assert words == "Coordinator – Defects 0 Note –"


def test_names_are_escaped(component) -> None:
    for name, context in {
        "person": {"name": "<b>Odo"},
        "path": {"path": ["<b>Odo"]},
        "refusal": {"refusal": {"asked": "<b>Odo", "unmet": [("<b>Odo", "<b>Odo", "<b>Odo")]}},
        "danger": {"title": "<b>Odo", "people": ["<b>Odo"], "path": ["<b>Odo"], "person": "<b>Odo"},
        "signature": {"form": sample.PinForm(), "person": "<b>Odo", "meaning": "<b>Odo"},
        "key_value": {"pairs": [("<b>Odo", "<b>Odo")]},
    }.items():
        rendered = component(name, **context)
        assert "<b>Odo" not in rendered, name
        assert "&lt;b&gt;Odo" in rendered
        assert "&amp;lt;" not in rendered, f"{name} escapes twice"


def test_no_comment_of_a_template_reaches_the_page(page: Page) -> None:
    assert "{#" not in page
    assert "#}" not in page
    assert "{%" not in page


def test_the_caution_is_on_every_page(page: Page) -> None:
    assert "never an interlock" in page.words
    assert "Locks, tests and people make a machine safe" in page.words


def test_every_page_has_its_landmarks_a_way_past_them_and_a_title(page: Page) -> None:
    for tag in ("header", "main", "footer", "nav"):
        assert page.tags(tag), tag
    assert len(page.tags("h1")) == 1
    assert 'class="skip" href="#main"' in page
    assert "<title>Every component · Quillfen Panel Works</title>" in page
    assert '<html lang="en"' in page
    assert 'role="status"' in page


def test_signing_out_is_a_form_with_a_token(page: Page) -> None:
    form = page[page.index('action="/people/sign-out"') :]
    assert "csrfmiddlewaretoken" in form[: form.index("</form>")]


@pytest.mark.parametrize("shell", ["base.html", "base_phone.html"])
def test_pages_stand_while_no_other_page_exists(shell: str) -> None:
    with override_settings(ROOT_URLCONF=sample.NoRoutes):
        page = Page(sample.render(shell))
    assert "Machines" not in page.words
    assert "never an interlock" in page.words


@pytest.mark.parametrize("shell", ["base.html", "base_phone.html"])
def test_someone_who_is_not_signed_in_sees_no_ways(routes, shell: str) -> None:
    page = Page(sample.render(shell, person=None, site=None, roles=frozenset(), sites=()))
    assert not page.tags("nav")
    assert "Sign out" not in page.words


@pytest.mark.parametrize(
    ("role", "open_to_it", "closed_to_it"),
    [
        ("technician", {"Start", "Machines", "Open permits"}, {"Tags", "Records", "People"}),
        ("officer", {"Start", "Machines", "Tags", "People", "Records", "Open permits"}, set()),
        ("auditor", {"Records", "Open permits", "People"}, {"Tags"}),
    ],
)
def test_the_ways_follow_the_role(component, role: str, open_to_it: set[str], closed_to_it: set[str]) -> None:
    ways = component("ways", roles=frozenset({role}), path="/work/home", person={"name": "Odo Marrel"})
    for word in open_to_it:
        assert f">{word}</a>" in ways
    for word in closed_to_it:
        assert f">{word}</a>" not in ways
    assert ways.count('aria-current="page"') == 1


@pytest.mark.parametrize("name", ["403.html", "404.html", "500.html"])
def test_a_page_for_what_went_wrong_needs_no_context(routes, name: str) -> None:
    from django.template.loader import render_to_string

    page = Page(render_to_string(name))
    assert len(page.tags("h1")) == 1
    assert "never an interlock" in page.words
    assert 'href="/"' in page
