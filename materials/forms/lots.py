"""Receiving a lot, and changing what was written about it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.day_field import DayField
from config.quantities import UnitSystem
from materials.amounts import Amount
from materials.models import Kit, Lot, Product
from materials.money import to_minor
from materials.money_fields import MoneyField
from materials.packs import contents_in_words, in_one_pack, is_complete, unit_of
from materials.receive import Delivery, NumberedPart, already_received

from .records import AmountField, CurrencyField, StoresForm, sensible_day

A_ALONE, B_ALONE, LOOSE = "a", "b", "one"
MOST_PACKS = Decimal(10000)


class ReceiveForm(StoresForm, forms.Form):
    """One delivery under one set of lot numbers. The product is known, so that the form asks
    for what that product has: A and B with a number each, or one number."""

    what = forms.ChoiceField(
        label="What came", widget=forms.RadioSelect,
        error_messages={"required": "Choose which pack came."},
    )  # fmt: skip
    packs = forms.DecimalField(
        label="How many packs", required=False, max_digits=8, decimal_places=3, initial=1,
        help_text="Where packs came, all under the same lot numbers.",
    )  # fmt: skip
    amount = AmountField(
        label="How much in all",
        required=False,
        help_text="Where it did not come in packs, such as 500 g, 1 l or 12 US fl oz.",
    )
    number_a = forms.CharField(label="Lot number of part A", max_length=80, required=False)
    expires_a = DayField(label="Expiry printed on A", required=False)
    number_b = forms.CharField(label="Lot number of part B", max_length=80, required=False)
    expires_b = DayField(label="Expiry printed on B", required=False)
    number = forms.CharField(
        label="Number on the pack", max_length=80, required=False,
        help_text="If the pack has one of its own.",
    )  # fmt: skip
    again = forms.BooleanField(
        label="It is a further delivery of a lot number that came before", required=False
    )
    received_on = DayField(
        label="Received on", error_messages={"required": "Give the day on which it came."}
    )
    made_on = DayField(label="Made on", required=False, help_text="If it is printed.")
    price = MoneyField(
        label="Paid for all of it", required=False,
        help_text="What it costs the work; every batch takes its share of this.",
    )  # fmt: skip
    currency = CurrencyField(label="Currency")
    supplier = forms.CharField(max_length=200, required=False)
    invoice = forms.CharField(label="Invoice number", max_length=80, required=False)
    kept_at = forms.CharField(
        label="Where kept", max_length=120, required=False, help_text="Such as Van 2 or Shelf B."
    )
    low_below = AmountField(
        label="Say “runs low” below", required=False, kits=True,
        help_text="Such as 200 g, or 1/2 kit where packs came.",
    )  # fmt: skip
    notes = forms.CharField(
        max_length=5000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, product: Product, **kwargs: Any) -> None:
        units = kwargs.get("units", UnitSystem.METRIC)
        self.product = product
        self.kits = {f"kit-{kit.pk}": kit for kit in product.kits.all()}
        for kit in self.kits.values():
            kit.product = product
        super().__init__(*args, **kwargs)
        what: Any = self.fields["what"]
        what.choices = self._choices(units)
        if len(self.kits) == 1 or len(what.choices) == 1:
            what.initial = what.choices[0][0]
        if not self.two_parts():
            for name in ("number_b", "expires_b", "number"):
                del self.fields[name]
            self.fields["number_a"].label = "Lot number"
            self.fields["number_a"].required = True
            self.fields["expires_a"].label = "Expiry printed on it"
            return
        self.fields["number_a"].help_text = "Leave it empty only if part B came alone."
        self.fields["number_b"].help_text = "Leave it empty only if part A came alone."

    def two_parts(self) -> bool:
        return self.product.parts == Product.Parts.TWO

    def _choices(self, units: UnitSystem | str) -> list[tuple[str, str]]:
        packs = [
            (value, f"{kit.name}: {contents_in_words(kit, units)}")
            for value, kit in self.kits.items()
        ]
        if not self.two_parts():
            return [*packs, (LOOSE, "Not by the pack: so much of it")]
        return [*packs, (A_ALONE, "Part A alone"), (B_ALONE, "Part B alone")]

    def chosen_kit(self) -> Kit | None:
        return self.kits.get(self.cleaned_data.get("what", ""))

    def clean_packs(self) -> Decimal | None:
        packs: Decimal | None = self.cleaned_data["packs"]
        if packs is not None and not 0 < packs <= MOST_PACKS:
            raise ValidationError("Type how many packs came, such as 1 or 12.", code="absurd")
        return packs

    def clean_received_on(self) -> date | None:
        return sensible_day(self.cleaned_data["received_on"], self.on, "The day of receipt")

    def clean_made_on(self) -> date | None:
        made = sensible_day(self.cleaned_data["made_on"], self.on, "The day of making")
        received = self.cleaned_data.get("received_on")
        if made and received and made > received:
            raise ValidationError(
                "It cannot be received before it was made. Check both days.", code="order"
            )
        return made

    def clean_expires_a(self) -> date | None:
        return sensible_day(self.cleaned_data["expires_a"], self.on, "The expiry", ahead=True)

    def clean_expires_b(self) -> date | None:
        return sensible_day(self.cleaned_data["expires_b"], self.on, "The expiry", ahead=True)

    def clean(self) -> dict[str, Any]:
        super().clean()
        if "what" in self.cleaned_data:
            self._check_amounts()
        if "what" in self.cleaned_data:
            self._check_numbers()
        return self.cleaned_data

    def _ask(self, name: str, sentence: str, code: str = "required") -> None:
        if name not in self.errors:
            self.add_error(name, ValidationError(sentence, code=code))

    def _check_amounts(self) -> None:
        kit = self.chosen_kit()
        if kit is None and self.cleaned_data.get("amount") is None:
            self._ask("amount", "Type how much came in all, such as 500 g.")
        if kit is not None and self.cleaned_data.get("packs") is None:
            self._ask("packs", "Type how many packs came, such as 1.")
        if kit is not None and not is_complete(kit):
            self._ask(
                "what",
                "This pack does not say how much of each part it holds in one kind of unit. "
                "Complete it on the product's page first.",
                "pack-incomplete",
            )
        elif self.cleaned_data.get("low_below"):
            self._check_low(kit, self.cleaned_data["low_below"])

    def _check_low(self, kit: Kit | None, low: Amount) -> None:
        amount = self.cleaned_data.get("amount")
        unit = unit_of(kit) if kit else amount.parts[0].unit if amount else None
        if low.kits is not None and kit is None:
            self._ask("low_below", "No pack came: type a weight or a volume.", "kits")
        elif low.parts and self._is_kit():
            self._ask("low_below", "Type it in kits, such as 1/2 kit.", "not-kits")
        elif low.parts and unit and low.parts[0].unit != unit:
            self._ask("low_below", "Type it in the same kind of unit as what came.", "other-unit")

    def _is_kit(self) -> bool:
        return self.chosen_kit() is not None and self.two_parts()

    def _check_numbers(self) -> None:
        for part, letter in self._parts():
            number = self.cleaned_data.get(f"number_{letter}", "")
            if not number:
                self._ask(f"number_{letter}", "Type the lot number as printed.")
                continue
            self._check_number(f"number_{letter}", part, number)
        number = self.cleaned_data.get("number")
        if self._is_kit() and number:
            self._check_number("number", Lot.Part.KIT, number)

    def _check_number(self, name: str, part: str, number: str) -> None:
        """The same number on the same day is refused; on another day it is told and may be."""
        received = self.cleaned_data.get("received_on")
        before = list(already_received(self.product, part, number).order_by("-received_on")[:50])
        if any(lot.received_on == received for lot in before):
            self._ask(
                name,
                f"Lot {number} was already received on that day. If more of it came, "
                "enter it with another number, such as the same with “/2”.",
                "twice",
            )
        elif before and not self.cleaned_data.get("again"):
            self._ask(
                name,
                f"Lot {number} was already received on {before[0].received_on:%-d %B %Y}. If this "
                "is a further delivery, tick “It is a further delivery” and save again.",
                "again",
            )

    def _parts(self) -> list[tuple[str, str]]:
        """The parts that came, each with the letter of its fields."""
        what = self.cleaned_data["what"]
        if not self.two_parts():
            return [(Lot.Part.ONE, "a")]
        if what == A_ALONE:
            return [(Lot.Part.A, "a")]
        if what == B_ALONE:
            return [(Lot.Part.B, "b")]
        return [(Lot.Part.A, "a"), (Lot.Part.B, "b")]

    def delivery(self) -> Delivery:
        data, kit = self.cleaned_data, self.chosen_kit()
        return Delivery(
            product=self.product,
            parts=tuple(self._numbered(part, letter, kit) for part, letter in self._parts()),
            unit=unit_of(kit) if kit else data["amount"].parts[0].unit,
            received_on=data["received_on"], made_on=data["made_on"], kit=kit,
            packs=data["packs"] if self._is_kit() else None, number=data.get("number", ""),
            price_minor=_minor(data["price"], data["currency"]), currency=data["currency"],
            supplier=data["supplier"], invoice=data["invoice"], kept_at=data["kept_at"],
            notes=data["notes"],
        )  # fmt: skip

    def _numbered(self, part: str, letter: str, kit: Kit | None) -> NumberedPart:
        data, low = self.cleaned_data, self.cleaned_data["low_below"]
        each = in_one_pack(kit, letter) if kit else None
        amount = data["amount"].parts[0].value if each is None else each * data["packs"]
        low_below = low.parts[0].value if low and low.parts else None
        if low and low.kits and each is not None:
            low_below = each * low.kit_fraction
        return NumberedPart(
            part=part, number=data[f"number_{letter}"], expires_on=data[f"expires_{letter}"],
            amount=_step(amount), low_below=None if low_below is None else _step(low_below),
        )  # fmt: skip


def _step(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.001"))


def _minor(price: Decimal | None, currency: str) -> int | None:
    return None if price is None else to_minor(price, currency)
