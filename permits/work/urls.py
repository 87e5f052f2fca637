"""Routes of the permit's life, grouped by noun."""

from django.urls import path, re_path

from permits.plant import codes_in_addresses  # noqa: F401  # registers <code:…>
from permits.work.views import (
    messages,
    otherwise,
    paper,
    permits,
    points,
    reisolating,
    requesting,
    rules,
    site_policy,
    whole_site,
)

app_name = "work"

urlpatterns = [
    path("", permits.home, name="home"),
    path("board/", permits.board, name="board"),
    path("board/now/", permits.board, {"layout": "live.html"}, name="board-now"),
    # the rules, and the site's own numbers
    path("rules/", rules.rules, name="rules"),
    path("policy/", site_policy.policy, name="policy"),
    path("policy/change/", site_policy.change_policy, name="change-policy"),
    # messages
    path("messages/", messages.messages, name="messages"),
    path("messages/read/", messages.read, name="read-messages"),
    # the whole site
    path("whole-site/", whole_site.whole_site, name="whole-site"),
    path("whole-site/declare-emergency/", whole_site.declare_emergency, name="declare-emergency"),
    path("whole-site/end-emergency/", whole_site.end_emergency, name="end-emergency"),
    path("whole-site/declare-paper/", whole_site.declare_paper, name="declare-paper"),
    path("whole-site/end-paper/", whole_site.end_paper, name="end-paper"),
    path("whole-site/tell-returned/", whole_site.tell_returned, name="tell-returned"),
    # on paper
    path("machines/<code:code>/paper/", paper.of_machine, name="machine-paper-form"),
    # points
    re_path(r"^[Tt]/(?P<token>[0-9A-Za-z]{1,32})/?$", points.by_token, name="point-by-token"),
    path("find/", points.find, name="find"),
    path("find/<str:code>/", points.by_code, name="point-by-code"),
    # permits
    path("permits/new/", requesting.choose_machine, name="choose-machine"),
    path("permits/new/<path:machine>/", requesting.ask_for_permit, name="ask-for-permit"),
    path("permits/<str:reference>/", permits.permit, name="permit"),
    path("permits/<str:reference>/now/", permits.permit, {"layout": "live.html"}, name="permit-now"),
    path("permits/<str:reference>/picture/", permits.picture, name="picture"),
    path("permits/<str:reference>/paper/", paper.of_permit, name="paper-form"),
    path("permits/<str:reference>/issue/", permits.issue, name="issue"),
    path("permits/<str:reference>/accept/", permits.accept, name="accept"),
    path("permits/<str:reference>/extend/", permits.extend, name="extend"),
    path("permits/<str:reference>/crew/", permits.name_crew, name="name-crew"),
    path("permits/<str:reference>/tell/", permits.tell, name="tell"),
    path("permits/<str:reference>/cancel/", permits.cancel, name="cancel"),
    path("permits/<str:reference>/lock/", points.lock, name="lock"),
    path("permits/<str:reference>/release/", points.release, name="release"),
    path("permits/<str:reference>/verify/", permits.choose_test, {"what": "verify"}, name="choose-verify"),
    path("permits/<str:reference>/verify/<path:machine>/", permits.verify, name="verify"),
    path(
        "permits/<str:reference>/try-start/",
        permits.choose_test,
        {"what": "try-start"},
        name="choose-try-start",
    ),
    path("permits/<str:reference>/try-start/<path:machine>/", permits.try_start, name="try-start"),
    path("permits/<str:reference>/sign-on/", permits.sign_on, name="sign-on"),
    path("permits/<str:reference>/sign-off/", permits.sign_off, name="sign-off"),
    path("permits/<str:reference>/check/", permits.check, name="check"),
    path("permits/<str:reference>/defects/", permits.defects, name="defects"),
    path("permits/<str:reference>/confirm-clear/", permits.confirm_clear, name="confirm-clear"),
    path("permits/<str:reference>/leave-watch/", permits.leave_watch, name="leave-watch"),
    path("permits/<str:reference>/sanction/", permits.sanction, name="sanction"),
    path("permits/<str:reference>/begin-cycle/", permits.begin_cycle, name="begin-cycle"),
    path("permits/<str:reference>/ready/", permits.ready, name="ready"),
    path("permits/<str:reference>/re-isolate/", reisolating.reisolate, name="reisolate"),
    path("permits/<str:reference>/end-sanction/", permits.end_sanction, name="end-sanction"),
    path("permits/<str:reference>/hand-back/", permits.hand_back, name="hand-back"),
    path("permits/<str:reference>/remove-locks/", permits.remove_locks, name="remove-locks"),
    path("permits/<str:reference>/re-energise/", permits.reenergise, name="reenergise"),
    path("permits/<str:reference>/close/", permits.close, name="close"),
    path("permits/<str:reference>/out-of-use/", permits.close_out_of_use, name="close-out-of-use"),
    # when it goes otherwise
    path("permits/<str:reference>/stop/", otherwise.stop_work, name="stop-work"),
    path("permits/<str:reference>/suspend/", otherwise.suspend, name="suspend"),
    path("permits/<str:reference>/lift/", otherwise.lift_halt, name="lift-halt"),
    path("permits/<str:reference>/hand-over/", otherwise.offer_handover, name="offer-handover"),
    path("permits/<str:reference>/take-over/", otherwise.accept_handover, name="accept-handover"),
    path(
        "permits/<str:reference>/withdraw-handover/", otherwise.withdraw_handover, name="withdraw-handover"
    ),
    path("permits/<str:reference>/new-holder/", otherwise.name_holder, name="name-holder"),
    path("permits/<str:reference>/amend/", otherwise.amend, name="amend"),
    path("permits/<str:reference>/absent/", otherwise.take_off_absent, name="take-off-absent"),
    path("permits/<str:reference>/acknowledge/", otherwise.acknowledge, name="acknowledge"),
    path("permits/<str:reference>/enter-late/", otherwise.choose_late, name="enter-late"),
    path("permits/<str:reference>/enter-late/<str:kind>/", otherwise.enter_late, name="enter-late-kind"),
]
