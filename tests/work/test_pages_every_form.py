"""What holds for every form of a permit's life, as the table in every_form.py lists them."""

import json
from html import escape

import pytest
from django.urls import get_resolver

from tests.cast import PIN
from tests.work.every_form import FORMS, url_of
from tests.work.form_rows import KEPT_BACK
from tests.work.forms_moved_on import EXTENDED, MEANWHILE, WHATEVER_HAPPENED, extended, proven_by_odo, stopped
from tests.work.reading_pages import filled, page_of, send, text_of

ALL = sorted(FORMS)
SIGNED = [name for name in ALL if FORMS[name].signed]
LENDING = [name for name in ALL if FORMS[name].lends or FORMS[name].signed]
BAD = [(name, *wrong) for name in ALL for wrong in FORMS[name].bad]
REFUSED = [name for name in ALL if FORMS[name].refused_at]
FRESH = [name for name in ALL if FORMS[name].fresh]


def test_the_table_names_every_page_that_asks_for_a_command():
    work = next(one for one in get_resolver().url_patterns if getattr(one, "namespace", "") == "work")
    asking = {
        str(one.pattern).removeprefix("permits/<str:reference>/").split("/")[0]
        for one in work.url_patterns
        if str(one.pattern).startswith("permits/<str:reference>/")
    }
    assert asking - {"", "picture", "now", "paper"} == set(FORMS)


@pytest.fixture(params=ALL)
def name(request):
    return request.param


@pytest.fixture
def asked(name, job, phone):
    """The form's row, its address, and the browser of whoever fills it in."""
    form = FORMS[name]
    form.prepare(job)
    return form, url_of(name, job), phone(form.who)


def test_what_is_right_is_done_and_leads_back_to_the_permit(name, asked, job):
    form, url, client = asked
    before = len(job.entries())
    answer = send(client, url, **form.typed(job))
    assert answer.status_code == 302, text_of(answer)
    assert answer.url == job.url
    assert form.done in text_of(client.get(job.url))
    new = job.entries()[before:]
    assert new
    assert all(entry.about == f"permit:{job.id}" for entry in new)
    assert new[0].by == f"person:{client_ref(client)}"


def client_ref(client) -> str:
    from permits.people.models import Person

    return Person.objects.get(pk=client.session["_auth_user_id"]).ref


def test_looking_at_it_changes_nothing(name, asked, job):
    _, url, client = asked
    before = len(job.entries())
    assert client.get(url).status_code == 200
    assert client.head(url).status_code == 200
    assert len(job.entries()) == before


def test_sent_twice_it_counts_once_and_leads_to_the_same_page(name, asked, job):
    form, url, client = asked
    typed = filled(client, url, **form.typed(job))
    first = client.post(url, typed)
    after = len(job.entries())
    second = client.post(url, typed)
    assert (first.status_code, first.url) == (second.status_code, second.url) == (302, job.url)
    assert len(job.entries()) == after
    assert form.done.rstrip(".") in text_of(client.get(job.url))


def test_at_another_site_there_is_no_such_permit(name, asked, job, elsewhere):
    form, url, _ = asked
    before = len(job.entries())
    stranger = elsewhere(form.role)
    assert stranger.get(url).status_code == 404
    assert stranger.post(url, form.typed(job) | job.typed()).status_code == 404
    assert len(job.entries()) == before


def test_without_its_hidden_key_nothing_is_done(name, asked, job):
    form, url, client = asked
    before = len(job.entries())
    answer = client.post(url, filled(client, url, **form.typed(job)) | {"key": "damaged", "seen": "?"})
    assert answer.status_code == 422
    assert "A hidden part of this page did not arrive whole; load the page again." in text_of(answer)
    assert len(job.entries()) == before


@pytest.mark.parametrize(("name", "field", "typed", "said"), BAD)
def test_bad_input_says_what_would_be_right_and_keeps_what_was_typed(
    name, field, typed, said, asked, job
):
    form, url, client = asked
    sent = filled(client, url, **form.typed(job)) | {field: typed}
    before = len(job.entries())
    answer = client.post(url, sent)
    assert answer.status_code == 422
    page = page_of(answer)
    assert said in page.text
    assert "Not sent yet." in page.text
    assert kept(page) == posted(sent, page)
    assert len(job.entries()) == before


