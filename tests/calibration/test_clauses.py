"""Calibration on the page of rules: its catalogue and its source name the same conditions and steps."""

import ast
import re
from pathlib import Path

import pytest

import permits.calibration.actions
from permits.calibration.queries.rules import chapter, source
from permits.calibration.rules.clauses import RULES, SHARED, TOPICS
from permits.calibration.rules.steps import OFFICER, STEPS
from permits.people.rules.roles import Role
from permits.work import rulebook
from permits.work.queries.rules import rules_page
from permits.work.rules.clauses import BELOW
from permits.work.rules.clauses import RULES as OF_THE_PERMIT
from tests.calibration.who_may import WHO_MAY

ROOM = Path(permits.calibration.__file__).parent
ALL_STEPS = [step for _, steps in STEPS for step in steps]
PAGE = next(one for one in rules_page().chapters if one.title == "Calibration")
STEP = {step.title: step for step in PAGE.steps}


def called(node):
    return ast.unparse(node.func).rpartition(".")[2]


def conditions():
    """(file, first argument) of every Unmet in the room, wherever it stands."""
    for file in sorted(ROOM.rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and called(node) == "Unmet":
                assert isinstance(node.args[0], ast.Constant), f"{file}:{node.lineno}: a code is written out"
                yield file, node.args[0].value


def actions():
    """Each public function of the actions, with its source."""
    found = {}
    for file in sorted((ROOM / "actions").glob("*.py")):
        for node in ast.parse(file.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef):
                found[file.stem, node.name] = node
    return found


# ── the catalogue and the source ────────────────────────────────────────────────────────────────────────


def test_the_catalogue_names_every_condition_of_the_source_and_no_other():
    assert {code for _, code in conditions()} == set(RULES) | SHARED
    assert len(set(RULES) | SHARED) > 25


def test_what_is_found_function_by_function_is_all_there_is():
    assert source().codes == {code for _, code in conditions()}


def test_what_calibration_shares_with_the_permit_stands_there_alone():
    assert set(OF_THE_PERMIT) & (set(RULES) | SHARED) == SHARED
    below = {code for _, _, topics in BELOW for topic in topics for code in topic.rules}
    assert not below & set(RULES)


def test_no_condition_stands_under_two_topics():
    assert sum(len(topic.rules) for topic in TOPICS) == len(RULES)


@pytest.mark.parametrize("code", RULES)
def test_each_rule_says_what_has_to_be_so_who_and_why(code):
    rule = RULES[code]
    for text in (rule.asks, rule.who):
        assert text[0].isupper()
        assert text.endswith(".")
    assert rule.grounds
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", code)


def test_every_condition_is_asked_in_a_step():
    assert {code for step in PAGE.steps for code in step.codes} == set(RULES) | SHARED
    assert all(line.steps for line in PAGE.lines)


# ── the steps ───────────────────────────────────────────────────────────────────────────────────────────


def test_every_action_is_a_step_and_every_step_an_action():
    assert {step.action[1] for step in ALL_STEPS} == set(permits.calibration.actions.__all__) - {
        "Who",
    }
    assert {step.action for step in ALL_STEPS} <= set(actions())


# By hand: what a step can do besides with one form, and asks of the permit then.
BESIDES = {
    "open_job": {"AskJob"}, "pre_check": {"AskJob"}, "read_pieces": {"ProveAxis"}, "end_axis": {"ProveAxis"},
}  # fmt: skip


@pytest.mark.parametrize("step", ALL_STEPS, ids=lambda step: step.action[1])
def test_a_step_asks_of_the_permit_what_its_action_does(step):
    module, name = step.action
    given = asked_in(actions(), module, name)
    assert given == ({step.command.__name__} if step.command else set()) | BESIDES.get(name, set())


def asked_in(known, module, name):
    """The permit's commands that a function makes, also in those beside it that it calls."""
    calls = [ast.unparse(node.func) for node in ast.walk(known[module, name]) if isinstance(node, ast.Call)]
    given = {call.removeprefix("c.") for call in calls if call.startswith("c.")}
    return given.union(*(asked_in(known, module, call) for call in calls if (module, call) in known))


# By hand: the pages where an officer describes, for the steps that no permit is asked for.
DESCRIBED_AT = {
    "save_axis": "add-axis", "remove_axis": "remove-axis", "save_feature": "features",
    "remove_feature": "remove-feature", "save_instrument": "instruments",
    "remove_instrument": "remove-instrument", "enter_earlier": "earlier", "save_policy": "policy",
}  # fmt: skip


def test_who_describes_is_who_may_open_the_page():
    assert set(DESCRIBED_AT) == {step.action[1] for step in ALL_STEPS if step.command is None}
    assert f"a {Role.OFFICER.words}" == OFFICER
    assert {WHO_MAY[f"calibration:{name}"] for name in DESCRIBED_AT.values()} == {frozenset({Role.OFFICER})}


# By hand, from the design's §6, for the steps that carry most.
ASKED = {
    "Open an axis": {
        "axis-open",
        "axis-withdrawn",
        "instrument-overdue",
        "instrument-not-allowed",
        "wrong-unit",
    },
    "Enter a reading": {"axis-not-open", "wrong-unit", "outside-range", "instrument-overdue"},
    "Enter a correction": {"not-justified", "no-readings", "beyond-limit", "correction-unproven"},
    "Close an axis, or abandon it": {"correction-unproven", "no-readings"},
    "Save the settings and end the job": {"axis-open", "copy-not-new", "copy-unchanged"},
}


@pytest.mark.parametrize("title", ASKED)
def test_a_step_asks_what_the_design_says(title):
    assert ASKED[title] <= set(STEP[title].codes)


def test_a_step_under_a_permit_says_who_may_as_the_permit_does():
    permits_own = {step.title: step for step in rules_page().chapters[0].steps}
    assert STEP["Enter a reading"].asks_first == ("Read a test piece", "step-read-a-test-piece")
    assert STEP["Enter a reading"].who == permits_own["Read a test piece"].who
    assert STEP["Take an axis out"].asks_first is None


def test_a_shared_condition_says_where_calibration_asks_it():
    line = next(line for line in rules_page().chapters[0].lines if line.code == "wrong-unit")
    assert {"Open an axis", "Enter a reading"} <= {step.title for step in line.steps}


# ── the page ────────────────────────────────────────────────────────────────────────────────────────────


def test_the_chapter_is_registered_once():
    rulebook.also(chapter)
    assert [one.title for one in rulebook.chapters()].count("Calibration") == 1
    assert rulebook.has_rule("not-justified")
    assert not rulebook.has_rule("no-such-condition")


@pytest.mark.django_db
def test_a_refusal_of_calibration_leads_to_its_rule(quillfen, signed_in, maud):
    page = signed_in(maud).get("/rules/").content.decode()
    for code, rule in RULES.items():
        assert f'id="{code}"' in page
        assert rule.asks.replace("'", "&#x27;") in page
