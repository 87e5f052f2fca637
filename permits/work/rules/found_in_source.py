"""Which conditions each command can meet and who may give it, found in the rules' own source.

From `dispatch` in decide.py through every function that it hands to, and those that these ask in turn: what
is said about the rules is read from what decides, and never typed a second time. A room above is read the
same way, from its actions on.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

Place = tuple[str, str]
"""A function: its module's name within the rules, and its own."""

THE_DOOR: Place = ("decide", "dispatch")
THE_ASKER = ("ask.by", "by")
AUTHORISED = "authorised"
ASKED_OF_PERSONS = {
    "not_holder": "the holder",
    "not_working_under": "anyone named on it",
    "not_authorised": AUTHORISED,
}
TIES = {
    "holder": "the holder",
    "next_holder": "the incoming holder",
    "requested_by": "whoever asked for it",
    "works_under_it": "anyone named on it",
}
"""What a person can be to a permit, where the rules let them do without a role."""


@dataclass(frozen=True, slots=True)
class Found:
    """What stands in the source of one function, or of all that a command leads to.

    `codes`: of the conditions, in the order in which they are met. `roles`: those of which one is asked of
    whoever gives the command. `ties`: who needs no such role, because of what they are to the permit.
    `persons`: what whoever gives it has to be besides: values of ASKED_OF_PERSONS.
    """

    codes: tuple[str, ...] = ()
    roles: tuple[str, ...] = ()
    ties: tuple[str, ...] = ()
    persons: tuple[str, ...] = ()
    calls: tuple[Place, ...] = field(default=(), repr=False)


@dataclass(frozen=True, slots=True)
class Source:
    """Every function of the rules by its place, and the command → the function that it is handed to."""

    functions: Mapping[Place, Found]
    commands: Mapping[str, Place]

    @property
    def codes(self) -> frozenset[str]:
        return frozenset(code for found in self.functions.values() for code in found.codes)

    def of_command(self, name: str) -> Found:
        """What the command's own topic asks. What every command passes besides is in `of_function`."""
        return self.reached(self.commands[name])

    def of_function(self, module: str, name: str) -> Found:
        return self.reached((module, name))

    def reached(self, start: Place) -> Found:
        """A function with everything that it asks, directly or through others."""
        seen: dict[Place, Found] = {}

        def visit(place: Place) -> None:
            if place in seen or place not in self.functions:
                return
            seen[place] = self.functions[place]
            for called in seen[place].calls:
                visit(called)

        visit(start)
        return Found(
            codes=merged(found.codes for found in seen.values()),
            roles=merged(found.roles for found in seen.values()),
            ties=merged(found.ties for found in seen.values()),
            persons=merged(found.persons for found in seen.values()),
        )


