"""Reads for the pages and prints of permits; complete when they leave here, and never locking."""

from permits.work.queries.board import BoardRow, board, mine
from permits.work.queries.look import Look, look, settled
from permits.work.queries.permit import PermitPage, machines_to_test, next_point, permit_page
from permits.work.queries.plan import PlanPage, plan_page, planned
from permits.work.queries.point import PointPage, point_page
from permits.work.queries.since import Since, since
from permits.work.queries.states import LINE, PHASES, badge
from permits.work.queries.told import permit_asked_for, was_carried_out

__all__ = [
    "LINE",
    "PHASES",
    "BoardRow",
    "Look",
    "PermitPage",
    "PlanPage",
    "PointPage",
    "Since",
    "badge",
    "board",
    "look",
    "machines_to_test",
    "mine",
    "next_point",
    "permit_asked_for",
    "permit_page",
    "plan_page",
    "planned",
    "point_page",
    "settled",
    "since",
    "was_carried_out",
]
