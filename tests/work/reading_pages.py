"""A page as a browser has it: what its form would post, what a person reads on it."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any

from django.test import Client

FORM = "the-form"


class Page(HTMLParser):
    """The text of a page, and the values of the form that its pinned button sends."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.posts: dict[str, list[str]] = {}
        self.offers: dict[str, list[str]] = {}
        self.names: dict[str, str] = {}
        self.words: list[str] = []
        self._inside = self._quiet = False
        self._field: str = ""
        self._select: str = ""
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        a = {name: value or "" for name, value in attributes}
        self._quiet = self._quiet or tag in ("script", "style", "title")
        if tag == "form":
            self._inside = a.get("id") == FORM
        if not self._inside or (tag != "option" and not a.get("name")):
            return
        name = a.get("name", self._select)
        if tag == "input" and a.get("type") in ("checkbox", "radio"):
            self.offers.setdefault(name, []).append(a.get("value", "on"))
            if "checked" in a:
                self.posts.setdefault(name, []).append(a.get("value", "on"))
        elif tag == "input":
            self.posts.setdefault(name, []).append(a.get("value", ""))
        elif tag == "textarea":
            self._field = name
            self.posts[name] = [""]
        elif tag == "select":
            self._select = name
        elif tag == "option":
            self.offers.setdefault(name, []).append(a.get("value", ""))
            if "selected" in a or name not in self.posts:
                self.posts[name] = [a.get("value", "")]

    def handle_endtag(self, tag: str) -> None:
        if tag in ("script", "style", "title"):
            self._quiet = False
        if tag == "textarea":
            self._field = ""
        if tag == "form":
            self._inside = False

    def handle_data(self, data: str) -> None:
        if self._field:
            self.posts[self._field][0] += data.removeprefix("\n")
        if not self._quiet:
            self.words.append(data)

    @property
    def text(self) -> str:
        return re.sub(r"\s+", " ", " ".join(self.words)).strip()


def page_of(answer: Any) -> Page:
    return Page(answer.content.decode())


def text_of(answer: Any) -> str:
    """What stands on the page, in one line."""
    return page_of(answer).text


def filled(client: Client, url: str, **fields: Any) -> dict[str, Any]:
    """What the browser posts from the page at this address once these fields are filled in."""
    answer = client.get(url)
    assert answer.status_code == 200, (url, answer.status_code)
    return page_of(answer).posts | fields


def send(client: Client, url: str, **fields: Any) -> Any:
    """Open the page, fill it in and send it."""
    return client.post(url, filled(client, url, **fields))
