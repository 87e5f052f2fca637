"""Rules about the plant itself: what is in it, its procedures, its tags. The plant room asks them."""

from __future__ import annotations

from . import published as p
from .rule import RECORD, SITE_POLICY, Rule, Topic

WRITES = "The safety officer who writes it."

PROCEDURES = Topic(
    "Procedures",
    {
        "procedure-of-its-machine": Rule(
            "A procedure is for zones of its own machine, one at least, and names only what is in the plant.",
            WRITES,
            (p.NAMES_STEPS,),
        ),
        "nothing-isolates": Rule(
            "Every path of energy to the zones has an isolator that can be locked, or tagged where the site "
            "allows it.",
            "A safety officer has one fitted, or describes the one that is there.",
            (p.ISOLATING_DEVICE, p.TAG_OR_LOCK, p.FROM_ALL_SOURCES),
        ),
        "cannot-stay-live": Rule(
            "What has to stay live is not cut off by isolating the zones.",
            "The safety officer lets it go dead, or leaves the zone out.",
            (SITE_POLICY,),
        ),
        "points-as-chosen": Rule(
            "Points that an officer chooses can be locked, or released, now: all that were asked for, none "
            "that was ruled out.",
            WRITES,
            (p.ISOLATING_DEVICE, RECORD),
        ),
        "procedure-isolates": Rule(
            "The points of a procedure isolate its zones on the plant as it is, when it is written and again "
            "when it is approved.",
            "A safety officer writes a new revision.",
            (p.FROM_ALL_SOURCES, p.ALL_SOURCES),
        ),
        "procedure-in-full": Rule(
            "Every part of a procedure is written before it is approved.", WRITES, (p.WRITTEN, p.NAMES_STEPS)
        ),
        "own-approval": Rule(
            "Nobody approves a procedure that they wrote.", "Another safety officer.", (SITE_POLICY,)
        ),
        "no-draft": Rule(
            "A revision is approved once, while it is a draft.", "Nothing is left to do there.", (RECORD,)
        ),
    },
    asked="when a procedure is written or approved",
)

PLANT = Topic(
    "The plant",
    {
        "carries-lock": Rule(
            "Nothing leaves the plant while a lock hangs on it or an open permit names it.",
            "The lock's owner takes it off; the permit ends.",
            (p.CERTIFICATE, p.STAYS_DEAD),
        ),
        "limit-loosened": Rule(
            "The test of a point passes no more than the published limit: 60 V at an electrical point, and "
            "at a hot part the temperature that burns in the time of contact that is described.",
            "The safety officer gives that limit or a tighter one.",
            (p.RESIDUAL_VOLTAGE, p.BURNS),
        ),
        "line-loosened": Rule(
            "The lines above which stored energy counts as dangerous are the published ones or tighter.",
            "The safety officer gives that line or a tighter one.",
            (p.STORED, SITE_POLICY),
        ),
        "not-in-plant": Rule(
            "What is changed or taken out is in the plant.",
            "Whoever asks chooses from what is there.",
            (RECORD,),
        ),
    },
    asked="when the plant is changed",
)

TAGS = Topic(
    "Tags at the points",
    {
        "tag-for-point": Rule(
            "A tag is for an isolator or a store that is in the plant.",
            "A safety officer chooses one.",
            (RECORD,),
        ),
        "one-tag": Rule(
            "A point has one tag that leads to it; a new one withdraws the last.",
            "A safety officer issues it anew.",
            (RECORD,),
        ),
        "tag-with-reason": Rule(
            "A tag is issued anew once, with the reason.", "Whoever issues it writes why.", (RECORD,)
        ),
    },
    asked="when a tag is issued",
)
