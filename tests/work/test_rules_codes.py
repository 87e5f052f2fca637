"""Every condition in the rules is provoked by a test: the codes in the source, and the codes in the tests."""

import ast
from pathlib import Path

import permits.work.rules

RULES = Path(permits.work.rules.__file__).parent
TESTS = Path(__file__).parent


def called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


def codes_in_the_rules() -> set[str]:
    """The first argument of every Unmet."""
    found = set()
    for file in RULES.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and called(node) == "Unmet":
                code = node.args[0]
                assert isinstance(code, ast.Constant), f"{file.name}:{node.lineno}: a code is written out"
                found.add(code.value)
    return found


def codes_in_the_tests() -> set[str]:
    """Every text inside an assertion, and in the tables of parameters."""
    found = set()
    for file in TESTS.glob("test_rules_*.py"):
        if file.name == Path(__file__).name:
            continue
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Assert):
                found |= {n.value for n in ast.walk(node) if isinstance(n, ast.Constant)}
    return found


def test_every_condition_is_provoked_by_a_test():
    assert codes_in_the_rules() - codes_in_the_tests() == set()


def test_a_code_reads_like_words():
    assert all(code == code.lower() and " " not in code for code in codes_in_the_rules())


def test_there_are_codes_to_look_for():
    assert len(codes_in_the_rules()) > 80