def kept(page) -> dict:
    return {name: values for name, values in page.posts.items() if name not in KEPT_BACK and any(values)}


def posted(sent: dict, page) -> dict:
    """What was sent, as the page can show it again: a choice that it does not offer cannot be ticked."""
    as_lists = {
        name: value if isinstance(value, list) else [value]
        for name, value in sent.items()
        if name not in KEPT_BACK
    }
    shown = {
        name: [one for one in values if name not in page.offers or one in page.offers[name]]
        for name, values in as_lists.items()
    }
    return {name: values for name, values in shown.items() if any(values)}


@pytest.mark.parametrize("name", REFUSED)
def test_a_refusal_says_everything_that_is_missing_and_who_can_help(name, job, phone):
    form = FORMS[name]
    job.to(form.refused_at)
    client, url, before = phone(form.who), url_of(name, job), len(job.entries())
    sent = filled(client, url, **form.typed(job))
    answer = client.post(url, sent)
    assert answer.status_code == 409, text_of(answer)
    page, html, refusal = page_of(answer), answer.content.decode(), answer.context["refusal"]
    assert "Nothing was changed." in page.text
    for unmet in refusal.unmet:
        assert escape(unmet.what) in html
        assert unmet.who
        assert escape(unmet.who) in html
    assert kept(page) == posted(sent, page)
    assert len(job.entries()) == before


def test_every_form_is_tried_with_what_concerns_it_or_goes_through_whatever_happened():
    assert set(MEANWHILE) | set(FRESH) | set(WHATEVER_HAPPENED) == set(ALL)
    assert not set(WHATEVER_HAPPENED) & (set(MEANWHILE) | set(FRESH))


@pytest.mark.parametrize("name", [name for name in ALL if name not in WHATEVER_HAPPENED])
def test_a_page_that_no_longer_holds_is_refused_with_what_changed_and_can_then_be_sent_again(
    name, asked, job
):
    form, url, client = asked
    typed = filled(client, url, **form.typed(job))
    meanwhile = MEANWHILE.get(name, EXTENDED)
    meanwhile.happens(job)
    before = len(job.entries())
    answer = client.post(url, typed)
    assert answer.status_code == 409, text_of(answer)
    page, refusal = page_of(answer), answer.context["refusal"]
    assert refusal.codes == {"page-stale", *meanwhile.then}
    assert f"{job.id} has moved on since this page was shown." in page.text
    assert "Since this page was shown" in page.text
    assert meanwhile.says in page.text
    assert answer.context["since"][0].matters
    assert len(job.entries()) == before
    assert page.posts["seen"] == [str(job.entries()[-1].number)]
    if meanwhile.narrower:
        assert kept(page).items() < posted(typed, page).items()
    else:
        assert kept(page) == posted(typed, page)
    again = client.post(url, page.posts | pins(form.typed(job)) | still_later(name))
    assert again.status_code == (409 if meanwhile.then else 302), text_of(again)
    assert not meanwhile.then or again.context["refusal"].codes >= meanwhile.then


@pytest.mark.parametrize("name", [name for name in ALL if name not in (*FRESH, "issue")])
def test_what_does_not_concern_a_step_does_not_stop_it(name, asked, job):
    form, url, client = asked
    typed = filled(client, url, **form.typed(job))
    extended(job)
    answer = client.post(url, typed)
    assert answer.status_code == 302, text_of(answer)


@pytest.mark.parametrize("name", WHATEVER_HAPPENED)
def test_what_is_always_right_goes_through_after_a_stop(name, asked, job):
    form, url, client = asked
    typed = filled(client, url, **form.typed(job))
    stopped(job)
    answer = client.post(url, typed)
    if name == "leave-watch":
        assert answer.context["refusal"].codes == {"not-watching"}
    else:
        assert answer.status_code == 302, text_of(answer)


