"""A signed-in person's phone that speaks HTTP to a running server: no browser, nothing followed by itself."""

from __future__ import annotations

import re
import urllib.error
import urllib.parse
import urllib.request
from dataclasses import dataclass, field
from http.cookiejar import CookieJar
from typing import Any
from uuid import uuid4

from tests.cast import PASSWORD

PATIENCE_S = 40


class Unfollowed(urllib.request.HTTPRedirectHandler):
    """A redirect is an answer: the request was carried out."""

    def redirect_request(self, *args: Any, **kwargs: Any) -> None:
        return None


@dataclass(frozen=True)
class Answer:
    status: int
    text: str
    headers: Any


@dataclass
class Phone:
    """`get` and `post` raise OSError where the server breaks off or is not there."""

    address: str
    name: str
    jar: CookieJar = field(default_factory=CookieJar)
    shown: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        cookies = urllib.request.HTTPCookieProcessor(self.jar)
        self.opener = urllib.request.build_opener(cookies, Unfollowed)

    def ask(self, path: str, posted: dict[str, Any] | None) -> Answer:
        data = None if posted is None else urllib.parse.urlencode(posted, doseq=True).encode()
        try:
            with self.opener.open(self.address + path, data, timeout=PATIENCE_S) as found:
                return Answer(found.status, found.read().decode(), found.headers)
        except urllib.error.HTTPError as error:
            with error:
                return Answer(error.code, error.read().decode(), error.headers)

    def get(self, path: str) -> Answer:
        return self.ask(path, None)

    def post(self, path: str, **fields: Any) -> Answer:
        token = next(cookie.value for cookie in self.jar if cookie.name == "csrftoken")
        return self.ask(path, {"csrfmiddlewaretoken": token, **fields})

    def try_to_sign_in(self) -> Answer:
        self.get("/sign-in/")  # for the cookie that every form needs
        return self.post("/sign-in/", sign_in=self.name, password=PASSWORD[self.name])

    def sign_in(self) -> Phone:
        answer = self.try_to_sign_in()
        assert answer.status == 302, answer.text
        return self

    def open_page(self, permit: str) -> None:
        """Keeps what the page of the notice showed, to send it from there."""
        text = self.get(f"/permits/{permit}/tell/").text
        self.shown[permit] = re.findall(r'name="seen" value="(\d+)"', text)[0]

    def tell(self, permit: str, key: str = "") -> Answer:
        """One small command: a notice is recorded under the permit."""
        if permit not in self.shown:
            self.open_page(permit)
        return self.post(
            f"/permits/{permit}/tell/", key=key or str(uuid4()), whom="operators of line 3", how="in person",
            seen=self.shown[permit],
        )  # fmt: skip

    def ask_for_permit(self, key: str) -> Answer:
        """One large command: a plan is worked out, a permit and its rows are made."""
        return self.post(
            "/permits/new/C1/", key=key, zones=["C1-CHAMBER"], kind_of_work="Cleaning", reason="Chips",
            starts_in=0, hours=4,
        )  # fmt: skip
