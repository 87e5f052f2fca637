"""The catalogue of rules and the source that decides name the same; what is found in the source is right."""

import ast
import re
from pathlib import Path
from typing import get_args

import pytest

import permits.work.actions
from permits.calibration.rules.clauses import published as of_calibration
from permits.work.queries.rules import FOLDER, rules_page, source
from permits.work.rules import commands as c
from permits.work.rules.clauses import NOT_OFFERED, RULES, TOPICS, Sure
from permits.work.rules.clauses import published as p
from permits.work.rules.found_in_source import read
from permits.work.rules.steps import ONLY_BY, STEPS
from tests.work.test_rules_codes import called, codes_in_the_rules

TESTS = Path(__file__).parent
WHOLE = rules_page()
PAGE = WHOLE.chapters[0]
STEP = {step.title: step for step in PAGE.steps}
LINE = {line.code: line for line in PAGE.lines}
COMMANDS = {command.__name__: command for command in get_args(c.Command)}
OF_EVERY = {
    "exposes-crew", "relies-on-dead-upstream", "held-up", "emergency", "paper-mode", "page-stale",
    "clock-behind",
}  # fmt: skip
IN_NO_STEP = {"wanted-live", "shared-point", "kept-live"}
OF_NUMBERS = {"out-of-range", "nothing-changes", "numbers-moved-on"}


def codes_in_the_actions():
    text = Path(permits.work.actions.__file__).read_text(encoding="utf-8")
    calls = (node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call))
    return {node.args[0].value for node in calls if called(node) == "Unmet"}


# ── the catalogue and the source ────────────────────────────────────────────────────────────────────────


def test_the_catalogue_names_every_condition_of_the_source_and_no_other():
    assert set(RULES) == codes_in_the_rules() | codes_in_the_actions()


def test_no_condition_stands_under_two_topics():
    assert sum(len(topic.rules) for topic in TOPICS) == len(RULES)


def test_what_is_found_function_by_function_is_all_there_is():
    assert source().codes == codes_in_the_rules()


def test_every_condition_is_asked_somewhere():
    """In a step, of every step, on the page of the numbers, or the page says that it is in no step."""
    in_steps = {code for step in PAGE.steps for code in step.codes}
    assert set(RULES) == in_steps | OF_EVERY | IN_NO_STEP | OF_NUMBERS
    assert not in_steps & (IN_NO_STEP | OF_NUMBERS)
    assert {code for code, line in LINE.items() if line.asked.startswith("every step")} == OF_EVERY
    assert all(LINE[code].asked.startswith("no step") for code in IN_NO_STEP)
    assert all(LINE[code].asked == "the page of the site's numbers" for code in OF_NUMBERS)


@pytest.mark.parametrize("code", RULES)
def test_each_rule_says_what_has_to_be_so_who_and_why(code):
    rule = RULES[code]
    for text in (rule.asks, rule.who):
        assert text[0].isupper()
        assert text.endswith(".")
    assert rule.grounds
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", code)


# ── the clauses ─────────────────────────────────────────────────────────────────────────────────────────

# Marks as in the project's collection of standards, section 1: which paragraphs were read as one text, which
# only second-hand, which are from memory.
MARKS = {
    p.KNOWS: ("29 CFR 1910.147(d)(1)", Sure.READ),
    p.ON_EACH: ("29 CFR 1910.147(d)(4)(i)", Sure.READ),
    p.STORED: ("29 CFR 1910.147(d)(5)(i)", Sure.READ),
    p.RE_ACCUMULATES: ("29 CFR 1910.147(d)(5)(ii)", Sure.READ),
    p.VERIFY: ("29 CFR 1910.147(d)(6)", Sure.READ),
    p.AREA_INSPECTED: ("29 CFR 1910.147(e)(1)", Sure.READ),
    p.TOLD_AFTER: ("29 CFR 1910.147(e)(2)(ii)", Sure.READ),
    p.OWN_LOCK: ("29 CFR 1910.147(e)(3)", Sure.READ),
    p.PERSONAL_LOCK: ("29 CFR 1910.147(f)(3)(ii)(D)", Sure.READ),
    p.TESTING: ("29 CFR 1910.147(f)(1)", Sure.SECOND_HAND),
    p.CONTRACTORS: ("29 CFR 1910.147(f)(2)", Sure.SECOND_HAND),
    p.SHIFT: ("29 CFR 1910.147(f)(4)", Sure.SECOND_HAND),
    p.WRITTEN: ("29 CFR 1910.147(c)(4)(i)", Sure.SECOND_HAND),
    p.TOLD: ("29 CFR 1910.147(c)(9)", Sure.FROM_MEMORY),
    p.ONLY_AUTHORISED: ("29 CFR 1910.147(c)(8)", Sure.FROM_MEMORY),
    p.TESTED_BY_QUALIFIED: ("29 CFR 1910.333(b)(2)(iv)(B)", Sure.SECOND_HAND),
    p.REENERGISING: ("29 CFR 1910.333(b)(2)(v)", Sure.FROM_MEMORY),
}


