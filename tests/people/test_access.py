"""The middleware: marks, refusals that say who may, sessions that end, sites."""

import logging
from types import SimpleNamespace

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.http import HttpResponse
from django.test import RequestFactory
from django.utils.timezone import now

from permits.people import actions
from permits.people.access import AccessMiddleware, allow, page_context, public, safe_next, signed_in_anywhere
from permits.people.models import Person
from permits.people.rules.roles import Role
from tests.factories_people import MembershipFactory, PersonFactory


def view(request):
    return HttpResponse("opened")


def test_a_view_without_a_mark_is_an_error():
    with pytest.raises(ImproperlyConfigured, match="does not say who may open it"):
        AccessMiddleware(view).process_view(SimpleNamespace(), view, (), {})


def test_allow_without_a_role_is_an_error():
    with pytest.raises(ImproperlyConfigured, match="names no role"):
        allow()


def test_a_mark_survives_under_another_decorator():
    from django.views.decorators.http import require_POST

    above = public(require_POST(lambda request: None))
    below = require_POST(public(lambda request: None))
    assert above.who_may == below.who_may


def test_marks_do_not_mix():
    assert signed_in_anywhere(lambda request: None).who_may != public(lambda request: None).who_may


def test_the_refusal_names_the_roles_and_who_has_them_here(odo, signed_in, caplog):
    with caplog.at_level(logging.WARNING, "permits.access"):
        answer = signed_in(odo).get("/people/add/")
    page = answer.content.decode()
    assert answer.status_code == 403
    assert "administrator" in page
    assert "Ilse Brankovan" in page
    assert "Maud Ferrisdale" not in page
    assert "you are authorised technician" in page
    assert odo.about in caplog.text
    assert "/people/add/" in caplog.text


def test_the_refusal_does_not_name_people_of_another_site(odo, fernbrook, signed_in):
    PersonFactory(name="Nils Elsewhere", site=fernbrook, site__role=Role.ADMINISTRATOR)
    assert "Nils Elsewhere" not in signed_in(odo).get("/people/add/").content.decode()


def test_a_role_that_nobody_has_is_said_to_be_nobodys(quillfen, ilse, odo, signed_in):
    client = signed_in(odo)
    quillfen.memberships.filter(role=Role.AUDITOR).update(ended_at=now())
    assert "nobody at this site has this role" in client.get("/people/").content.decode()


def test_a_log_line_cannot_be_forged_by_a_path(odo, signed_in, caplog):
    with caplog.at_level(logging.INFO, "permits.access"):
        signed_in(odo).get("/people/add/%0Aforged")
        signed_in(odo).get("/people/x%0Ay/name/")
    assert all(
        "\n" not in record.getMessage() for record in caplog.records if record.name == "permits.access"
    )


def test_a_disabled_person_loses_the_session_at_once_and_for_good(quillfen, ilse, odo, signed_in):
    client = signed_in(odo)
    assert client.get("/me/").status_code == 200
    actions.disable_person(site=quillfen, person=odo, why="left", by=ilse.author, at=now())
    assert client.get("/me/").url == "/sign-in/?next=/me/"
    actions.enable_person(site=quillfen, person=odo, why="back", by=ilse.author, at=now())
    assert client.get("/me/").status_code == 302


def test_a_session_that_met_its_disabled_owner_is_emptied(odo, signed_in):
    client = signed_in(odo)
    Person.objects.filter(pk=odo.pk).update(is_active=False)
    client.get("/me/")
    Person.objects.filter(pk=odo.pk).update(is_active=True)
    assert client.get("/me/").status_code == 302


def test_an_ended_role_counts_at_once(quillfen, ilse, maud, signed_in):
    client = signed_in(maud)
    MembershipFactory(person=maud, site=quillfen, role=Role.AFFECTED)
    assert client.get("/people/").status_code == 200
    actions.end_role(site=quillfen, person=maud, role=Role.OFFICER, by=ilse.author, at=now())
    assert client.get("/people/").status_code == 403


def test_with_one_site_it_is_open_without_asking(quillfen, odo, signed_in):
    assert "Quillfen Panel Works" in signed_in(odo).get("/me/").content.decode()


def test_with_two_sites_one_is_chosen_first_and_may_be_switched(quillfen, fernbrook, odo, signed_in):
    MembershipFactory(person=odo, site=fernbrook, role=Role.AUDITOR)
    client = signed_in(odo)
    assert client.get("/me/").url == "/site/?next=%2Fme%2F"
    assert client.post("/site/", {"site": fernbrook.pk, "next": "/people/"}).url == "/people/"
    assert client.get("/people/").status_code == 200
    client.post("/site/", {"site": quillfen.pk})
    assert client.get("/people/").status_code == 403


def test_a_site_without_a_role_there_cannot_be_opened(quillfen, fernbrook, odo, signed_in):
    client = signed_in(odo)
    answer = client.post("/site/", {"site": fernbrook.pk})
    assert answer.status_code == 422
    assert (
        "You have no role at that site; one of Quillfen Panel Works would be right."
        in answer.content.decode()
    )


def test_a_site_in_the_session_where_the_role_has_ended_is_not_open(quillfen, fernbrook, odo, signed_in):
    assert "Quillfen Panel Works" in signed_in(odo, fernbrook).get("/me/").content.decode()


def test_somebody_without_any_role_is_told_whom_to_ask(db, signed_in):
    person = PersonFactory()
    client = signed_in(person)
    assert client.get("/me/").status_code == 302
    page = client.get("/site/").content.decode()
    assert "You have no role at any site yet" in page
    assert person.ref in page


def test_a_first_password_opens_nothing_but_the_change_of_it(quillfen, signed_in):
    client = signed_in(PersonFactory(first_password=True, site=quillfen, site__role=Role.ADMINISTRATOR))
    assert client.get("/people/").url == "/me/password/"
    assert client.post("/people/add/", {"name": "x"}).url == "/me/password/"
    assert client.get("/me/password/").status_code == 200


def test_pages_of_a_person_are_not_kept_by_the_browser(odo, signed_in):
    assert "no-store" in signed_in(odo).get("/me/")["Cache-Control"]


def test_what_templates_get(quillfen, odo, signed_in):
    context = signed_in(odo).get("/me/").context
    assert context["site"] == quillfen
    assert context["person"] == odo
    assert context["roles"] == {Role.TECHNICIAN}
    assert context["sites"] == (quillfen,)


def test_templates_get_nothing_before_the_middleware_ran():
    assert page_context(RequestFactory().get("/")) == {
        "site": None,
        "person": None,
        "roles": frozenset(),
        "sites": (),
    }


@pytest.mark.parametrize(
    "target", ["https://elsewhere.example/", "//elsewhere.example", "javascript:1", "", None]
)
def test_next_never_leads_elsewhere(target):
    assert safe_next(RequestFactory().get("/"), target) == "/"


def test_next_leads_to_a_page_of_ours():
    assert safe_next(RequestFactory().get("/"), "/people/?a=1") == "/people/?a=1"


def test_who_is_asking_costs_three_queries_and_its_page_two(odo, signed_in, django_assert_num_queries):
    client = signed_in(odo)
    with django_assert_num_queries(5):  # session, person, roles with their sites; every page adds two
        client.get("/site/")
