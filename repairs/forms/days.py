"""The limits of a day that can be meant."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import ValidationError

EARLIEST = date(1900, 1, 1)
MOST_YEARS_AHEAD = 60


def in_words(day: date) -> str:
    return f"{day:%-d %B %Y}"


def refuse_absurd(day: date, today: date) -> None:
    """A day before 1900, or further ahead than any plan reaches, is a slip of the finger."""
    if day < EARLIEST:
        raise ValidationError(
            f"{in_words(day)} is before any record of this kind. Check the year.", code="too-early"
        )
    if day.year > today.year + MOST_YEARS_AHEAD:
        raise ValidationError(
            f"{in_words(day)} is more than {MOST_YEARS_AHEAD} years ahead. Check the year.",
            code="too-late",
        )


def refuse_future(day: date, today: date) -> None:
    if day > today:
        raise ValidationError(
            f"{in_words(day)} is still to come; today is {in_words(today)}. "
            "Record what has been seen; plan a look as a due date.",
            code="future",
        )


def refuse_past(day: date, today: date) -> None:
    if day < today:
        raise ValidationError(
            f"{in_words(day)} has passed; today is {in_words(today)}. Choose today or later.",
            code="past",
        )
