"""What every test needs: quick password hashing, plain static names, the cast, and signing someone in."""

import os
from collections.abc import Callable

import pytest
from django.conf import settings
from django.test import Client
from hypothesis import settings as property_tests

pytest_plugins = ["tests.cast"]


def pytest_configure() -> None:
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    settings.STORAGES = settings.STORAGES | {"staticfiles": plain}
    # A slow moment of a busy machine is no failure. New examples are found at a contributor's desk; the same
    # commit gives the same answer wherever CI is set.
    property_tests.register_profile("desk", deadline=None)
    property_tests.register_profile("ci", deadline=None, derandomize=True)
    property_tests.load_profile("ci" if os.environ.get("CI") else "desk")


@pytest.fixture
def signed_in(db) -> Callable[..., Client]:
    """signed_in(person) or signed_in(person, site): a browser in which that person is signed in."""

    def open_browser(person, site=None) -> Client:
        client = Client()
        client.force_login(person)
        if site is not None:
            session = client.session
            session["site"] = site.pk
            session.save()
        return client

    return open_browser
