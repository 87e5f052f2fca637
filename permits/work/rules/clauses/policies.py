"""Rules about changing a site's own numbers."""

from __future__ import annotations

from .rule import RECORD, SITE_POLICY, Rule, Topic

POLICIES = Topic(
    "Change the site's numbers",
    {
        "out-of-range": Rule(
            "Each number is within the range that this product allows a site.",
            "The officer chooses a number within it.",
            (SITE_POLICY,),
        ),
        "numbers-moved-on": Rule(
            "Nobody else changed the numbers since the page was shown.",
            "The officer looks at them as they are now and decides again.",
            (RECORD, SITE_POLICY),
        ),
        "nothing-changes": Rule(
            "At least one number changes.",
            "The officer changes one, or leaves the page.",
            (RECORD,),
        ),
    },
)
