"""The sections of the printed form, in the order of a permit's life."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from reportlab.platypus import Flowable

from permits.work.prints.at_points import plan, tests
from permits.work.prints.people import check, crew, longer, stop, told
from permits.work.prints.power import closing, hand_back, power, sanction
from permits.work.queries.paper import PaperForm

Section = Callable[[PaperForm, int, float], Iterator[Flowable]]
SECTIONS: tuple[Section, ...] = (
    told, plan, tests, crew, check, stop, longer, sanction, hand_back, power, closing,
)  # fmt: skip
COUNT = len(SECTIONS)


def all_of(form: PaperForm, width: float) -> Iterator[Flowable]:
    for number, made in enumerate(SECTIONS, 1):
        yield from made(form, number, width)
