"""Reads for the pages and prints of permits; complete when they leave here, and never locking."""

from permits.work.queries.board import BoardRow, board, board_of, mine, out_of_service
from permits.work.queries.finding_rules import rules_with
from permits.work.queries.live import Version, last_entry, still_holds, version
from permits.work.queries.look import Look, look, settled
from permits.work.queries.messages import MessageLine, Unread, messages_of, unread_of
from permits.work.queries.otherwise import not_on_paper
from permits.work.queries.permit import PermitPage, machines_to_test, next_point, permit_page
from permits.work.queries.plan import PlanPage, plan_page, planned
from permits.work.queries.point import PointPage, point_page
from permits.work.queries.rule_lines import RuleLine, RulesPage, StepLine
from permits.work.queries.rules import rules_page
from permits.work.queries.since import Since, since
from permits.work.queries.site_policy import PolicyLine, policy_changed, policy_lines, policy_of
from permits.work.queries.states import LINE, PHASES, badge
from permits.work.queries.told import permit_asked_for
from permits.work.queries.whole_site import WholeSitePage, declared, whole_site_page

__all__ = [
    "LINE",
    "PHASES",
    "BoardRow",
    "Look",
    "MessageLine",
    "PermitPage",
    "PlanPage",
    "PointPage",
    "PolicyLine",
    "RuleLine",
    "RulesPage",
    "Since",
    "StepLine",
    "Unread",
    "Version",
    "WholeSitePage",
    "badge",
    "board",
    "board_of",
    "declared",
    "last_entry",
    "look",
    "machines_to_test",
    "messages_of",
    "mine",
    "next_point",
    "not_on_paper",
    "out_of_service",
    "permit_asked_for",
    "permit_page",
    "plan_page",
    "planned",
    "point_page",
    "policy_changed",
    "policy_lines",
    "policy_of",
    "rules_page",
    "rules_with",
    "settled",
    "since",
    "still_holds",
    "unread_of",
    "version",
    "whole_site_page",
]