@pytest.mark.parametrize("name", [name for name in ALL if name not in WHATEVER_HAPPENED])
def test_a_page_that_does_not_say_what_it_showed_came_from_the_beginning(name, asked, job):
    form, url, client = asked
    typed = filled(client, url, **form.typed(job)) | {"seen": ""}
    answer = client.post(url, typed)
    assert answer.status_code == 409, text_of(answer)
    assert answer.context["refusal"].codes == {"page-stale"}


@pytest.mark.parametrize("name", ["verify", "try-start"])
def test_what_was_measured_before_is_measured_again(name, asked, job):
    form, url, client = asked
    typed = filled(client, url, **form.typed(job))
    proven_by_odo(job)
    page = text_of(client.post(url, typed))
    again = {"verify": "take every reading again", "try-start": "try the controls again"}[name]
    assert page.lower().count(again) == 2, "in the refusal, and where it is sent again"


def pins(typed: dict) -> dict:
    """What a page never shows again."""
    return {name: value for name, value in typed.items() if name in ("pin", "second_pin")}


def still_later(name: str) -> dict:
    return {"hours": "12"} if name == "extend" else {}


@pytest.mark.parametrize("name", SIGNED)
def test_a_signed_step_needs_the_pin(name, asked, job):
    form, url, client = asked
    before = len(job.entries())
    answer = send(client, url, **form.good(job), pin="")
    assert answer.status_code == 422
    assert "The PIN is missing; the one set under “my page” would be right." in text_of(answer)
    assert len(job.entries()) == before


@pytest.mark.parametrize("name", SIGNED)
def test_a_wrong_pin_signs_nothing_and_is_recorded(name, asked, job, person):
    form, url, client = asked
    before, seen = len(job.entries()), job.seen
    answer = send(client, url, **form.good(job), pin="000000")
    assert answer.status_code == 422
    assert f"This is not the PIN of {person(form.who).name}; 9 more tries before it locks." in text_of(answer)
    assert job.seen == seen
    assert [entry.kind for entry in job.entries()[before:]] == ["PIN_FAILED"]


@pytest.mark.parametrize("name", SIGNED)
def test_a_locked_pin_signs_nothing(name, asked, job, person):
    form, url, client = asked
    someone = person(form.who)
    someone.pin_failures, someone.pin_locked_at = 10, job.at
    someone.save()
    seen = job.seen
    answer = send(client, url, **form.typed(job))
    assert answer.status_code == 422
    assert f"The PIN of {someone.name} is locked after 10 wrong ones" in text_of(answer)
    assert job.seen == seen


@pytest.mark.parametrize("name", LENDING)
def test_someone_else_acts_on_this_phone_and_the_entry_names_both(name, job, phone, person):
    form = FORMS[name]
    form.prepare(job)
    owner, other = person(form.lender), person(form.who)
    client, before = phone(form.lender), len(job.entries())
    theirs = {"sign_in": f" {form.who.upper()} ", "pin": PIN[form.who]}
    answer = send(client, url_of(name, job), **form.good(job), **theirs)
    assert answer.status_code == 302, text_of(answer)
    entry = job.entries()[before]
    assert entry.by == other.about
    assert json.loads(entry.body)["device"] == owner.about
    assert f"Written for {other.name}." in text_of(client.get(job.url))


@pytest.mark.parametrize("name", [name for name in ALL if FORMS[name].lends])
def test_whoever_acts_on_anothers_phone_types_their_own_pin(name, job, phone):
    form = FORMS[name]
    form.prepare(job)
    before = len(job.entries())
    answer = send(phone(form.lender), url_of(name, job), **form.good(job), sign_in=form.who)
    assert answer.status_code == 422
    assert "Their PIN is missing; whoever acts types their own." in text_of(answer)
    assert page_of(answer).posts["sign_in"] == [form.who]
    assert len(job.entries()) == before


@pytest.mark.parametrize("name", [name for name in ALL if FORMS[name].lends])
def test_a_name_that_nobody_here_has_is_said(name, job, phone):
    form = FORMS[name]
    form.prepare(job)
    answer = send(phone(form.lender), url_of(name, job), **form.good(job), sign_in="nobody", pin="123456")
    assert answer.status_code == 422
    assert "Nobody at Quillfen Panel Works signs in as 'nobody'" in text_of(answer)
