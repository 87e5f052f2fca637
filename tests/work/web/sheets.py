"""A page as someone reads it: its forms with every field and choice, its ways on, what it says is missing."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

from tests.work.reading_pages import FORM

QUIET = ("script", "style", "title")
HEADINGS = ("h1", "h2", "h3")
LISTS = ("ul", "ol")
# What a page shows when a value is missing, or was escaped twice, or a template's own marks were left in it.
ARTEFACT = re.compile(
    r"\bNone\b(?! is\b| ticked\b|: no\b)|&lt;|&amp;(lt|gt|amp|#|quot)|\{\{|\}\}|\{%|datetime\.|Decimal\("
)
CAUTION = "A record and a check, never an interlock.", "a record and a check, never an interlock."


@dataclass
class Field:
    """`kind`: "text", "radio", "checkbox", "select", "hidden", …; `offers`: the values to choose from.

    `under`: the heading that it stands under.
    """

    kind: str
    under: str = ""
    offers: list[str] = field(default_factory=list)


@dataclass
class Form:
    """`values`: what the browser would post if nothing is filled in."""

    id: str
    method: str
    action: str
    fields: dict[str, Field] = field(default_factory=dict)
    values: dict[str, list[str]] = field(default_factory=dict)


@dataclass
class Unmet:
    """One condition of a refusal: its sentences, and its name among the rules."""

    code: str = ""
    says: list[str] = field(default_factory=list)


class Sheet(HTMLParser):
    """A parsed page. `next`: the address of the one next step, "" while waiting; `choices`: all links."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.html, self.forms, self.unmet, self.links = html, [], [], []
        self.next, self.heading, self.words = "", "", []
        self._form: Form | None = None
        self._field = self._select = ""
        self._quiet = self._action = self._head = self._says = False
        self._unmet = 0
        self.feed(html)
        self.close()

    @property
    def text(self) -> str:
        return re.sub(r"\s+", " ", " ".join(self.words)).strip()

    @property
    def form(self) -> Form | None:
        """The form that the pinned button sends, or the only one that posts here."""
        return next((one for one in self.forms if one.id == FORM), None)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        a = {name: value or "" for name, value in attributes}
        classes = a.get("class", "").split()
        self._quiet = self._quiet or tag in QUIET
        if tag in HEADINGS:
            self._head, self.heading = True, ""
        self._action = self._action or (tag == "section" and "action" in classes)
        if tag in LISTS and (self._unmet or "unmet" in classes):
            self._unmet += 1  # a path inside a condition is a list of its own
        if self._unmet == 1:
            self.of_the_refusal(tag, a)
        if tag == "a" and a.get("href"):
            self.links.append(a["href"])
            if self._action and "primary" in classes:
                self.next = a["href"]
        if tag == "form":
            self._form = Form(a.get("id", ""), a.get("method", "get"), a.get("action", ""))
            self.forms.append(self._form)
        elif self._form is not None:
            self.of_the_form(self._form, tag, a)

    def of_the_refusal(self, tag: str, a: dict[str, str]) -> None:
        if tag == "li":
            self.unmet.append(Unmet())
        elif self.unmet and tag == "a" and "#" in a.get("href", ""):
            self.unmet[-1].code = a["href"].partition("#")[2]
        elif self.unmet and tag == "p":
            self.unmet[-1].says.append("")
            self._says = True

    def of_the_form(self, form: Form, tag: str, a: dict[str, str]) -> None:
        name, value = a.get("name", ""), a.get("value", "")
        if tag == "option":
            form.fields[self._select].offers.append(value)
            if "selected" in a or self._select not in form.values:
                form.values[self._select] = [value]
        elif not name:
            return
        elif tag == "select":
            self._select = name
            form.fields[name] = Field("select", self.heading)
        elif tag == "textarea":
            self._field = name
            form.fields[name], form.values[name] = Field("text", self.heading), [""]
        elif tag == "input" and a.get("type") in ("checkbox", "radio"):
            form.fields.setdefault(name, Field(a["type"], self.heading)).offers.append(a.get("value", "on"))
            if "checked" in a:
                form.values.setdefault(name, []).append(a.get("value", "on"))
        elif tag == "input" and a.get("type") != "file":
            form.fields[name] = Field(a.get("type", "text"), self.heading)
            form.values.setdefault(name, []).append(value)

    def handle_endtag(self, tag: str) -> None:
        self._quiet = self._quiet and tag not in QUIET
        self._head = self._head and tag not in HEADINGS
        self._action = self._action and tag != "section"
        if tag in LISTS and self._unmet:
            self._unmet -= 1
        self._says = self._says and tag != "p"
        if tag == "textarea":
            self._field = ""
        if tag == "form":
            self._form = None

    def handle_data(self, data: str) -> None:
        if self._form is not None and self._field:
            self._form.values[self._field][0] += data.removeprefix("\n")
        if self._head:
            self.heading += data
        if self._says:
            self.unmet[-1].says[-1] += data.strip()
        if not self._quiet:
            self.words.append(data)
