"""Lengths of time as people type and read them: `90 min`, `1 h 30`, `3 days`."""

from __future__ import annotations

import re
from datetime import timedelta
from fractions import Fraction

from config.written_numbers import QuantityError, plain, read_terms

WORDS = {
    "second": ("s", "sec", "secs", "second", "seconds"),
    "minute": ("m", "min", "mins", "minute", "minutes"),
    "hour": ("h", "hr", "hrs", "hour", "hours"),
    "day": ("d", "day", "days"),
    "week": ("w", "wk", "wks", "week", "weeks"),
}
SECONDS = {"second": 1, "minute": 60, "hour": 3600, "day": 24 * 3600, "week": 7 * 24 * 3600}
EXAMPLE = "90 min, 24 h or 3 days"


def parse_duration(text: str) -> timedelta:
    """`90 min`, `1 h 30`, `1.5 h`, `1:30` (hours and minutes), `24 h`, `3 days`, to the second.

    A bare number is refused: pot lives are told in minutes and cures in hours."""
    written = plain(text, EXAMPLE)
    if written.startswith("-"):
        raise QuantityError("negative", f"A time cannot be below zero. Type it like {EXAMPLE}.")
    if clock := re.fullmatch(r"(\d{1,4}):([0-5]\d)(?: ?h)?", written):
        return _within_years(Fraction(int(clock[1]) * 3600 + int(clock[2]) * 60))
    total, before = Fraction(0), ""
    for term in read_terms(written, EXAMPLE):
        before = _duration_unit(term.word, before)
        total += term.number * SECONDS[before]
    return _within_years(total)


def _duration_unit(word: str, before: str) -> str:
    for unit, words in WORDS.items():
        if word in words:
            return unit
    if not word and before == "hour":
        return "minute"
    if not word:
        raise QuantityError("unit-missing", f"Say minutes, hours or days: {EXAMPLE}.")
    if word in ("month", "months", "year", "years", "y"):
        raise QuantityError(
            "unknown-unit",
            "Months and years differ in length. Type days or weeks, such as 30 days.",
        )
    raise QuantityError("unknown-unit", f"“{word[:20]}” is not a time. Type it like {EXAMPLE}.")


def _within_years(seconds: Fraction) -> timedelta:
    if seconds > 3650 * 24 * 3600:
        raise QuantityError("absurd", "That is more than ten years. Check the figure and its unit.")
    return timedelta(seconds=round(seconds))


def show_duration(value: timedelta) -> str:
    """`45 min`, `1 h 30 min`, `48 h`, and from 72 h on `3 days`; to the second."""
    seconds = round(value.total_seconds())
    if seconds < 0:
        return "−" + show_duration(-value)
    days = 0
    if seconds >= 72 * 3600:
        days, seconds = divmod(seconds, 24 * 3600)
    hours, seconds = divmod(seconds, 3600)
    minutes, seconds = divmod(seconds, 60)
    parts = ((days, "days"), (hours, "h"), (minutes, "min"), (seconds, "s"))
    return " ".join(f"{count} {unit}" for count, unit in parts if count) or "0 min"
