"""Rules about people: roles, authorisations, hosts, signing in. The people room asks them."""

from __future__ import annotations

from . import published as p
from .rule import RECORD, SITE_POLICY, Rule, Topic

ASKER = "Whoever asks corrects it."

ROLES = Topic(
    "People and roles",
    {
        "sign-in-taken": Rule(
            "A sign-in name belongs to one person.", "The administrator gives another one.", (p.ONE_PERSON,)
        ),
        "no-such-pair": Rule(
            "Someone from another site is named by reference and sign-in name together.",
            "Both stand on the person's own page.",
            (RECORD,),
        ),
        "so-already": Rule(
            "A role is given, a name changed, a person disabled or enabled, where it is not so already.",
            "Nothing is left to do there.",
            (RECORD,),
        ),
        "last-administrator": Rule(
            "A site keeps one administrator who can sign in.",
            "An administrator makes someone else administrator first.",
            (SITE_POLICY,),
        ),
        "disables-oneself": Rule("Nobody disables themselves.", "Another administrator.", (SITE_POLICY,)),
    },
    asked="when people and their roles are changed",
)

AUTHORISING = Topic(
    "Authorisations",
    {
        "authorises-oneself": Rule(
            "Nobody authorises themselves.", "Another safety officer.", (p.TRAINED, SITE_POLICY)
        ),
        "machine-unknown": Rule(
            "An authorisation is for a machine of the plant.", "The safety officer chooses one.", (RECORD,)
        ),
        "days-in-order": Rule("Its last day is today or later, and not before its first.", ASKER, (RECORD,)),
        "authorised-already": Rule(
            "The same authorisation is given once, and withdrawn once.",
            "Nothing is left to do there.",
            (RECORD,),
        ),
    },
    asked="when someone is authorised for a machine",
)

HOSTING = Topic(
    "Contractors and their hosts",
    {
        "host-of-site": Rule(
            "A host is one of the site's own people: no contractor, nobody for themselves.",
            "The safety officer names another.",
            (p.CONTRACTORS, SITE_POLICY),
        ),
        "employers-told": Rule(
            "It is written what the two employers told each other of their procedures, and who employs the "
            "contractor.",
            "The safety officer writes it.",
            (p.CONTRACTORS,),
        ),
        "hosting-days": Rule(
            "The last day of a hosting is today or later, and not before its first; a new host begins before "
            "the one there is ends.",
            ASKER,
            (SITE_POLICY, RECORD),
        ),
        "hosted-so-already": Rule(
            "A host, or an employer, is written where it is not so already.",
            "Nothing is left to do there.",
            (RECORD,),
        ),
        "hosted-as-contractor": Rule(
            "Nobody changes employer while they are hosted as someone's contractor, nor becomes a contractor "
            "while they host others.",
            "The safety officer ends that hosting, or gives the guests another host, first.",
            (p.CONTRACTORS, SITE_POLICY),
        ),
        "says-of-oneself": Rule(
            "Nobody says of themselves who employs or hosts them.", "Another safety officer.", (SITE_POLICY,)
        ),
    },
    asked="when a contractor's employer or host is written",
)

SIGNING = Topic(
    "Signing in and PINs",
    {
        "sign-in-waits": Rule(
            "Name and password are right. After the fifth failure in a row the name waits 30 seconds, then "
            "twice as long each time, an hour at most; the answer never says which of it was wrong.",
            "Whoever signs in waits; an administrator can give a new first password.",
            (p.THROTTLED,),
        ),
        "wrong-pin": Rule(
            "Whoever signs gives their own PIN. Ten wrong ones in a row lock it; each is an entry.",
            "A safety officer or an administrator resets it; its owner sets a new one.",
            (p.ASKED_AGAIN, p.PIN_TRIES),
        ),
        "no-pin": Rule("Whoever signs has set a PIN.", "Its owner, on their own page.", (p.ASKED_AGAIN,)),
        "disabled": Rule(
            "Whoever is disabled neither signs in nor signs.",
            "An administrator enables them.",
            (p.SESSIONS_END,),
        ),
        "nobody-of-that-name": Rule(
            "Who signs on another's device has a role at the site.",
            "Whoever signs gives their own sign-in name.",
            (p.AUTHORITY,),
        ),
        "plain-pin": Rule(
            "A PIN has six digits or more, and is no plain run and no digit repeated.",
            "Its owner chooses another.",
            (SITE_POLICY,),
        ),
        "resets-oneself": Rule(
            "Nobody resets their own PIN or password; their own password they change on their own page, with "
            "the one they have.",
            "A safety officer, for a PIN; an administrator.",
            (SITE_POLICY,),
        ),
    },
    asked="when someone signs in, signs, or has a PIN or password changed",
)
