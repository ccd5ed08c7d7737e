"""The form for taking a member out."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from config.day_field import DayField
from properties.forms.records import not_after


class TakeOutForm(forms.Form):
    on = DayField(label="Taken out on")
    reason = forms.CharField(
        max_length=200, label="Why", help_text="Such as 'Decayed beyond repair at both ends'."
    )
    replaced = forms.BooleanField(
        required=False,
        initial=True,
        label="Another member took its place",
        help_text="Its facts are below, filled in from the old one. Change what differs.",
    )

    def __init__(self, *args: Any, latest: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.latest = latest

    def clean_on(self) -> date | None:
        return not_after(self.cleaned_data["on"], self.latest, "That day")
