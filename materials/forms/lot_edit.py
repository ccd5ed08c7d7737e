"""Changing what was written about a lot."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.day_field import DayField
from materials.models import Lot
from materials.money import from_minor, to_minor
from materials.money_fields import MoneyField

from .records import CurrencyField, StoresForm, sensible_day


class LotEditForm(StoresForm, forms.ModelForm):
    """What was written about a lot and was wrong; how much there is stands in its ledger."""

    made_on = DayField(required=False)
    received_on = DayField()
    expires_on = DayField(label="Expiry as printed", required=False)
    opened_on = DayField(required=False)
    price = MoneyField(label="Paid for all of it", required=False)
    currency = CurrencyField()

    class Meta:
        model = Lot
        fields = [
            "number", "received_on", "made_on", "expires_on", "opened_on", "supplier", "invoice",
            "price", "currency", "low_below", "notes",
        ]  # fmt: skip
        labels = {"number": "Lot number as printed", "low_below": "Say “runs low” below"}
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, instance: Lot, **kwargs: Any) -> None:
        initial = {"price": None, **kwargs.pop("initial", {})}
        if instance.price_minor is not None:
            initial["price"] = from_minor(instance.price_minor, instance.currency)
        super().__init__(*args, instance=instance, initial=initial, **kwargs)
        self.fields["number"].help_text = ""
        self.fields["low_below"].help_text = f"In {instance.get_unit_display()}."
        if instance.parent_id:
            # What was paid stands on the kit; its parts share it.
            del self.fields["price"], self.fields["currency"]
        if instance.part == Lot.Part.KIT:
            del self.fields["low_below"]

    def clean_received_on(self) -> date | None:
        return sensible_day(self.cleaned_data["received_on"], self.on, "The day of receipt")

    def clean_made_on(self) -> date | None:
        return sensible_day(self.cleaned_data["made_on"], self.on, "The day of making")

    def clean_opened_on(self) -> date | None:
        return sensible_day(self.cleaned_data["opened_on"], self.on, "The day of opening")

    def clean_expires_on(self) -> date | None:
        return sensible_day(self.cleaned_data["expires_on"], self.on, "The expiry", ahead=True)

    def clean_low_below(self) -> Decimal | None:
        low: Decimal | None = self.cleaned_data["low_below"]
        if low is not None and low < 0:
            raise ValidationError("Type 0 or more, or leave it empty.", code="negative")
        return low

    def _get_validation_exclusions(self) -> set[str]:
        """Product and part are given; with them Django checks that the number stands once."""
        excluded: set[str] = super()._get_validation_exclusions()  # type: ignore[misc]
        return excluded - {"product", "part"}

    def save(self, commit: bool = True) -> Lot:
        if "price" in self.fields:
            price, currency = self.cleaned_data["price"], self.cleaned_data["currency"]
            self.instance.price_minor = None if price is None else to_minor(price, currency)
        saved: Lot = super().save(commit)
        return saved
