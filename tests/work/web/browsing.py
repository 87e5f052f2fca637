"""One person's browser: every answer is read as it comes, and held against what the ledgers say of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.test import Client

from permits.ledger.models import Entry, Receipt
from tests.work.web.filling import Hand, Typed, fill
from tests.work.web.sheets import ARTEFACT, CAUTION, Sheet
from tests.work.web.watching import Watch, asked_for

SIGN_IN = "/sign-in/"
FRAGMENT = "/now/"  # what a live page asks for again: parts of it, without its foot
NO_ENTRY = ("/find/", "/messages/read/", "/sign-in/", "/sign-out/", "/site/", "/me/end-sessions/")
OVER = "Nothing changes any more."


@dataclass(frozen=True)
class Reply:
    """`sheet` is None for what is no page. `wrote`: the entries that this request made at any site."""

    url: str
    status: int
    sheet: Sheet | None
    to: str
    wrote: list[Entry]

    @property
    def codes(self) -> set[str]:
        return {unmet.code for unmet in self.sheet.unmet} if self.sheet else set()

    @property
    def links(self) -> list[str]:
        return self.sheet.links if self.sheet else []

    @property
    def said(self) -> list[str]:
        """What the refusal says, sentence by sentence."""
        return [said for unmet in self.sheet.unmet for said in unmet.says] if self.sheet else []

    @property
    def page(self) -> Sheet:
        assert self.sheet is not None, (self.url, self.status)
        return self.sheet


class Browser:
    """`watches`: every site's. `names`: everyone whom a refusal could name."""

    def __init__(self, sign_in: str, watches: list[Watch], names: list[str]) -> None:
        self.sign_in, self.watches, self.names = sign_in, watches, names
        self.client = Client()

    # ── requests ────────────────────────────────────────────────────────────────────────────────────────

    def get(self, url: str) -> Reply:
        """Reading writes nothing, whoever reads what."""
        reply = self.signed_in(lambda: self.reply(url, self.client.get(url)), url)
        assert not reply.wrote, f"GET {url} wrote {reply.wrote[0].kind}"
        return reply

    def post(self, url: str, typed: Typed) -> Reply:
        """An entry for what is answered as done, none for what is refused or was done before."""
        repeat = Receipt.objects.filter(key__in=typed.get("key", [])[:1] if is_key(typed) else []).exists()
        reply = self.signed_in(lambda: self.reply(url, self.client.post(url, typed)), url)
        made = asked_for(reply.wrote)
        if reply.status >= 400:
            assert not made, f"POST {url} answered {reply.status} and wrote {made[0].kind}"
        elif not url.startswith(NO_ENTRY):
            assert made or repeat, f"POST {url} answered {reply.status} and wrote nothing"
            assert not (made and repeat), f"POST {url} again wrote {made[0].kind} again"
        return reply

    def signed_in(self, ask, url: str) -> Reply:
        """What is asked for, after signing in where the session is none, or has come to its end."""
        reply = ask()
        if reply.to.startswith(SIGN_IN):
            self.sign_in_now()
            reply = ask()
            assert not reply.to.startswith(SIGN_IN), f"{self.sign_in} signed in and is asked again for {url}"
        return reply

    def sign_in_now(self) -> None:
        page = self.reply(SIGN_IN, self.client.get(SIGN_IN)).page
        form = next(one for one in page.forms if "password" in one.fields)
        hand = Hand(self.sign_in, "", {}, frozenset(), None, "")  # type: ignore[arg-type]
        typed = fill(page, form, hand) | {"sign_in": [self.sign_in]}
        assert self.reply(SIGN_IN, self.client.post(SIGN_IN, typed)).status == 302

    # ── what came back ──────────────────────────────────────────────────────────────────────────────────

    def reply(self, url: str, answer: Any) -> Reply:
        assert answer.status_code < 500, (url, answer.status_code)
        wrote = [entry for watch in self.watches for entry in watch.new()]
        is_page = answer.get("Content-Type", "").startswith("text/html") and not answer.streaming
        html = answer.content.decode() if is_page else ""
        sheet = Sheet(html) if html.strip() else None
        if sheet:
            self.look_at(url, answer.status_code, sheet)
        return Reply(url, answer.status_code, sheet, answer.get("Location", ""), wrote)

    def look_at(self, url: str, status: int, sheet: Sheet) -> None:
        if not url.partition("?")[0].endswith(FRAGMENT):
            assert any(words in sheet.text for words in CAUTION), (url, status, "without the caution")
        for text in (sheet.html.partition("<body")[2], sheet.text):
            odd = ARTEFACT.search(text)
            assert odd is None, (url, status, text[max(odd.start() - 80, 0) : odd.end() + 80])
        if status == 409:
            assert list(self.without_a_way_on(sheet)) == [], (url, sheet.text)
        if status == 403:
            assert any(name in sheet.text for name in self.names) or "an administrator" in sheet.text

    @staticmethod
    def without_a_way_on(sheet: Sheet) -> Iterator[str]:
        """Each condition of a refusal says in full sentences what is missing, and who or what can help."""
        if not sheet.unmet:
            yield "no condition"
        for unmet in sheet.unmet:
            if len(unmet.says) < 2 or not unmet.says[1].endswith("."):
                yield " ".join(unmet.says)


def is_key(typed: Typed) -> bool:
    return len(typed.get("key", [""])[0]) == 36
