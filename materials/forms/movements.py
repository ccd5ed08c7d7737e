"""What is typed when something happens to a lot in the stores."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.day_field import DayField
from materials.amounts import Amount
from materials.models import Lot

from .records import AmountField, StoresForm, sensible_day

NONE_LEFT = Amount()
EMPTY_WORDS = {"0", "0 g", "0 ml", "0g", "0ml", "0 kg", "0 oz", "none", "nothing", "empty"}


def lots_amount(amount: Amount, lot: Lot) -> Decimal:
    """The amount in the unit in which the lot is kept; the other kind of unit is refused."""
    part = amount.parts[0]
    if part.unit != lot.unit:
        kept, example = ("weight", "100 g") if lot.unit == "g" else ("volume", "100 ml")
        raise ValidationError(
            f"This lot is kept by {kept}. Type it like {example}.", code="other-unit"
        )
    return part.value.quantize(Decimal("0.001"))


class LotForm(StoresForm, forms.Form):
    """A form about one lot."""

    def __init__(self, *args: Any, lot: Lot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lot = lot


class FoundField(AmountField):
    """An amount that may be nothing: somebody looked, and the tin is empty."""

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str) and value.strip().lower() in EMPTY_WORDS:
            return NONE_LEFT
        return super().to_python(value)


class CountForm(LotForm):
    found = FoundField(
        label="What is left",
        help_text="Weigh or measure it, without the tin. Type 0 if nothing is left.",
        error_messages={"required": "Type what you found, such as 250 g, or 0 for nothing."},
    )
    note = forms.CharField(label="Note", max_length=300, required=False)

    def clean_found(self) -> Decimal:
        found = self.cleaned_data["found"]
        return Decimal(0) if found == NONE_LEFT else lots_amount(found, self.lot)


class WasteForm(LotForm):
    amount = AmountField(
        label="How much was lost",
        help_text="Spilt, gone off or left in the tin, such as 50 g. What was wasted from a "
        "batch belongs to that batch and is not typed here.",
        error_messages={"required": "Type how much was lost, such as 50 g."},
    )
    note = forms.CharField(
        label="What happened", max_length=300,
        error_messages={"required": "Say what happened; it is read years later."},
    )  # fmt: skip

    def clean_amount(self) -> Decimal:
        return lots_amount(self.cleaned_data["amount"], self.lot)


class DiscardForm(LotForm):
    note = forms.CharField(
        label="Why it is thrown away, and where it went",
        max_length=300,
        help_text="Unmixed resin and hardener are hazardous waste: follow the local rules.",
        error_messages={"required": "Say why and where; it is read years later."},
    )


class MoveForm(LotForm):
    place = forms.CharField(
        label="Where it is kept now", max_length=120,
        error_messages={"required": "Type the new place, such as Van 2 or Shelf B."},
    )  # fmt: skip
    note = forms.CharField(label="Note", max_length=300, required=False)

    def clean_place(self) -> str:
        place: str = self.cleaned_data["place"]
        if place == self.lot.kept_at:
            raise ValidationError(f"It is kept at {place} already.", code="same-place")
        return place


class OpenForm(LotForm):
    opened_on = DayField(label="Opened on")

    def clean_opened_on(self) -> date | None:
        day = sensible_day(self.cleaned_data["opened_on"], self.on, "The day of opening")
        if day is not None and day < self.lot.received_on:
            raise ValidationError(
                f"It was received on {self.lot.received_on:%-d %B %Y} and cannot have been "
                "opened before. Check the day.",
                code="before-received",
            )
        return day


class HoldBackForm(LotForm):
    reason = forms.CharField(
        label="Why nobody should use it", max_length=300,
        error_messages={"required": "Say why, so that the next person can judge."},
    )  # fmt: skip


class ReleaseForm(LotForm):
    """Nothing to type: pressing the button is the word."""


class CorrectForm(LotForm):
    note = forms.CharField(
        label="What was wrong with it", max_length=300,
        help_text="The line stays readable; a further line takes it back.",
        error_messages={"required": "Say what was wrong; it is read years later."},
    )  # fmt: skip