def test_a_clause_says_how_surely_it_is_known():
    for clause, (cite, sure) in MARKS.items():
        assert (clause.cite, clause.sure) == (cite, sure)


def test_every_clause_that_is_kept_is_used():
    kept = {
        value
        for module in (p, of_calibration)
        for value in vars(module).values()
        if isinstance(value, p.Clause)
    }
    assert kept == set(WHOLE.clauses)
    assert {one.clause for one in NOT_OFFERED} < kept


# What stands behind the rules that carry most, each with the paragraph that asks for it.
RESTS_ON = {
    "not-your-lock": p.OWN_LOCK,
    "not-understood": p.KNOWS,
    "no-padlock": p.PERSONAL_LOCK,
    "upstream-not-locked": p.STORED,
    "not-verified": p.VERIFY,
    "not-qualified": p.TESTED_BY_QUALIFIED,
    "no-measure": p.ONE_MEASURE_MORE,
    "not-told": p.TOLD_AFTER,
    "no-coordinator": p.COORDINATOR,
    "no-own-lock": p.SHIFT,
    "not-told-back": p.ABSENT_KNOWS,
    "no-procedure": p.WRITTEN,
    "not-hosted": p.CONTRACTORS,
}


def test_a_rule_names_the_paragraph_that_asks_for_it():
    assert {code: clause in RULES[code].clauses for code, clause in RESTS_ON.items()} == dict.fromkeys(
        RESTS_ON, True
    )


# ── what is found in the source ─────────────────────────────────────────────────────────────────────────


def test_every_command_is_a_step_and_every_step_a_command():
    named = [command for _, steps in STEPS for command in steps]
    assert len(named) == len(set(named))
    assert set(named) == set(COMMANDS.values())
    assert set(source().commands) == set(COMMANDS)
    assert len({step.anchor for step in PAGE.steps}) == len(named)


def given_by_builders():
    """The builders of the tests → the command that each gives, by what it returns."""
    found = {}
    for name in ("small_plant", "otherwise"):
        tree = ast.parse((TESTS / f"{name}.py").read_text(encoding="utf-8"))
        for node in (node for node in tree.body if isinstance(node, ast.FunctionDef)):
            returned = ast.unparse(node.returns).rpartition(".")[2] if node.returns else ""
            if returned in COMMANDS:
                found[node.name] = returned
    return found


