"""The published clauses that the rules rest on, in our words, each marked with how surely it is known.

Paraphrased; read the source itself before relying on a point of law. Local codes and the employer's own
procedure come first.
"""

from __future__ import annotations

from .rule import Clause, Sure

READ, SECOND_HAND, FROM_MEMORY = Sure.READ, Sure.SECOND_HAND, Sure.FROM_MEMORY


def osha(paragraph: str, what: str, sure: Sure) -> Clause:
    return Clause(f"29 CFR 1910.147{paragraph}", what, sure)


def electrical(paragraph: str, what: str, sure: Sure) -> Clause:
    return Clause(f"29 CFR 1910.333{paragraph}", what, sure)


# ── 29 CFR 1910.147: procedures, devices, people ────────────────────────────────────────────────────────

MINOR_SERVICING = osha(
    "(a)(2)(ii), note",
    "minor servicing in production is out of scope if routine, repetitive, integral and protected otherwise",
    SECOND_HAND,
)
CORD_AND_PLUG = osha(
    "(a)(2)(iii)(A)",
    "out of scope where unplugging controls the hazard and the worker alone controls the plug",
    SECOND_HAND,
)
HOT_TAPS = osha(
    "(a)(2)(iii)(B)", "hot taps, where service must go on and a procedure protects as well", SECOND_HAND
)
ISOLATING_DEVICE = osha("(b)", "only a device that physically stops the energy isolates", SECOND_HAND)
TAG_OR_LOCK = osha("(c)(2)", "what can take a lock is locked; a tag only where none fits", SECOND_HAND)
ONE_MEASURE_MORE = osha("(c)(3)", "a tag needs at least one more measure beside it", SECOND_HAND)
WRITTEN = osha("(c)(4)(i)", "procedures are written down and used", SECOND_HAND)
SINGLE_SOURCE = osha(
    "(c)(4)(i), exception", "no written procedure where all eight conditions hold", SECOND_HAND
)
NAMES_STEPS = osha("(c)(4)(ii)", "the procedure says how each energy is isolated and tested", SECOND_HAND)
OWN_PADLOCKS = osha("(c)(5)(ii)", "locks are singularly identified and used for nothing else", SECOND_HAND)
WHOSE_LOCK = osha("(c)(5)(ii)(D)", "a lock or tag shows who put it on", SECOND_HAND)
TAG_WARNS = osha("(c)(5)(iii)", "the tag warns of what happens if the machine is energised", SECOND_HAND)
TRAINED = osha("(c)(7)(i)(A)", "authorised people know the energies and how to control them", SECOND_HAND)
ONLY_AUTHORISED = osha("(c)(8)", "only authorised employees lock out", FROM_MEMORY)
TOLD = osha("(c)(9)", "affected people are told before controls go on and after they come off", FROM_MEMORY)

# ── 29 CFR 1910.147: applying, releasing ────────────────────────────────────────────────────────────────

KNOWS = osha("(d)(1)", "know type, magnitude, hazards and means of control first", READ)
ALL_DEVICES = osha("(d)(3)", "every isolating device that is needed is found and operated", READ)
ON_EACH = osha("(d)(4)(i)", "a lock or tag goes on each isolating device, by an authorised person", READ)
HELD_OFF = osha("(d)(4)(ii)", "the lock holds the device safe or off", READ)
STORED = osha("(d)(5)(i)", "after the locks, all stored energy is made safe", READ)
RE_ACCUMULATES = osha("(d)(5)(ii)", "what can build up again is tested until the work is done", READ)
VERIFY = osha("(d)(6)", "before work, verify that isolation has been accomplished", READ)
AREA_INSPECTED = osha("(e)(1)", "the area is inspected: items out, machine whole", READ)
PEOPLE_CLEAR = osha("(e)(2)(i)", "everyone is safely placed or out", READ)
TOLD_AFTER = osha("(e)(2)(ii)", "affected people are told after the locks and before the start", READ)
OWN_LOCK = osha("(e)(3)", "each lock is taken off by the person who put it on", READ)
ABSENT_NOT_HERE = osha("(e)(3)(i)", "verify that the absent person is not at the facility", READ)
ABSENT_SOUGHT = osha("(e)(3)(ii)", "make all reasonable efforts to tell them", READ)
ABSENT_KNOWS = osha("(e)(3)(iii)", "make sure that they know before they resume work", READ)

# ── 29 CFR 1910.147: special cases ──────────────────────────────────────────────────────────────────────

