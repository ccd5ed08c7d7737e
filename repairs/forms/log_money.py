"""Hours and other costs on the log page."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.quantities import QuantityError, plain, read_terms
from materials.money import MINOR_DIGITS, minor_if_any
from materials.money_fields import MoneyField
from repairs.logbook.entry import CostEntry, LabourEntry
from repairs.models import CostLine

from .log_base import BlockForm, day

MOST_HOURS = 1000
HOURS_EXAMPLE = "2.5, 2 1/2 or 2:30"
# Labour has its own lines, material comes from the batches, and a credit reverses a line.
KINDS = [
    (value, label)
    for value, label in CostLine.Kind.choices
    if value not in (CostLine.Kind.LABOUR, CostLine.Kind.CREDIT)
]


class HoursField(forms.CharField):
    """Cleans `2.5`, `2 1/2`, `2:30`, `2 h 30 min` or `45 min` to hours; empty cleans to None."""

    unit = "h"

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        try:
            hours = _hours(plain(text, HOURS_EXAMPLE))
        except QuantityError as error:
            raise ValidationError(str(error), code=error.code) from error
        if not 0 < hours <= MOST_HOURS:
            raise ValidationError(
                f"Type hours above 0 and up to {MOST_HOURS}, such as {HOURS_EXAMPLE}.",
                code="absurd",
            )
        return (Decimal(hours.numerator) / hours.denominator).quantize(Decimal("0.01"))

    def run_validators(self, value: Any) -> None:
        """The validators of text would look at a number."""


def _hours(written: str) -> Fraction:
    if clock := re.fullmatch(r"(\d{1,3}):([0-5]\d)", written):
        return int(clock[1]) + Fraction(int(clock[2]), 60)
    if re.match(r"[-−]", written):
        raise QuantityError("negative", "Hours cannot be below zero. Type them like 2.5 or 2:30.")
    total = Fraction(0)
    for term in read_terms(written, HOURS_EXAMPLE):
        if term.word in ("", "h", "hr", "hrs", "hour", "hours"):
            total += term.number
        elif term.word in ("m", "min", "mins", "minute", "minutes"):
            total += term.number / 60
        else:
            raise QuantityError("unknown-unit", f"Type hours like {HOURS_EXAMPLE}.")
    return total


class LabourForm(BlockForm):
    who = forms.CharField(label="Who", required=False, max_length=200)
    hours = HoursField(
        label="Hours", required=False, max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off", "placeholder": "2.5"}),
    )  # fmt: skip
    rate = MoneyField(label="Rate for an hour", required=False, min_value=Decimal(0))

    def counts(self) -> bool:
        return self.says_something("hours")

    def entry(self) -> LabourEntry:
        cleaned = self.cleaned_data
        return LabourEntry(
            who=cleaned["who"], hours=cleaned["hours"],
            rate_minor=minor_if_any(cleaned["rate"], self.currency),
        )  # fmt: skip


class CostForm(BlockForm):
    silent = ("kind", "paid_in")

    kind = forms.ChoiceField(label="What for", choices=KINDS, required=False)
    description = forms.CharField(label="In words", required=False, max_length=200)
    amount = MoneyField(label="Amount", required=False, min_value=Decimal(0))
    invoiced_on = day("Date of the invoice")
    supplier = forms.CharField(label="From whom", required=False, max_length=200)
    invoice = forms.CharField(label="Invoice number", required=False, max_length=80)
    paid_in = forms.CharField(
        label="Currency, if another", required=False, max_length=3,
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off"}),
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.home = self.currency
        if (other := self.typed("paid_in").upper()) in MINOR_DIGITS:
            self.currency = other
            amount: Any = self.fields["amount"]
            amount.set_currency(other)
            self._show_units()

    def counts(self) -> bool:
        return self.says_something()

    def more_open(self) -> bool:
        return self.needs_attention("invoiced_on", "supplier", "invoice", "paid_in")

    def clean_paid_in(self) -> str:
        currency: str = self.cleaned_data["paid_in"].upper()
        if currency and currency not in MINOR_DIGITS:
            raise ValidationError(
                "Use the three letters of the currency, such as GBP, EUR or USD.",
                code="unknown-currency",
            )
        return currency

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("amount") is None and "amount" not in self.errors:
            self.add_error("amount", "Type the amount, or clear this cost.")
        if not cleaned.get("kind") and "kind" not in self.errors:
            self.add_error("kind", "Choose what the money was for.")
        return cleaned

    def entry(self) -> CostEntry:
        cleaned = self.cleaned_data
        minor = minor_if_any(cleaned["amount"], self.currency)
        return CostEntry(
            kind=cleaned["kind"], description=cleaned["description"], amount_minor=minor or 0,
            currency=self.currency, invoiced_on=cleaned["invoiced_on"],
            supplier=cleaned["supplier"], invoice=cleaned["invoice"],
        )  # fmt: skip
