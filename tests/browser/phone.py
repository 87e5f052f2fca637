"""One person's browser: the steps of a job as someone with gloves on would press them."""

import os
from dataclasses import dataclass, field
from typing import Any

from tests.cast import PASSWORD, PIN

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}
PICTURES = os.environ.get("PERMITS_PICTURES")  # a folder: every step leaves a picture there


@dataclass
class Phone:
    """A signed-in person's page. `do` opens the next step, fills what is named and presses the one action."""

    page: Any
    address: str
    name: str
    steps: int = 0

    def open(self, path: str) -> "Phone":
        response = self.page.goto(self.address + path)
        self.status = response.status
        return self

    def text(self) -> str:
        return self.page.inner_text("body")

    def band(self) -> str:
        return self.page.inner_text(".band-word")

    def next_title(self) -> str:
        assert self.page.locator(".next-body h2, .next-body h3").count(), self.text()
        return self.page.inner_text(".next-body h2, .next-body h3")

    def press_next(self) -> "Phone":
        """Press the pinned action of the permit's page: the one next step."""
        with self.page.expect_navigation():
            self.page.click(".action a.primary")
        return self

    def fill(self, **fields: Any) -> "Phone":
        for name, value in fields.items():
            self.enter(name, value)
        return self

    def enter(self, name: str, value: Any) -> None:
        found = self.page.locator(f"#the-form [name={name}]")
        kind = found.first.evaluate("e => e.type || e.tagName")
        if kind in ("checkbox", "radio"):
            for one in [value] if not isinstance(value, list | tuple) else value:
                if one is True:
                    found.first.check()
                else:
                    self.page.locator(f'#the-form [name={name}][value="{one}"]').check()
        elif kind.startswith("select"):
            found.select_option(value)
        else:
            found.fill(str(value))

    def send(self) -> "Phone":
        """Press the form's pinned button and wait for the answer."""
        with self.page.expect_navigation():
            self.page.click(".action button.primary")
        self.steps += 1
        if PICTURES:
            self.page.screenshot(path=f"{PICTURES}/{self.name}-{self.steps:02}.png")
        return self

    def do(self, **fields: Any) -> "Phone":
        """The next step in full: press it, fill its form, send it; fails where it was refused."""
        self.press_next().fill(**fields).send()
        refused = self.page.locator(".refusal, .error-summary")
        assert not refused.count(), refused.first.inner_text()
        return self

    def no_sideways_scroll(self) -> bool:
        return self.page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


@dataclass
class Browsers:
    """A browser context for each person, signed in once."""

    chromium: Any
    address: str
    open: dict[str, Phone] = field(default_factory=dict)

    def __getitem__(self, sign_in: str) -> Phone:
        if sign_in not in self.open:
            context = self.chromium.new_context(viewport=PHONE, locale="en-GB", timezone_id="Europe/London")
            page = context.new_page()
            page.set_default_timeout(15_000)
            page.goto(self.address + "/sign-in/")
            page.fill("[name=sign_in]", sign_in)
            page.fill("[name=password]", PASSWORD[sign_in])
            page.click("button[type=submit], input[type=submit]")
            page.wait_for_url(lambda url: "sign-in" not in url)
            self.open[sign_in] = Phone(page, self.address, sign_in)
        return self.open[sign_in]

    def close(self) -> None:
        for phone in self.open.values():
            phone.page.context.close()


def pin(sign_in: str) -> str:
    return PIN[sign_in]
