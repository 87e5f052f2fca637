"""The file of entries is checked as its own header says, with hashlib and json alone."""

import json
from hashlib import sha256

import pytest

from permits.ledger.models import Entry
from permits.records.exports import FORMAT, HOW_TO_READ
from tests.records import job as jobs

pytestmark = pytest.mark.django_db


@pytest.fixture
def file(job, darya, signed_in):
    jobs.closed(job)
    answer = signed_in(darya).get("/records/P-1/entries.json")
    assert answer["Content-Type"] == "application/json"
    assert answer["Content-Disposition"] == 'attachment; filename="QUILLFEN-P-1-entries.json"'
    return json.loads(answer.content)


def flaws(file):
    """What someone finds who has nothing but the file. The leaf hash is that of RFC 9162 §2.1.1."""
    before = None
    for entry in file["entries"]:
        body = json.loads(entry["body"])
        if sha256(b"\x00" + entry["body"].encode()).hexdigest() != entry["digest"]:
            yield f"entry {entry['number']}: digest"
        if (body["number"], body["previous"], body["ledger"]) != (
            entry["number"], entry["previous"], file["ledger"],
        ):  # fmt: skip
            yield f"entry {entry['number']}: members"
        if body["about"] != f"permit:{file['permit']}":
            yield f"entry {entry['number']}: about"
        if before and entry["number"] <= before["number"]:
            yield f"entry {entry['number']}: order"
        if before and entry["number"] == before["number"] + 1 and entry["previous"] != before["digest"]:
            yield f"entry {entry['number']}: chain"
        before = entry


def test_the_file_holds_the_whole_permit_and_stands_the_check(file, job):
    assert (file["format"], file["ledger"], file["permit"]) == (FORMAT, "QUILLFEN", "P-1")
    assert list(flaws(file)) == []
    rows = Entry.objects.filter(head=job.site.head_id, about="permit:P-1").order_by("number")
    assert [one["body"] for one in file["entries"]] == [row.body for row in rows]
    job.site.head.refresh_from_db()
    assert file["head"] == {"number": job.site.head.number, "digest": job.site.head.digest}


def test_the_header_explains_every_member(file):
    named = {name.removeprefix("entries[].") for name in file["how_to_read"]}
    assert named >= (set(file) | set(file["entries"][0])) - {"format", "how_to_read", "how_to_check", "site"}
    assert file["how_to_read"] == HOW_TO_READ


@pytest.mark.parametrize("old", ['"padlock":"101"', "Boards come out too long"])
def test_a_changed_word_is_found(file, old):
    changed = next(one for one in file["entries"] if old in one["body"])
    changed["body"] = changed["body"].replace(old, old.replace("1", "2").replace("long", "wide"))
    assert list(flaws(file)) == [f"entry {changed['number']}: digest"]


def test_an_entry_left_out_or_moved_is_found(file):
    missing = file["entries"].pop(3)
    assert list(flaws(file)) == []  # numbers may have gaps: only the server's own check can tell
    file["entries"].append(missing)
    assert list(flaws(file)) == [f"entry {missing['number']}: order"]


def test_names_are_not_in_the_file(file):
    assert "Kestrelman" not in json.dumps(file["entries"], ensure_ascii=False)
