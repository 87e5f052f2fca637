"""How long a name waits after failed sign-ins, and how many tries a PIN has left.

NIST SP 800-63B-4 section 3.2.2 suggests a delay that rises from 30 seconds to an hour and allows at most
100 consecutive failures; section 3.2.10 allows ten for an activation secret. A PIN that a server checks is no
activation secret: it never stands alone here (a full sign-in comes first), and it is held to the ten as well.
"""

from datetime import timedelta
from itertools import pairwise

FREE_FAILURES = 4
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(hours=1)
MOST_FAILURES = 100
PIN_TRIES = 10
PIN_DIGITS = 6


def wait_after(failures: int) -> timedelta:
    """The pause before the next sign-in after this many failures in a row: none up to four, then doubling."""
    if failures <= FREE_FAILURES:
        return timedelta(0)
    doublings = min(failures - FREE_FAILURES - 1, 16)
    return min(FIRST_WAIT * (1 << doublings), LONGEST_WAIT)


def wait_in_words(wait: timedelta) -> str:
    """The pause rounded up: '30 seconds', '1 minute', '60 minutes'."""
    seconds = max(1, -int(-wait.total_seconds() // 1))
    if seconds < 60:
        return f"{seconds} second{'s' * (seconds != 1)}"
    minutes = -(-seconds // 60)
    return f"{minutes} minute{'s' * (minutes != 1)}"


def pin_tries_left(failures: int) -> int:
    """How many wrong PINs in a row are still allowed after this many."""
    return max(0, PIN_TRIES - failures)


def pin_objection(pin: str) -> str | None:
    """Why this PIN cannot be used and what would be right, or None when it can."""
    if not pin.isascii() or not pin.isdigit():
        return f"A PIN is digits only; {PIN_DIGITS} digits or more would be right."
    if len(pin) < PIN_DIGITS:
        return f"This PIN has {len(pin)} digits; {PIN_DIGITS} or more would be right."
    if len(pin) > 64:
        return f"This PIN has {len(pin)} digits; 64 at most would be right."
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    if len(steps) == 1 and steps <= {0, 1, 9}:
        return "This PIN is one digit repeated or a plain run, the first thing anyone tries; choose another."
    return None
