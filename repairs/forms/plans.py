"""The form for dropping a planned repair."""

from __future__ import annotations

from django import forms


class DropForm(forms.Form):
    reason = forms.CharField(
        label="Why it is dropped",
        max_length=300,
        error_messages={"required": "Say in a few words why this is not to be carried out."},
    )
