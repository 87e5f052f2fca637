"""Pages for oneself: signing in and out, site, one's own page, password, PIN."""

from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import now
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST, require_safe

from permits.people import actions, forms, queries
from permits.people.access import SiteRequest, open_site, public, safe_next, signed_in, signed_in_anywhere
from permits.people.rules.declined import Declined, SignInRefused
from permits.people.views.answering import get_or_post, posted

BACKEND = "django.contrib.auth.backends.ModelBackend"


@public
@get_or_post
@sensitive_post_parameters("password")
def sign_in(request: HttpRequest) -> HttpResponse:
    form = forms.SignInForm(posted(request))
    target = request.GET.get("next", "")
    if request.method != "POST":
        return render(request, "people/sign_in.html", {"form": form})
    if form.is_valid():
        try:
            person = actions.sign_in(
                name=form.cleaned_data["sign_in"], password=form.cleaned_data["password"], at=now()
            )
        except SignInRefused as refused:
            forms.show_declined(form, refused)
        else:
            login(request, person, backend=BACKEND)
            return redirect(safe_next(request, target))
    return render(request, "people/sign_in.html", {"form": form}, status=422)


@public
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    messages.info(request, "You are signed out.")
    return redirect("people:sign-in")


@signed_in_anywhere
@get_or_post
def site(request: SiteRequest) -> HttpResponse:
    """Chooses the site to work at, out of those where the person has a role."""
    data = posted(request)
    initial = {"site": request.site.pk if request.site else None, "next": request.GET.get("next", "")}
    form = forms.SiteForm(data, sites=request.sites, initial=initial)
    if form.is_valid():
        chosen = next(one for one in request.sites if one.pk == form.cleaned_data["site"])
        open_site(request, chosen)
        messages.success(request, f"You are now working at {chosen.name}.")
        return redirect(safe_next(request, form.cleaned_data["next"]))
    return render(request, "people/site.html", {"form": form}, status=422 if form.is_bound else 200)


@signed_in
@require_safe
def me(request: SiteRequest) -> HttpResponse:
    page = queries.page_of(request.person, request.site, day=request.site.day_of(now()))
    end = forms.ButtonForm(button="End all my sessions")
    end.helper.form_action = reverse("people:end-sessions")
    return render(request, "people/me.html", {"page": page, "end_sessions": end})


@signed_in
@get_or_post
@sensitive_post_parameters("password", "pin", "pin_again")
def pin(request: SiteRequest) -> HttpResponse:
    form = forms.PinForm(posted(request), initial={"username": request.person.sign_in})
    if form.is_valid():
        at = now()
        try:
            actions.prove_password(person=request.person, password=form.cleaned_data["password"], at=at)
            actions.set_pin(
                site=request.site,
                person=request.person,
                pin=form.cleaned_data["pin"],
                by=request.author,
                at=at,
            )
        except Declined as declined:
            forms.show_declined(form, declined)
        else:
            messages.success(request, "Your PIN is set.")
            return redirect("people:me")
    return render(request, "people/pin.html", {"form": form}, status=422 if form.is_bound else 200)


@signed_in_anywhere
@get_or_post
@sensitive_post_parameters("current", "password", "again")
def password(request: SiteRequest) -> HttpResponse:
    person, at = request.person, now()
    form = forms.PasswordForm(posted(request), person=person)
    if form.is_valid():
        given = form.cleaned_data
        try:
            actions.prove_password(person=person, password=given["current"], at=at)
        except Declined as declined:
            form.add_error("current", declined.message)
        else:
            actions.set_password(
                site=request.site, person=person, password=given["password"], by=request.author, at=at
            )
            update_session_auth_hash(request, person)
            messages.success(request, "Your password is set; your sessions elsewhere have ended.")
            return redirect("/")
    return render(request, "people/password.html", {"form": form}, status=422 if form.is_bound else 200)


@signed_in_anywhere
@require_POST
def end_sessions(request: SiteRequest) -> HttpResponse:
    actions.end_sessions(person=request.person)
    logout(request)
    messages.info(request, "All your sessions have ended, this one too.")
    return redirect("people:sign-in")
