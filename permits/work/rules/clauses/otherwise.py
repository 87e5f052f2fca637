"""Rules about stops and emergencies, handing over, absent people, and paper."""

from __future__ import annotations

from . import published as p
from .rule import RECORD, SITE_POLICY, Rule, Topic

STOPPING = Topic(
    "Stop and lift",
    {
        "not-held-up": Rule("Something holds the permit up.", "Nothing is left to do.", (RECORD,)),
        "may-not-lift": Rule(
            "A stop is lifted by an officer; a suspension also by the holder or an issuer.",
            "A safety officer; for a suspension also the holder or an issuer.",
            (p.SUSPENDED, SITE_POLICY),
        ),
        "emergency-already": Rule(
            "One emergency is declared at a time.", "Nothing is left to do.", (RECORD,)
        ),
        "no-emergency": Rule("An emergency is declared.", "Nothing is left to do.", (RECORD,)),
    },
)

HANDING_OVER = Topic(
    "Hand over",
    {
        "holder-already": Rule(
            "The next holder is another person.", "Whoever asks chooses another.", (RECORD,)
        ),
        "no-handover": Rule("The permit is being handed over.", "Nothing is left to do.", (RECORD,)),
        "not-offered": Rule(
            "Whoever takes over is the person to whom it was handed.",
            "The holder hands it over, or an officer names a new holder.",
            (p.SHIFT, p.IN_CHARGE),
        ),
        "no-own-lock": Rule(
            "The incoming lock goes on before the outgoing one comes off, point by point.",
            "Whoever takes over hangs their own lock there first.",
            (p.SHIFT,),
        ),
    },
)

ABSENT = Topic(
    "Stand in for who is absent",
    {
        "own-lock": Rule(
            "The lock is that of someone absent.", "Its owner takes it off as their own.", (p.OWN_LOCK,)
        ),
        "no-second-person": Rule(
            "A second person takes part and signs.",
            "Someone else of this site.",
            (SITE_POLICY,),
        ),
        "no-such-lock": Rule(
            "A lock of that person hangs there.", "Whoever asks chooses from the list.", (RECORD,)
        ),
        "owner-signed-on": Rule(
            "Its owner is signed on nowhere: the zones were searched and the box lock came off first.",
            "They sign off; or an officer has the zones searched and signs them off.",
            (p.ABSENT_NOT_HERE, p.ABSENT_SOUGHT, SITE_POLICY),
        ),
        "nothing-to-tell": Rule(
            "A lock of theirs was taken off and they were not told yet.", "Nothing is left to do.", (RECORD,)
        ),
        "told-oneself": Rule(
            "Someone else tells them: nobody records it for themselves.",
            "Another officer or issuer.",
            (p.ABSENT_KNOWS, SITE_POLICY),
        ),
    },
)

ON_PAPER = Topic(
    "On paper, while the server was down",
    {
        "paper-already": Rule("Paper mode is declared once.", "Nothing is left to do.", (RECORD,)),
        "not-yet": Rule(
            "Paper mode began in the past.", "The officer enters when the server went down.", (RECORD,)
        ),
        "not-on-paper": Rule(
            "Paper mode is declared; otherwise what happens is entered when it happens.",
            "Only an officer declares it.",
            (p.TRUE_RECORD, SITE_POLICY),
        ),
        "too-long-ago": Rule(
            "Paper mode lies at most seven days back.",
            "The officer enters when the server went down.",
            (SITE_POLICY,),
        ),
        "before-the-permit": Rule(
            "What is entered late happened after the permit was asked for.",
            "Whoever enters it gives the time that stands on the form.",
            (p.TRUE_RECORD,),
        ),
        "before-it-hung": Rule(
            "A lock came off after it was put on.",
            "Whoever enters it gives the time that stands on the form.",
            (p.TRUE_RECORD,),
        ),
        "before-they-went-in": Rule(
            "Who came out on paper had gone in before.",
            "Whoever enters it gives the time that stands on the form; who is inside signs off.",
            (p.TRUE_RECORD,),
        ),
        "inside-on-paper": Rule(
            "When paper mode ends, nobody is in a zone who is not signed on.",
            "Who went in on paper comes out, and signs on when they go in again.",
            (p.EXPOSURE, SITE_POLICY),
        ),
        "check-again": Rule(
            "After a stop the machine is looked at again; a check from before it is not entered late.",
            "Someone signed on looks again and records it.",
            (SITE_POLICY,),
        ),
        "tell-again-now": Rule(
            "That the machine starts again is told after the last lock is off, and not entered late.",
            "The holder tells affected people again and records it.",
            (p.TRUE_RECORD, SITE_POLICY),
        ),
        "not-in-paper-time": Rule(
            "What is entered late happened while the site was on paper.",
            "Whoever enters it gives the time that stands on the form.",
            (p.TRUE_RECORD,),
        ),
    },
)
