"""Forms for owners, and for the day on which a property changes hands."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.day_field import DayField
from properties.models import Owner

from .records import RecordForm


class OwnerForm(RecordForm):
    class Meta:
        model = Owner
        fields = ["name", "is_body", "contact", "notes"]
        widgets = {
            "contact": forms.Textarea(attrs={"rows": 3}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }


class OwnerChoiceForm(forms.Form):
    """An owner who is known already, or the name of a new one."""

    owner = forms.ModelChoiceField(
        Owner.objects.all(), required=False, label="Owner", empty_label="A new owner"
    )
    new_owner = forms.CharField(max_length=200, required=False, label="Name of the new owner")

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        picked, typed = cleaned.get("owner"), cleaned.get("new_owner")
        if picked and typed:
            self.add_error(
                "new_owner",
                ValidationError("Pick an owner or type a new one, not both.", code="two-owners"),
            )
        elif not picked and not typed and "owner" not in self.errors:
            self.add_error(
                "owner", ValidationError("Pick the owner, or type a new name.", code="no-owner")
            )
        return cleaned

    def chosen_owner(self) -> Owner:
        """The owner picked, or a new one that is not saved yet."""
        picked: Owner | None = self.cleaned_data["owner"]
        return picked or Owner(name=self.cleaned_data["new_owner"])


class ChangeOwnerForm(OwnerChoiceForm):
    on = DayField(label="Day of the change", help_text="The new owner holds it from this day on.")
    note = forms.CharField(
        max_length=300, required=False, help_text="Such as 'Sold' or 'Left by will'."
    )
    field_order = ["on", "owner", "new_owner", "note"]

    def __init__(self, *args: Any, latest: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.latest = latest

    def clean_on(self) -> date:
        on: date = self.cleaned_data["on"]
        if on > self.latest:
            raise ValidationError(
                f"{on:%-d %B %Y} is yet to come. Enter the change when it has happened.",
                code="in-the-future",
            )
        return on
