"""What the law allows and this product does not offer."""

from __future__ import annotations

from . import published as p
from .rule import NotOffered

NOT_OFFERED: tuple[NotOffered, ...] = (
    NotOffered(
        "Minor servicing without a lock",
        "Whoever puts a hand in a zone here does so under a permit. A calibration that needs a guard open or "
        "a hand in the machine is not minor servicing.",
        p.MINOR_SERVICING,
    ),
    NotOffered(
        "A single-source machine without a written procedure",
        "Every machine has an approved procedure. All eight conditions would have to hold, and a record "
        "can't show that they do.",
        p.SINGLE_SOURCE,
    ),
    NotOffered(
        "Cord and plug",
        "A plug is described as an isolator like any other and is locked; nothing is left to keeping it in "
        "sight.",
        p.CORD_AND_PLUG,
    ),
    NotOffered(
        "Hot taps",
        "Work on a line in service is not covered. It needs a procedure and a permit of another kind.",
        p.HOT_TAPS,
    ),
    NotOffered(
        "Work on live electrical parts",
        "No permit here allows it: a sanction for test lets the machine run with nobody inside, and no more.",
        p.LIVE_WORK,
    ),
    NotOffered(
        "A tag where a lock fits",
        "A tag stands for a lock only at a point that can take none, with a further measure written down.",
        p.TAG_OR_LOCK,
    ),
)

NOT_LISTED: tuple[tuple[str, str], ...] = (
    (
        "Which pages a role opens",
        "Whoever has not the role is told so, and which roles have it. Among the rules stands only what is "
        "asked of someone who has it.",
    ),
    (
        "That a page is sent once",
        "A page that was carried out already and is sent again with other content is not taken, and says so: "
        "that is about the request, not about the work. A stop is always taken.",
    ),
    (
        "How something is typed",
        "A length, a date, a number or a code that cannot be read is said beside its field, with what would "
        "be right. Nothing was asked of the permit then.",
    ),
    (
        "How the rows of a plant file or sheet fit together",
        "A file is tried first, and every row that is wrong is named with what would be right. What is true "
        "of a point however it comes in, its limits above all, is listed.",
    ),
    (
        "What no store can be",
        "Sizes that physics does not allow, such as a pressure below a vacuum, are said beside their field.",
    ),
    (
        "What the database refuses by itself",
        "It repeats rules of this page for whoever goes round them; nobody meets it who uses these pages.",
    ),
)
"""What else can be refused, and why it stands on no page of rules: (what, why)."""
