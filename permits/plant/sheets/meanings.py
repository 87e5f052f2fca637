"""What each column means, in words for the first sheet; `rules/plantfile.py` says the same of its members."""

from __future__ import annotations

_WAIT = "seconds to wait before the test counts; empty means 0"

MEANINGS: dict[str, dict[str, str]] = {
    "plant": {
        "plant": "the site's name",
        "code": "the site's short name, A to Z and 0 to 9",
        "note": "anything worth knowing about the plant",
        "tag_out": "yes, where a tag with its extra measure may stand for a lock where none fits; empty: no",
    },
    "machines": {
        "id": "1 to 64 characters, unique among machines",
        "name": "what people call it",
        "designation": "reference designation, such as =L3.C1",
        "place": "where it stands",
        "hazards": "what it can do to a person, in words",
    },
    "nodes": {
        "id": "1 to 64 characters, unique among nodes; never changed: tags, plans and the ledger name it",
        "kind": "what it is",
        "label": "what people call it; the id where empty",
        "effort": "what it costs to lock or release it; empty means 1. The plan with the least sum is taken",
        "lockable": "isolators: no, where nothing can hold it off; empty means yes",
        "releasable": "stores: no, where nothing can make it harmless; empty means yes",
        "sequence": "points are locked, and stores released, in this order; empty means 0",
        "machine": "id of the machine it belongs to; empty where it belongs to none",
        "designation": "reference designation, such as =L3.C1+H2-QB1",
        "place": "where to walk to",
        "medium": "the kind of energy",
        "magnitude": "how much, in words, such as 400 V AC, 63 A",
        "device": "what it is, such as load-break disconnector. What only controls energy is a carrier",
        "test quantity": "isolators and stores: what is read to prove zero energy, such as voltage",
        "test unit": "its unit, such as V",
        "test limit": "the highest reading that passes, such as 0.05; kept exactly",
        "test conductors": (
            "electrical: the conductors, such as L1 L2 L3 PE; every pair is measured. Or, in the next column:"
        ),
        "test combinations": "electrical: the pairs themselves, such as L1-L2 L1-PE. Neither: one reading",
        "release method": "stores: what is done to make it harmless",
        "release wait_s": _WAIT,
        "release undoable": "yes, where someone could take it away again: a pin, an earth; empty means no",
        "release recheck_min": "minutes after which it is tested again, where it can recharge; empty: never",
        "danger_area": "zones: yes, where it must be clear of people before energy returns; empty means no",
        "outfeed": "zones: yes, where parts are thrown or carried out; empty means no",
        "grade": "isolators: how surely it isolates; empty: not stated",
        "out_of_service": "isolators: yes, while it must not be relied on; empty means no",
        "tag_only measure": "isolators with lockable no: where a tag may hang instead, what is done besides",
        "physics kind": "stores: what holds the energy; its figures stand in the columns after it",
    },
    "links": {
        "from": "id of the node that energy comes from",
        "to": "id of the node that it passes to",
        "both": "yes, where it can also pass back; empty means no",
    },
}