TESTING = osha(
    "(f)(1)", "for a test: items out, people out, locks off, energise, then isolate anew", SECOND_HAND
)
CONTRACTORS = osha("(f)(2)", "two employers inform each other of their procedures", SECOND_HAND)
IN_CHARGE = osha("(f)(3)(ii)(A)", "one authorised person is responsible for the group", READ)
EXPOSURE = osha("(f)(3)(ii)(B)", "that person can tell who is exposed", READ)
COORDINATOR = osha("(f)(3)(ii)(C)", "several crews have one coordinator", READ)
PERSONAL_LOCK = osha("(f)(3)(ii)(D)", "everyone hangs a lock of their own and takes it off again", READ)
SHIFT = osha("(f)(4)", "an orderly transfer between shifts; protection never stops", SECOND_HAND)
NO_LOG = Clause(
    "OSHA letter, 21 May 2021", "a written list of the crew is no substitute for own locks", SECOND_HAND
)
TRY_THE_CONTROLS = Clause(
    "29 CFR 1910.147, Appendix A",
    "nobody exposed, try the controls, put them back to neutral (not mandatory)",
    SECOND_HAND,
)

# ── electrical ──────────────────────────────────────────────────────────────────────────────────────────

ALL_SOURCES = electrical(
    "(b)(2)(ii)(B)", "every electric source is disconnected; controls are not the means", SECOND_HAND
)
LOCK_AND_TAG = electrical("(b)(2)(iii)(A)", "a lock and a tag on each disconnecting means", READ)
CANNOT_RESTART = electrical("(b)(2)(iv)(A)", "operate the controls: it cannot restart", SECOND_HAND)
TESTED_BY_QUALIFIED = electrical(
    "(b)(2)(iv)(B)",
    "a qualified person tests; above 600 V the tester is proven before and after",
    SECOND_HAND,
)
REENERGISING = electrical(
    "(b)(2)(v)", "tools and earths out, people warned, a visual check, locks off by owners", FROM_MEMORY
)
LIVE_WORK = electrical("(a)(1)", "live work only where dead work adds hazard or is infeasible", FROM_MEMORY)
PROVE_TEST_PROVE = Clause(
    "HSG85", "prove the detector, test every conductor combination, prove it again", SECOND_HAND
)

# ── permits, machines, records ──────────────────────────────────────────────────────────────────────────

NAMED_PEOPLE = Clause("HSE, permit to work", "named people, specified work, within a time", READ)
TWO_PEOPLE = Clause("HSG250", "issuer and acceptor are two people, as a rule", FROM_MEMORY)
CROSS_REFERENCE = Clause("HSG250", "permits that touch each other refer to each other", FROM_MEMORY)
EXTENSION = Clause("HSG250", "an extension is looked at again and signed", FROM_MEMORY)
SUSPENDED = Clause(
    "HSG250", "a suspended permit keeps its isolations and is looked at before it goes on", FROM_MEMORY
)
SANCTION = Clause(
    "HSG253", "isolations are lifted for a test under stated limits; other permits first", SECOND_HAND
)
CERTIFICATE = Clause("HSG253", "an isolation stays while any permit leans on it", FROM_MEMORY)
FROM_ALL_SOURCES = Clause("PUWER 1998, reg. 19", "isolated from all its sources of energy", SECOND_HAND)
STAYS_DEAD = Clause(
    "Electricity at Work Regulations 1989, reg. 13", "dead equipment does not become live", SECOND_HAND
)
NO_START = Clause("ISO 14118:2017", "no unexpected start from power or stored energy", READ)
FOUR_STEPS = Clause("ISO 14118:2017", "isolate, lock, dissipate or contain, verify", FROM_MEMORY)
STEPS_ENFORCED = Clause(
    "21 CFR 11.10(f), as a model", "the system enforces the permitted sequence of steps", READ
)
AUTHORITY = Clause("21 CFR 11.10(g), as a model", "the system checks who may do what", READ)
TRUE_RECORD = Clause("21 CFR 11.10(e), as a model", "who did what and when; nothing earlier is hidden", READ)
BEFORE_AND_AFTER = Clause(
    "ISO/IEC 17025:2017, 7.8.4.1(d)", "results before and after an adjustment are reported", FROM_MEMORY
)
ONE_PERSON = Clause(
    "21 CFR 11.100, as a model",
    "a signature belongs to one person and is never given to another",
    FROM_MEMORY,
)

# ── limits, signing in ──────────────────────────────────────────────────────────────────────────────────

RESIDUAL_VOLTAGE = Clause("IEC 60204-1, 6.2.4", "what is left of a voltage is 60 V at most", SECOND_HAND)
BURNS = Clause("ISO 13732-1", "the temperatures at which skin burns, by how long it touches", FROM_MEMORY)
THROTTLED = Clause(
    "NIST SP 800-63B-4, 3.2.2", "failures in a row are slowed down, and a hundred at most", SECOND_HAND
)
PIN_TRIES = Clause(
    "NIST SP 800-63B-4, 3.2.10",
    "a secret of a few digits is disabled after ten failures in a row",
    SECOND_HAND,
)
SESSIONS_END = Clause("OWASP ASVS 5.0.0, 7.4.2", "who is disabled is signed out everywhere", READ)
ASKED_AGAIN = Clause("OWASP ASVS 5.0.0, 7.5.3", "what is grave is signed anew", READ)
