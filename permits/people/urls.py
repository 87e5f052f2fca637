"""Routes of the people room."""

from django.urls import include, path

from permits.people.views import hosting, own, people, powers

app_name = "people"

about_one = [
    path("", people.person, name="person"),
    path("name/", people.rename, name="rename"),
    path("roles/give/", powers.grant_role, name="grant-role"),
    path("roles/end/", powers.end_role, name="end-role"),
    path("authorisations/give/", powers.authorise, name="authorise"),
    path(
        "authorisations/<int:number>/withdraw/", powers.withdraw_authorisation, name="withdraw-authorisation"
    ),
    path("employer/", hosting.employer, name="employer"),
    path("host/", hosting.host, name="host"),
    path("host/end/", hosting.end, name="end-hosting"),
    path("pin-reset/", people.reset_pin, name="reset-pin"),
    path("password-reset/", people.reset_password, name="reset-password"),
    path("disable/", people.disable, name="disable"),
    path("enable/", people.enable, name="enable"),
]

urlpatterns = [
    path("sign-in/", own.sign_in, name="sign-in"),
    path("sign-out/", own.sign_out, name="sign-out"),
    path("site/", own.site, name="site"),
    path("me/", own.me, name="me"),
    path("me/pin/", own.pin, name="pin"),
    path("me/password/", own.password, name="password"),
    path("me/sessions/end/", own.end_sessions, name="end-sessions"),
    path("people/", people.people, name="people"),
    path("people/add/", people.add, name="add"),
    path("people/join/", people.join, name="join"),
    path("people/<slug:ref>/", include(about_one)),
]
