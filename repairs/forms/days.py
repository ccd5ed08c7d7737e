"""Days as people type them, and the limits of a day that can be meant."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

EARLIEST = date(1900, 1, 1)
MOST_YEARS_AHEAD = 60


class DayField(forms.DateField):
    """A day; the picker of the browser, or typed like 3 May 2026."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        kwargs.setdefault("input_formats", ["%Y-%m-%d", "%d %B %Y", "%d %b %Y"])
        kwargs.setdefault("error_messages", {"invalid": "Type the day like 3 May 2026."})
        super().__init__(**kwargs)


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
