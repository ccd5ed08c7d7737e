"""Choosing several rows at once."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

MOST_DIGITS = 18


class ManyOf(forms.ModelMultipleChoiceField):
    """Several rows. A number too large for any database is no choice; SQLite would break off."""

    def clean(self, value: Any) -> Any:
        for number in value if isinstance(value, list | tuple) else ():
            if len(str(number)) > MOST_DIGITS:
                raise ValidationError(
                    self.error_messages["invalid_choice"],
                    code="invalid_choice",
                    params={"value": str(number)[:MOST_DIGITS]},
                )
        return super().clean(value)
