"""Rules about work inside: signing on and off, the machine check, defects, clear confirmations."""

from __future__ import annotations

from . import published as p
from .rule import COMMON_PRACTICE, RECORD, SITE_POLICY, Rule, Topic

INSIDE = Topic(
    "Work inside",
    {
        "too-early": Rule(
            "The permit's time has begun.", "Wait, or ask for a permit that starts now.", (p.NAMED_PEOPLE,)
        ),
        "under-test": Rule(
            "No other permit's test under power keeps the zone clear of people.",
            "Wait until that test's holder isolates again.",
            (p.PEOPLE_CLEAR, SITE_POLICY),
        ),
        "already-on": Rule("Each person signs on once.", "Nothing is left to do.", (RECORD,)),
        "not-on": Rule("Who is signed off was signed on.", "Nothing is left to do.", (RECORD,)),
        "not-signed-on": Rule(
            "Whoever looks inside, or mends, is signed on with a padlock of their own.",
            "They sign on first.",
            (p.PERSONAL_LOCK,),
        ),
        "check-incomplete": Rule(
            "Every item of the machine check is answered.", "Whoever looks answers it.", (COMMON_PRACTICE,)
        ),
        "defect-undescribed": Rule(
            "A defect is described.", "Whoever found it writes what is wrong.", (COMMON_PRACTICE, RECORD)
        ),
        "no-such-defect": Rule(
            "The defect is one that is open on this permit.",
            "Whoever asks chooses from the list.",
            (RECORD,),
        ),
        "defect-open": Rule(
            "No defect is open: each is mended, or accepted with a reason.",
            "The crew mends it, or an officer accepts it with a reason.",
            (p.AREA_INSPECTED, SITE_POLICY),
        ),
    },
)

CLEARING = Topic(
    "Confirm areas clear",
    {
        "no-area": Rule("An area is named.", "Whoever confirms names what they see.", (RECORD,)),
        "no-such-area": Rule("Each area is one of this site.", "Choose from the list.", (RECORD,)),
        "not-one-place": Rule(
            "One person confirms several areas only if all are seen from one place.",
            "They say that they see them all, or another person confirms the others.",
            (p.PEOPLE_CLEAR, SITE_POLICY),
        ),
        "someone-inside": Rule(
            "Nobody is signed on in the area, or in a zone of the test, under any permit.",
            "The person inside signs off first.",
            (p.PEOPLE_CLEAR,),
        ),
        "watcher-inside": Rule(
            "A watcher stays outside: they are signed on nowhere.",
            "They sign off first, or another person keeps watch.",
            (p.PEOPLE_CLEAR, SITE_POLICY),
        ),
        "watch-by-radio": Rule(
            "A watch is kept by someone who sees the area.",
            "Whoever keeps watch confirms it themselves; by radio it is clear for now, without a watch.",
            (p.PEOPLE_CLEAR, SITE_POLICY),
        ),
        "seen-by-nobody": Rule(
            "What is told by radio is seen by somebody of the site, who is named.",
            "Whoever confirms it names who sees it, or who sees it confirms it themselves.",
            (p.PEOPLE_CLEAR, SITE_POLICY),
        ),
        "watches-elsewhere": Rule(
            "Nobody ends another person's watch by saying that they see something else.",
            "The watcher leaves the watch, or another person is named who sees the areas.",
            (p.PEOPLE_CLEAR, SITE_POLICY),
        ),
        "seen-by-two": Rule(
            "One sees an area oneself, or is told by radio: not both.",
            "Whoever confirms it says which.",
            (RECORD,),
        ),
        "not-watching": Rule("Who leaves the watch was posted.", "Nothing is left to do.", (RECORD,)),
    },
)
