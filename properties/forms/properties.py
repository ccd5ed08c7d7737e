"""Forms for properties, and for giving one up."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.day_field import DayField
from config.quantities import Quantity
from config.quantity_fields import QuantityField
from properties.models import Property

from .owners import OwnerChoiceForm
from .records import RecordForm, not_after


class PropertyForm(RecordForm):
    hot_day_c = QuantityField(
        Quantity.TEMPERATURE,
        label="Air on a hot day",
        required=False,
        min_value=Decimal(-20),
        max_value=Decimal(60),
        help_text="The hottest to reckon with, for the heat of a face in the sun where no weather "
        "file is attached.",
    )

    class Meta:
        model = Property
        fields = [
            "name",
            "address",
            "country",
            "time_zone",
            "currency",
            "unit_system",
            "lead_paint_ban_year",
            "hot_day_c",
            "notes",
        ]
        labels = {
            "unit_system": "Units",
            "lead_paint_ban_year": "Year that lead paint was banned there",
        }
        help_texts = {"time_zone": "Such as Europe/London or America/New_York."}
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3, "autocomplete": "off"}),
            "notes": forms.Textarea(attrs={"rows": 3}),
            "unit_system": forms.RadioSelect,
        }

    def clean_country(self) -> str:
        return str(self.cleaned_data["country"]).upper()

    def clean_currency(self) -> str:
        return str(self.cleaned_data["currency"]).upper()


class FirstOwnerForm(OwnerChoiceForm):
    """Who owns a property that is being entered; may stay open."""

    from_on = DayField(label="Owner since", required=False)

    def clean(self) -> dict[str, Any]:
        named = self.data.get(self.add_prefix("owner")) or self.data.get(
            self.add_prefix("new_owner")
        )
        if not named and not self.data.get(self.add_prefix("from_on")):
            return self.cleaned_data
        cleaned = super().clean()
        if not cleaned.get("from_on") and "from_on" not in self.errors:
            self.add_error("from_on", ValidationError("Say from which day.", code="no-day"))
        return cleaned

    def names_an_owner(self) -> bool:
        return bool(self.cleaned_data.get("owner") or self.cleaned_data.get("new_owner"))


class GiveUpForm(RecordForm):
    """From which day a property is no longer looked after, and why."""

    given_up_on = DayField(label="From which day is it no longer looked after?")

    class Meta:
        model = Property
        fields = ["given_up_on", "given_up_reason"]
        labels = {"given_up_reason": "Why"}
        help_texts = {"given_up_reason": "Such as 'sold' or 'contract ended'."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        given_up = self.instance.given_up_on is not None
        self.fields["given_up_on"].required = not given_up
        self.fields["given_up_reason"].required = not given_up
        if given_up:
            self.fields["given_up_on"].help_text = "Empty it if you look after it again."

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if not cleaned.get("given_up_on") and not self.errors:
            cleaned["given_up_reason"] = ""
        return cleaned

    def clean_given_up_on(self) -> date | None:
        return not_after(self.cleaned_data["given_up_on"], self.on, "That day")