def merged(many: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    """Each text once, in the order in which it first comes."""
    return tuple(dict.fromkeys(one for each in many for one in each))


def read(texts: Mapping[str, str], package: str = "") -> Source:
    """`texts`: module → source text. Where "decide" is among them, its `dispatch` has the commands.

    `package`: what the modules' full names begin with, where they import each other by these; a module in a
    folder is then named with it: "rules.against".
    """
    functions: dict[Place, Found] = {}
    commands: dict[str, Place] = {}
    for module, text in texts.items():
        tree = ast.parse(text)
        names = meaning_of_names(module, tree, package, texts)
        for node in tree.body:
            if isinstance(node, ast.FunctionDef):
                functions[module, node.name] = found_in(node, names)
                if (module, node.name) == THE_DOOR:
                    commands = handed_to(node, names)
    # the one door leads to every topic; a command is followed from its own topic only
    if THE_DOOR in functions:
        functions[THE_DOOR] = replace(functions[THE_DOOR], calls=())
    return Source(functions, commands)


def meaning_of_names(
    module: str, tree: ast.Module, package: str = "", modules: Iterable[str] = ()
) -> dict[str, Place]:
    """Each name that the module can call → the function it means; for a module itself, ("its name", "")."""
    names: dict[str, Place] = {}
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            names[node.name] = (module, node.name)
        elif isinstance(node, ast.ImportFrom) and node.level == 1:
            for alias in node.names:
                place = (node.module, alias.name) if node.module else (alias.name, "")
                names[alias.asname or alias.name] = place
        elif isinstance(node, ast.ImportFrom) and package and f"{node.module}.".startswith(f"{package}."):
            where = f"{node.module}.".removeprefix(f"{package}.").rstrip(".")
            for alias in node.names:
                whole = f"{where}.{alias.name}".lstrip(".")
                names[alias.asname or alias.name] = (whole, "") if whole in modules else (where, alias.name)
    return names


def found_in(function: ast.FunctionDef, names: Mapping[str, Place]) -> Found:
    """The conditions and calls of one function, those of the functions inside it included."""
    codes: list[str] = []
    roles: list[str] = []
    ties: list[str] = []
    persons: list[str] = []
    calls: list[Place] = []
    for node, tests in with_their_tests(function, ()):
        if not isinstance(node, ast.Call):
            continue
        place = meant(node.func, names)
        if called(node) == "Unmet":
            codes += texts(node.args[:1])
        elif called(node) in ASKED_OF_PERSONS and is_of_the_asker(node):
            persons.append(ASKED_OF_PERSONS[called(node)])
        elif called(node) == "lacks_role" and is_of_the_asker(node):
            roles += texts(node.args[2:])
            ties += [word for test in tests for name, word in TIES.items() if name in attributes(test)]
        if place is not None:
            calls.append(place)
    return Found(
        codes=merged([tuple(codes)]),
        roles=merged([tuple(roles)]),
        ties=merged([tuple(ties)]),
        persons=merged([tuple(persons)]),
        calls=tuple(dict.fromkeys(calls)),
    )


def texts(arguments: Iterable[ast.expr]) -> list[str]:
    """The texts that stand written out among the arguments of a call."""
    values = (one.value for one in arguments if isinstance(one, ast.Constant))
    return [value for value in values if isinstance(value, str)]


def is_of_the_asker(call: ast.Call) -> bool:
    """Is it asked of whoever gives the command, and not of someone that they name?"""
    return len(call.args) > 1 and ast.unparse(call.args[1]) in THE_ASKER


def with_their_tests(
    node: ast.AST, tests: tuple[ast.expr, ...]
) -> Iterator[tuple[ast.AST, tuple[ast.expr, ...]]]:
    """Each node beneath this one that can refuse, with the tests of the `if`s that it stands in."""
    for child in ast.iter_child_nodes(node):
        if only_asks(child):
            continue
        inside = (*tests, node.test) if isinstance(node, ast.If) and child in node.body else tests
        yield child, inside
        yield from with_their_tests(child, inside)


def only_asks(node: ast.AST) -> bool:
    """`any(conditions)` and `(unmet.what for unmet in conditions)` look at conditions and refuse nothing."""
    if isinstance(node, ast.Call):
        return called(node) == "any"
    return isinstance(node, ast.GeneratorExp) and isinstance(node.elt, ast.Attribute)


def handed_to(dispatch: ast.FunctionDef, names: Mapping[str, Place]) -> dict[str, Place]:
    """`case c.ApplyLock(): return isolating.lock(…)` as "ApplyLock" → ("isolating", "lock")."""
    found: dict[str, Place] = {}
    for case in (node for node in ast.walk(dispatch) if isinstance(node, ast.match_case)):
        first = case.body[0]
        if not isinstance(case.pattern, ast.MatchClass) or not isinstance(first, ast.Return):
            continue
        place = meant(first.value.func, names) if isinstance(first.value, ast.Call) else None
        if place is not None:
            found[ast.unparse(case.pattern.cls).rpartition(".")[2]] = place
    return found


def called(node: ast.Call) -> str:
    named = isinstance(node.func, ast.Name | ast.Attribute)
    return ast.unparse(node.func).rpartition(".")[2] if named else ""


def meant(func: ast.expr, names: Mapping[str, Place]) -> Place | None:
    """The function that is called, where it is one of the rules'."""
    if isinstance(func, ast.Name):
        return names.get(func.id)
    if isinstance(func, ast.Attribute) and isinstance(func.value, ast.Name):
        module = names.get(func.value.id)
        return (module[0], func.attr) if module is not None and module[1] == "" else None
    return None


def attributes(test: ast.expr) -> set[str]:
    return {node.attr for node in ast.walk(test) if isinstance(node, ast.Attribute)}
