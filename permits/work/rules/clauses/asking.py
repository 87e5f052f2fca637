"""Rules about asking for a permit, issuing, accepting, naming people, telling them, and cancelling."""

from __future__ import annotations

from . import published as p
from .rule import RECORD, SITE_POLICY, Rule, Topic

ASKING = Topic(
    "Ask for a permit, issue it, accept it",
    {
        "no-zone": Rule(
            "Every zone that a body part will be in is named.", "Whoever asks.", (p.NAMED_PEOPLE,)
        ),
        "no-such-zone": Rule(
            "Each zone is one of this site.", "Whoever asks chooses from the list.", (RECORD,)
        ),
        "no-such-node": Rule(
            "What is to stay live is part of this site.", "Whoever asks chooses from the list.", (RECORD,)
        ),
        "window-backwards": Rule(
            "The permit ends after it starts.", "Whoever asks chooses a later end.", (RECORD,)
        ),
        "window-past": Rule(
            "The end lies ahead, and an extension makes the time longer.",
            "Whoever asks chooses a later end.",
            (RECORD,),
        ),
        "window-too-long": Rule(
            "A permit, an extension or a sanction runs no longer than the site allows.",
            "Whoever asks chooses an earlier end; an issuer may extend later.",
            (p.EXTENSION, SITE_POLICY),
        ),
        "keep-live-conflict": Rule(
            "What must stay live does not feed what must be dead.",
            "Whoever asks leaves one of the two out.",
            (p.ALL_DEVICES, p.FROM_ALL_SOURCES),
        ),
        "cannot-isolate": Rule(
            "On every way from a supply to the zones there is something that can be locked.",
            "A safety officer has an isolator fitted.",
            (p.ALL_DEVICES, p.ISOLATING_DEVICE),
        ),
        "no-procedure": Rule(
            "Each machine has an approved written procedure, always.",
            "One officer drafts it and another approves it.",
            (p.WRITTEN, SITE_POLICY),
        ),
        "procedure-too-narrow": Rule(
            "The procedure covers the zones of the permit.",
            "An officer drafts a revision that does.",
            (p.NAMES_STEPS,),
        ),
        "procedure-unproven": Rule(
            "The procedure still isolates its zones in the plant as it is.",
            "An officer drafts a new revision.",
            (p.NAMES_STEPS, p.ALL_DEVICES),
        ),
        "plan-no-longer-isolates": Rule(
            "The permit's plan still isolates its zones in the plant as it is.",
            "Whoever asked cancels it and asks again: the plan is made anew.",
            (p.ALL_DEVICES, p.FROM_ALL_SOURCES),
        ),
        "no-coordinator": Rule(
            "Where several permits are open on one machine, one person coordinates them.",
            "The issuer names one.",
            (p.COORDINATOR,),
        ),
        "another-coordinator": Rule(
            "All permits on one machine name the same coordinator.",
            "The issuer names the one that the others have.",
            (p.COORDINATOR,),
        ),
        "wanted-live": Rule(
            "Shown before the issuer signs, and refuses nothing: another permit may energise a point of this "
            "one for a test.",
            "The two holders agree first.",
            (p.CROSS_REFERENCE,),
        ),
        "shared-point": Rule(
            "Shown before the issuer signs, and refuses nothing: another permit holds the same point.",
            "The two holders agree first.",
            (p.CROSS_REFERENCE, p.CERTIFICATE),
        ),
        "kept-live": Rule(
            "Shown before the issuer signs, and refuses nothing: one permit makes dead what another needs "
            "live.",
            "The two holders agree first.",
            (p.CROSS_REFERENCE,),
        ),
        "not-understood": Rule(
            "Whoever takes charge confirms that they know the energies, the hazards and the means of "
            "control.",
            "They read the plan, then confirm.",
            (p.KNOWS,),
        ),
        "already-named": Rule("Each person is named once.", "Nothing is left to do.", (RECORD,)),
        "no-such-notice": Rule(
            "The notice is one of this permit.", "Whoever asks chooses from the list.", (RECORD,)
        ),
        "acknowledged-already": Rule(
            "Each person acknowledges a notice once.", "Nothing is left to do.", (RECORD,)
        ),
        "work-has-begun": Rule(
            "A permit under which someone was signed on, or a test was sanctioned, ends by hand-back, so "
            "that the machine is looked at.",
            "The holder hands it back.",
            (p.AREA_INSPECTED, SITE_POLICY),
        ),
    },
)

AMENDING = Topic(
    "Add points to a plan",
    {
        "no-point": Rule("A point is named.", "Whoever asks names it.", (RECORD,)),
        "in-plan-already": Rule(
            "The point is not in the plan yet. Points are added, never taken away.",
            "The issuer leaves it out.",
            (RECORD,),
        ),
        "not-lockable": Rule(
            "A point to lock is an isolator that can be locked here.",
            "The issuer chooses from the plant's lockable isolators.",
            (p.ISOLATING_DEVICE, p.TAG_OR_LOCK),
        ),
        "not-releasable": Rule(
            "A point to release is a store that can be released.",
            "The issuer chooses from the plant's stores.",
            (p.STORED,),
        ),
    },
)
