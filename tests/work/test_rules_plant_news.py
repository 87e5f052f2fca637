"""A page that shows the plan watches the plant that it shows, and no other part of it."""

import pytest

from permits.plant.rules.energy import Kind, Link, Node
from permits.work.rules.moved_on import PageStale, refuse_if_moved_on
from permits.work.rules.plant_news import PlantChange, PlantNews, what_changed
from tests.work.small_plant import SITE, accept, at, done, issue, lock, p1, request, with_graph

ASKED = done(SITE, request())


def changed(*, site=ASKED, machines=(), nodes=(), links=(), whole=False):
    return what_changed(site, p1(site), PlantChange(tuple(machines), tuple(nodes), tuple(links), whole))


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"nodes": ["Q1"]}, "Main switch"),
        ({"nodes": ["SAW"]}, "Saw"),
        ({"machines": ["CUT"]}, "CUT"),
        ({"links": [("Q1", "NOWHERE")]}, "NOWHERE"),
        ({"nodes": ["F1"]}, ""),
    ],
    ids=["a point", "a zone", "the machine", "a link of a point, with its gone end", "what feeds it"],
)
def test_a_change_of_what_the_plan_shows_is_named(change, named):
    said = changed(**change)
    assert said is not None
    assert said.startswith("the plant was changed (")
    assert named in said


def test_a_change_elsewhere_is_no_news():
    site = with_graph(ASKED, Node("FAR", Kind.ZONE, "Far away", machine="DRILL"), Link("Q2", "FAR"))
    assert changed(site=site, nodes=["FAR"], machines=["DRILL"]) is None


def test_what_every_plan_goes_by_is_news_to_each():
    assert changed(whole=True) == "the plant was changed"


def test_of_many_changes_the_first_are_named():
    said = changed(nodes=["Q1", "Q2", "C1", "G1", "SAW", "OUT"])
    assert said is not None
    assert said.endswith(", 2 more)")


NEWS = PlantNews("sig", at(3), "the plant was changed (Main switch)")


def test_it_is_said_by_whom_and_when():
    with pytest.raises(PageStale) as refused:
        refuse_if_moved_on(done(ASKED, issue()), accept(4), (NEWS,))
    assert "The plant was changed (Main switch) by Sig Officer at " in refused.value.unmet[0].what
    assert refused.value.against == (NEWS,)


def test_a_step_whose_page_does_not_show_the_plan_goes_on():
    site = done(ASKED, issue(), accept())
    refuse_if_moved_on(site, lock("Q1", "101"), (NEWS,))
