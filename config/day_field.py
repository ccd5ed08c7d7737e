"""The form field for a day; which days make sense is each form's own matter."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

DAY_FORMATS = ["%Y-%m-%d", "%d %B %Y", "%d %b %Y", "%B %d, %Y"]
EARLIEST = date(1600, 1, 1)


class DayField(forms.DateField):
    """A day, picked or typed. 5/3/2026 is not taken: half the world reads it as 3 May."""

    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})

    def __init__(self, **kwargs: Any) -> None:
        messages = {
            "invalid": "Type the day like 3 May 2026 or 2026-05-03.",
            **kwargs.pop("error_messages", {}),
        }
        super().__init__(input_formats=DAY_FORMATS, error_messages=messages, **kwargs)

    def clean(self, value: Any) -> date | None:
        day: date | None = super().clean(value)
        if day is not None and day < EARLIEST:
            raise ValidationError(
                f"{day:%-d %B} {day.year} is too long ago; check the year.", code="too-early"
            )
        return day
