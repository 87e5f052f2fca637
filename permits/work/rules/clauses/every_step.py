"""Rules that every step meets, or most of them, and those about who acts."""

from __future__ import annotations

from . import published as p
from .rule import COMMON_PRACTICE, RECORD, SITE_POLICY, Rule, Topic

EVERY_STEP = Topic(
    "Asked of every step",
    {
        "exposes-crew": Rule(
            "While anyone is signed on in a zone, under any permit, no step lets energy reach that zone.",
            "The person inside signs off first, or the points on the path are left out.",
            (p.NO_START, p.FROM_ALL_SOURCES, p.STAYS_DEAD),
        ),
        "relies-on-dead-upstream": Rule(
            "A point that was tested with nothing upstream is not fed again while someone relies on it.",
            "The person inside signs off first; then the point is tested again.",
            (p.VERIFY, SITE_POLICY),
        ),
        "held-up": Rule(
            "Nothing holds the permit up: no stop, no suspension, no change of the plant that exposes it.",
            "A safety officer lifts a stop; the holder, an issuer or an officer lifts a suspension.",
            (p.SUSPENDED, SITE_POLICY),
        ),
        "emergency": Rule(
            "No emergency is declared for the site.", "A safety officer ends it.", (SITE_POLICY,)
        ),
        "paper-mode": Rule(
            "What happened on paper while the server was down is entered before work goes on here.",
            "Those who were there enter it, each with a second person; then an officer ends paper mode.",
            (p.TRUE_RECORD, SITE_POLICY),
        ),
        "page-stale": Rule(
            "A step is decided on what the person saw. Where it takes protection away, lets someone in or "
            "signs, nothing may have happened since its page was shown; where that page shows the plan, nor "
            "may the plant that it shows have changed, or a procedure of its machines. Any other is refused "
            "for what each says, and after a turn: the permit was issued, accepted, taken over, stopped, "
            "lifted, handed back or ended, its time ran out, its isolation was lost, its plan grew, a test "
            "cycle began, was signed ready or ended, power came back, or something from paper was entered.",
            "Whoever asks looks at what changed, measures again where it is a reading, and sends it again.",
            (RECORD, SITE_POLICY),
        ),
        "clock-behind": Rule(
            "The server's clock is not behind the record's last entry: otherwise one of the two is wrong, "
            "and no wait, no confirmation and no deadline can be told.",
            "An administrator sets the clock right. What only makes things safer is accepted meanwhile: "
            "stop, suspend, declare an emergency, sign off, lock, isolate again, end a sanction, tell, hand "
            "over.",
            (p.TRUE_RECORD, SITE_POLICY),
        ),
        "no-such-permit": Rule(
            "The permit is open at this site.", "Whoever asks chooses it from the board.", (RECORD,)
        ),
        "wrong-phase": Rule(
            "The step comes in its turn: each belongs to certain phases of the permit.",
            "Whoever is named by the permit's next step.",
            (p.STEPS_ENFORCED,),
        ),
        "expired": Rule(
            "The permit's time is not over.",
            "An issuer extends it. The ways out stay open: sign off, hand back, take your own lock off.",
            (p.NAMED_PEOPLE, SITE_POLICY),
        ),
        "says-too-little": Rule(
            "What the step asks for in words is written down: a reason, how it was done, who was told.",
            "Whoever asks writes it in a few words.",
            (p.TRUE_RECORD,),
        ),
    },
)

PEOPLE = Topic(
    "Who may act",
    {
        "no-role": Rule(
            "Whoever acts, and whoever they name, has the role for it at this site.",
            "Someone who has the role. An administrator gives roles.",
            (p.AUTHORITY,),
        ),
        "not-holder": Rule(
            "What the person in charge of the work does is done by the holder.",
            "The holder.",
            (p.IN_CHARGE,),
        ),
        "not-named": Rule(
            "Whoever acts under a permit is named on it.",
            "Its holder, or an issuer, names them as crew.",
            (p.NAMED_PEOPLE, p.EXPOSURE),
        ),
        "not-authorised": Rule(
            "Whoever locks, tests, goes in or takes charge is authorised for every machine of the permit, "
            "in date.",
            "A safety officer authorises them.",
            (p.ONLY_AUTHORISED, p.TRAINED),
        ),
        "zone-of-no-machine": Rule(
            "Every zone belongs to a machine: authorisations and procedures are for machines.",
            "A safety officer says in the plant which machine it belongs to.",
            (p.ONLY_AUTHORISED, SITE_POLICY),
        ),
        "not-hosted": Rule(
            "A contractor works while one of the site's own people hosts them.",
            "A safety officer gives them a host.",
            (p.CONTRACTORS, SITE_POLICY),
        ),
        "hosting-over": Rule(
            "A contractor works on the days for which they are hosted.",
            "A safety officer gives them a host for today.",
            (p.CONTRACTORS, SITE_POLICY),
        ),
        "not-told-back": Rule(
            "Someone whose lock was taken off while they were absent has been told, before they lock, go in "
            "or take charge.",
            "An officer or an issuer tells them and records it.",
            (p.ABSENT_KNOWS,),
        ),
        "own-issue": Rule(
            "Who issues, extends, amends or sanctions and who holds are two people. A site may allow one; "
            "each such case is an exception in its records.",
            "Another issuer.",
            (p.TWO_PEOPLE, SITE_POLICY),
        ),
        "no-such-person": Rule(
            "The person named is of this site.", "Whoever asks chooses from the list of people.", (RECORD,)
        ),
        "crew-signed-on": Rule(
            "Nobody is signed on while power comes back, the controls are tried, the machine is handed back, "
            "a stop is lifted, or a last lock comes off.",
            "The person inside comes out, takes their padlock off the box and signs off.",
            (p.PEOPLE_CLEAR, p.TESTING),
        ),
        "padlock-of-another": Rule(
            "Everyone uses their own padlocks and danger tags: a number belongs to one person of the site.",
            "Whoever locks takes one of their own.",
            (p.OWN_PADLOCKS, p.WHOSE_LOCK),
        ),
        "padlock-in-use": Rule(
            "A padlock hangs in one place at a time.",
            "Whoever locks checks the number, or takes another of their own.",
            (p.OWN_PADLOCKS,),
        ),
        "no-padlock": Rule(
            "A padlock of one's own hangs there, and its number is given. A name on a screen is not a lock.",
            "Whoever acts hangs it first.",
            (p.PERSONAL_LOCK, p.NO_LOG, p.WHOSE_LOCK),
        ),
        "no-tag": Rule(
            "A danger tag hangs with the lock, and its number is given.",
            "Whoever locks hangs it.",
            (p.LOCK_AND_TAG, p.TAG_WARNS),
        ),
        "not-confirmed-clear": Rule(
            "Someone who sees it has confirmed that each danger area is clear of people, the outfeed always.",
            "Anyone who sees the area.",
            (p.PEOPLE_CLEAR, COMMON_PRACTICE),
        ),
        "confirmation-stale": Rule(
            "The confirmation is fresh: not older than the site's minutes, and nobody signed on since.",
            "Anyone who sees the area looks again and confirms it.",
            (p.PEOPLE_CLEAR, SITE_POLICY),
        ),
    },
)
