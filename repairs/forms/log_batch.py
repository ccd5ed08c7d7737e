"""One batch on the log page: what was mixed, how much of each lot, and when."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from materials.amounts import Amount
from materials.models import Lot, SheetRevision
from repairs.logbook.entry import PartEntry

from .log_base import BlockForm, amount_text, note, percent, read_amount, time_of_day
from .log_lots import Choices, Offer, Stock
from .log_parts import converted, kit_parts, one_part, two_parts
from .log_stage import temperature
from .log_times import AGAIN_CHOICES

MORE = (
    "b_number", "a2_number", "a2_amount", "b2_number", "b2_amount", "air_c", "surface_c",
    "humidity_pct", "waste", "left_over", "abandoned", "notes",
)  # fmt: skip


def lot_number(label: str, part: str) -> forms.CharField:
    return forms.CharField(
        label=label, required=False, max_length=80,
        widget=forms.TextInput(
            attrs={"list": f"lots-{part}", "autocomplete": "off", "placeholder": "Lot number"}
        ),
    )  # fmt: skip


class BatchForm(BlockForm):
    silent = ("lot", "b_number", "mixed", "again")

    lot = forms.ChoiceField(label="Product and lot", required=False)
    amount = amount_text("Amount, A + B", "100 g + 33 g, or 1/2 kit")
    mixed = time_of_day("Mixed at")
    used = time_of_day("Last used at")
    again = forms.ChoiceField(
        label="Which of the two times?", choices=AGAIN_CHOICES, required=False,
        widget=forms.RadioSelect,
    )  # fmt: skip
    b_number = lot_number("B from another lot", "b")
    a2_number = lot_number("Second lot of A", "a")
    a2_amount = amount_text("How much of it")
    b2_number = lot_number("Second lot of B", "b")
    b2_amount = amount_text("How much of it")
    air_c = temperature("Air")
    surface_c = temperature("Surface")
    humidity_pct = percent("Humidity")
    waste = amount_text("Thrown away")
    left_over = amount_text("Kept for another member")
    abandoned = forms.BooleanField(label="It went off in the pot: all waste", required=False)
    notes = note("Notes on this batch")

    def __init__(
        self,
        *args: Any,
        stock: Stock,
        choices: Choices,
        number: str = "1",
        before: BatchForm | None = None,
        stage: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.stock, self.number, self.before, self.stage = stock, number, before, stage
        self.can_swap = False
        lot: Any = self.fields["lot"]
        lot.choices = choices

    def place_in_words(self) -> str:
        return f"{self.stage}batch {self.number}, "

    def counts(self) -> bool:
        """Whether it says more than what was carried over from the batch before."""
        carried = {name: self.before.typed(name) for name in self.silent} if self.before else {}
        changed = any(
            self.typed(name) and self.typed(name) != carried.get(name, "")
            for name in ("lot", "mixed")
        )
        return changed or self.says_something()

    def more_open(self) -> bool:
        return self.needs_attention(*MORE)

    def asks_which_time(self) -> bool:
        return bool(self.typed("again")) or any(
            self.has_error(name, "which-time") for name in ("mixed", "used")
        )

    def clean_lot(self) -> Offer | None:
        value = self.cleaned_data["lot"]
        if not value:
            raise ValidationError("Choose the product and lot that this was mixed from.", "no-lot")
        return self.stock.offers[value]

    def clean_amount(self) -> Amount:
        text = self.cleaned_data["amount"]
        if not text:
            raise ValidationError(
                "Type how much was mixed, such as 100 g + 33 g or 1/2 kit.", code="no-amount"
            )
        return read_amount(text, self.system)

    def parts(self, sheet: SheetRevision) -> tuple[PartEntry, ...]:
        """What of each lot was mixed. Raises ValidationError with the field it is about."""
        offer: Offer = self.cleaned_data["lot"]
        amount: Amount = self.cleaned_data["amount"]
        b = self._lot_of_b(offer)
        if amount.kits is not None:
            parts = kit_parts(offer, amount)
        elif offer.is_one_part():
            parts = one_part(offer, amount, sheet)
        else:
            parts = two_parts(offer.a, b, amount, sheet)
        second = [self._second(offer, part, sheet) for part in (Lot.Part.A, Lot.Part.B)]
        return (*parts, *(entry for entry in second if entry))

    def _lot_of_b(self, offer: Offer) -> Lot | None:
        if number := self.cleaned_data.get("b_number"):
            return self._found(offer, Lot.Part.B, number, "b_number")
        return offer.b

    def _second(self, offer: Offer, part: str, sheet: SheetRevision) -> PartEntry | None:
        number_name, amount_name = f"{part}2_number", f"{part}2_amount"
        number = self.cleaned_data.get(number_name)
        text = self.cleaned_data.get(amount_name)
        if not number and not text:
            return None
        if not number or not text:
            raise ValidationError(
                {number_name: "Give both the number of the second lot and how much of it."}
            )
        lot = self._found(offer, part, number, number_name)
        return PartEntry(lot, part, self.in_unit_of(lot, amount_name, sheet))

    def _found(self, offer: Offer, part: str, number: str, field: str) -> Lot:
        lot = self.stock.find(offer.product, part, number)
        if lot is None:
            known = ", ".join(self.stock.numbers(part, offer.product)) or "none"
            raise ValidationError(
                {
                    field: f"No lot of part {part.upper()} of {offer.product.name} has the number "
                    f"“{number}”. In stores: {known}."
                }
            )
        return lot

    def in_unit_of(self, lot: Lot, field: str, sheet: SheetRevision) -> Decimal:
        """What one of the smaller fields says, in the unit of a lot."""
        try:
            amount = read_amount(self.cleaned_data[field], self.system)
            if len(amount.parts) != 1:
                raise ValidationError("Type one amount, such as 40 g.", code="one-amount")
            return converted(amount.parts[0], lot, sheet)
        except ValidationError as error:
            raise ValidationError({field: error}) from error
