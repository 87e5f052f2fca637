"""Dates as people read them: 3 March 2027."""

from datetime import date

MONTHS = (  # spelt out: the words must not change with the server's locale
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def in_words(day: date) -> str:
    """The day as '3 March 2027'."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"
