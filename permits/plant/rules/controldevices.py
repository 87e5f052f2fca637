"""Which devices only control energy and can never isolate it, told by what a person calls them."""

from __future__ import annotations

import re

# 29 CFR 1910.147(b): an energy-isolating device is mechanical and physically prevents the transmission or
# release of energy; "push buttons, selector switches and other control circuit type devices" are not. The
# others follow from it: a coil, a program or a pressure holds them, and a check valve passes one way freely.
_CALLED = {
    "an emergency stop": r"emergency[\s-]*stop\w*|e[\s-]?stops?|mushroom (head )?button",
    "a push button": r"push[\s-]*buttons?|start button|stop button",
    "a selector switch": r"selector([\s-]*switch(es)?)?|key[\s-]*switch(es)?",
    "a safe torque off input": r"safe[\s-]*torque[\s-]*off|sto|drive enable",
    "a light curtain": r"light[\s-]*(curtains?|barriers?|grids?)",
    "a solenoid valve": r"solenoids?",
    "a check valve": r"check[\s-]*valves?|non[\s-]*return[\s-]*valves?",
    "a contactor": r"contactors?",
    "a relay": r"(safety[\s-]*)?relays?",
    "a PLC output": r"plc([\s-]*outputs?)?|programmable controller",
    "an interlock": r"(guard[\s-]*|door[\s-]*)?interlock(s|[\s-]*switch(es)?)?",
}
_PATTERNS = tuple(
    (name, re.compile(rf"(?<!\w)({pattern})(?!\w)", re.IGNORECASE)) for name, pattern in _CALLED.items()
)


def control_device(words: str) -> str | None:
    """The control device that these words name ("a solenoid valve"), or None where they name none.

    >>> control_device("5/2 solenoid valve"), control_device("Load-break disconnector")
    ('a solenoid valve', None)
    """
    return next((name for name, pattern in _PATTERNS if pattern.search(words)), None)


def opens_with_control_device(words: str) -> str | None:
    """As `control_device`, where the words begin with it: "Emergency stop S1", not "Feed of contactor K1"."""
    return next((name for name, pattern in _PATTERNS if pattern.match(words.strip())), None)
