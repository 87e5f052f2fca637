"""The sample page as text, with routes of its own so that it stands before the product's pages do."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import override_settings

from tests.look import sample


class Page(str):
    """A rendered text that can be asked for its words and its elements."""

    @property
    def words(self) -> str:
        """What is read: tags left out, white space as one space."""
        return " ".join(re.sub(r"<[^>]+>", " ", self).split())

    def tags(self, name: str) -> list[str]:
        """Every opening tag of that name."""
        return re.findall(rf"<{name}\b[^>]*>", self)


@pytest.fixture
def routes():
    with override_settings(ROOT_URLCONF=sample.Routes):
        yield


@pytest.fixture
def component(routes) -> Callable[..., Page]:
    """component("lock", number="0417") renders templates/components/lock.html."""

    def render(name: str, /, **context: Any) -> Page:
        return Page(render_to_string(f"components/{name}.html", context))

    return render


@pytest.fixture(params=["base.html", "base_phone.html"])
def page(request, routes) -> Page:
    return Page(sample.render(request.param))
