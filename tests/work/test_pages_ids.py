"""Every page of the site, opened by each role: no id stands on it twice, and every id that is named is there.

HTML, "The id attribute": its value is unique in its tree; a label's `for` and `aria-describedby` name ids.
"""

from __future__ import annotations

from collections import Counter
from html.parser import HTMLParser

import pytest
from django.urls import reverse

from permits.plant.models import Tag
from tests.test_access import ROUTES
from tests.work.forms_otherwise import on_paper

EVERYBODY = ("odo", "szczesny", "maud", "ilse", "darya", "pia")
NAMES_IDS = ("for", "aria-describedby", "aria-labelledby", "form")
LEAST = {"odo": 40, "szczesny": 30, "maud": 60, "ilse": 15, "darya": 15, "pia": 15}  # pages that each opens


class Ids(HTMLParser):
    """The ids that a page has, and those that something on it names."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.has: Counter[str] = Counter()
        self.named: set[str] = set()
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        for name, value in attributes:
            if name == "id":
                self.has[value or ""] += 1
            elif name in NAMES_IDS:
                self.named |= set((value or "").split())


def addresses(job, person) -> list[str]:
    token = Tag.objects.get(node__code="C1-QB1", withdrawn_at=None).token
    stands_for = {
        "reference": job.id, "machine": "C1", "code": "C1-QB1", "token": token, "ref": person("wim").ref,
        "kind": "told",
    }  # fmt: skip
    return [
        reverse(name, kwargs={part: stands_for.get(part, "1") for part in parts})
        for name, (_, parts) in ROUTES.items()
    ]


@pytest.mark.parametrize("who", EVERYBODY)
@pytest.mark.parametrize("stage", ["proven", "on paper"])
def test_no_page_has_an_id_twice_or_names_one_that_is_not_there(job, phone, person, who, stage):
    job.to("proven")
    if stage == "on paper":
        on_paper(job)
    client, opened, wrong = phone(who), 0, {}
    for address in addresses(job, person):
        answer = client.get(address)
        if not answer.headers.get("Content-Type", "").startswith("text/html") or answer.status_code == 302:
            continue
        opened += answer.status_code in (200, 409, 422)
        ids = Ids(answer.content.decode())
        twice = [id for id, times in ids.has.items() if times > 1]
        if twice or not ids.named <= set(ids.has):
            wrong[address] = (twice, sorted(ids.named - set(ids.has)))
    assert wrong == {}
    assert opened >= LEAST[who]