def codes_provoked():
    """(where, command, codes) of each `assert refused(site, <one command>) == {codes}` in the tests."""
    builders = given_by_builders() | {name: name for name in COMMANDS}
    for file in sorted(TESTS.glob("test_rules_*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Assert) or not isinstance(node.test, ast.Compare):
                continue
            left, right = node.test.left, node.test.comparators[0]
            if not isinstance(left, ast.Call) or called(left) != "refused" or len(left.args) != 2:
                continue
            asked = {called(one) for one in ast.walk(left.args[1]) if isinstance(one, ast.Call)}
            commands = {builders[one] for one in asked if one in builders}
            codes = {one.value for one in ast.walk(right) if isinstance(one, ast.Constant)}
            if len(commands) == 1:
                yield f"{file.name}:{node.lineno}", commands.pop(), codes


def test_every_command_reaches_the_codes_that_its_tests_provoke():
    found = list(codes_provoked())
    for where, name, codes in found:
        reached = set(source().of_command(name).codes) | OF_EVERY
        assert codes <= reached, where
    assert len(found) > 100
    assert len({name for _, name, _ in found}) > 35


# By hand, from the design's §5, for the steps that carry most.
ASKED = {
    "Sign on": {"wrong-phase", "not-verified", "zone-exposed", "not-named", "not-authorised", "no-padlock",
                "too-early", "expired", "not-told-back"},
    "Lock a point": {"not-told", "out-of-order", "no-tag", "no-padlock", "padlock-in-use", "no-measure"},
    "Record readings": {"not-qualified", "instrument-unproven", "reading-missing", "not-all-locked"},
    "Sign ready to energise": {"not-holder", "crew-signed-on", "not-confirmed-clear", "confirmation-stale",
                               "locked-by-another", "lock-still-on"},
    "Hand the machine back": {"not-holder", "not-handed-back", "not-at-rest", "crew-signed-on"},
    "Re-energise": {"locks-still-on", "not-told", "not-looked", "confirmation-stale"},
}  # fmt: skip


@pytest.mark.parametrize("title", ASKED)
def test_a_step_asks_what_the_design_says(title):
    assert ASKED[title] <= set(STEP[title].codes)


def test_a_step_does_not_ask_what_it_only_looks_at():
    """Closing as not proven looks at what is open, and refuses nothing for it."""
    assert "defect-open" in STEP["Sign a permit closed"].codes
    assert "defect-open" not in STEP["Close as not proven, out of use"].codes
    assert STEP["Stop work"].codes == ("no-such-permit",)


WHO = {
    "Issue a permit": "an issuer",
    "Accept a permit": "the holder, authorised for every machine of the permit",
    "Name crew": "the holder or an issuer",
    "Lock a point": "anyone named on it, authorised for every machine of the permit",
    "Stop work": "anyone at the site",
    "Take my locks off": "each lock's own owner",
    "Sign ready to energise": "the holder, authorised for every machine of the permit",
    "Sign a permit closed": "the holder and an issuer, both",
    "Lift a stop or a suspension": "a safety officer; a suspension also the holder or an issuer",
    "Take an absent person's lock off": "a safety officer",
    "Cancel a permit": "the holder, whoever asked for it, an issuer or a safety officer",
}


def test_who_may_is_read_from_the_conditions():
    assert {title: STEP[title].who for title in WHO} == WHO


def test_what_is_only_by_its_condition_is_a_condition():
    assert set(ONLY_BY) <= set(RULES)


def test_signed_fresh_and_waiting_steps_are_those_of_the_commands():
    titles = {command: title for _, steps in STEPS for command, title in steps.items()}
    assert {s.title: s.signed for s in PAGE.steps if s.signed} == {
        titles[command]: meaning for command, meaning in c.SIGNED.items()
    }
    assert {s.title for s in PAGE.steps if s.fresh} == {titles[command] for command in c.NEEDS_FRESH_PAGE}
    assert {s.title for s in PAGE.steps if s.beside.startswith("from a fresh page")} == {
        titles[command] for command in c.NEEDS_FRESH_PAGE
    }
    assert not STEP["Stop work"].waits
    assert not STEP["Sign off"].waits
    assert STEP["Sign on"].waits == "not while held up"
    assert STEP["Take an absent person's lock off"].waits == "at a point not while held up"
    assert STEP["Lock a point"].late
    assert not STEP["Sign on"].late


# By hand, for one step of each sort.
MAY_NOT_HAVE_HAPPENED = {
    "Stop work": "whatever happened since its page was shown",
    "Sign on": "from a fresh page: nothing may have happened since it was shown",
    "Name crew": "not once the same person was named since its page was shown, "
    "nor after a turn of the permit",
    "End a sanction": "not once another sanction was given or this one ended since its page was shown, "
    "nor after the permit’s end",
    "End paper mode": "not once paper mode began or ended since its page was shown",
}


def test_each_step_says_what_may_not_have_happened_since_its_page_was_shown():
    assert {title: STEP[title].beside for title in MAY_NOT_HAVE_HAPPENED} == MAY_NOT_HAVE_HAPPENED


SMALL = {
    "decide": """
from . import commands as c
from . import doing
def dispatch(site, command):
    match command:
        case c.Press():
            return doing.press(site, command)
def consequences(before, after): refuse_if(Unmet("always", "", "") for one in after)
""",
    "doing": """
from .against import lacks_role, asked, counted
def press(site, ask):
    def against():
        yield Unmet("inner", "", "")
        if ask.by != p.holder:
            yield from lacks_role(site, ask.by, "issuer", to="press")
    refuse_if(against())
    if any(counted(site)):
        return (unmet.what for unmet in counted(site))
    refuse_if(asked(site, ask.person))
""",
    "against": """
def lacks_role(site, person, *roles, to): yield Unmet("no-role", "", "")
def asked(site, person): yield from lacks_role(site, person, "technician", to="be asked")
def counted(site): yield Unmet("counted", "", "")
""",
}


def test_reading_follows_calls_and_leaves_out_what_only_asks():
    found = read(SMALL).of_command("Press")
    assert found.codes == ("inner", "no-role")
    assert found.roles == ("issuer",)
    assert found.ties == ("the holder",)
    assert read(SMALL).of_function("decide", "consequences").codes == ("always",)


def test_every_file_of_the_rules_is_read():
    assert {file.stem for file in FOLDER.glob("*.py")} >= {place[0] for place in source().functions}
    assert len(source().functions) > 150


def test_only_what_enters_from_paper_asks_what_another_step_asks():
    assert [step.title for step in PAGE.steps if step.enters] == ["Enter what happened on paper"]
