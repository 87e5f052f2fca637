"""Choosing a node of the plant: from a list by machine, or by its code where a list would be too long."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from django import forms

from permits.plant.forms.asking import text
from permits.plant.rules.energy import Graph, Node

MOST_CHOICES = 400
Groups = list[tuple[str, list[tuple[str, str]]]]


def node_choices(nodes: Iterable[Node], names: Mapping[str, str], *, kinds: bool = True) -> Groups:
    """Nodes by machine, those of no machine first; `names`: machines' names by id; `kinds`: say its kind."""
    groups: dict[str, list[tuple[str, str]]] = {"": []}
    for node in nodes:
        words = f"{node.name} ({node.id}{f', {node.kind}' if kinds else ''})"
        groups.setdefault(node.machine or "", []).append((node.id, words))
    titles = {"": "Shared"} | {machine: names.get(machine, machine) for machine in groups if machine}
    return [(titles[machine], found) for machine, found in groups.items() if found]


def node_field(label: str, graph: Graph, names: Mapping[str, str]) -> forms.Field:
    """A field for one node: a list, or its code in a plant with too many for one."""
    missing = f"{label} is missing; a node of the plant would be right."
    if len(graph.nodes) > MOST_CHOICES:
        field = text(label, most=64, example="C1-QB1", help_text="The node's code.", required=True)
        field.error_messages["required"] = missing
        return field
    return forms.ChoiceField(
        label=label,
        choices=[("", "choose a node"), *node_choices(graph.nodes.values(), names)],
        error_messages={
            "required": missing,
            "invalid_choice": "There is no node %(value)s; one of the list would be right.",
        },
    )
