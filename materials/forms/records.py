"""What the forms of the stores share: the days they take, amounts, and units and currency."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.quantities import QuantityError, UnitSystem
from config.quantity_fields import apply_units
from materials.amounts import Amount, parse_amount, show_amount
from materials.money import CurrencyError, minor_digits

# Older goods than these do not stand in anybody's stores; nothing keeps for longer.
EARLIEST = date(1970, 1, 1)
MOST_YEARS_AHEAD = 50


class AmountField(forms.CharField):
    """Cleans `500 g` or `12 US fl oz`, and where it may be `1/2 kit`, to an Amount; empty gives
    None."""

    def __init__(self, *, kits: bool = False, **kwargs: Any) -> None:
        self.kits = kits
        self.system: UnitSystem | str = UnitSystem.METRIC
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {**super().widget_attrs(widget), "autocomplete": "off", "autocapitalize": "none"}

    def to_python(self, value: Any) -> Any:
        if isinstance(value, Amount):
            return value
        text = super().to_python(value)
        if not text:
            return None
        try:
            amount = parse_amount(text, self.system)
        except QuantityError as error:
            raise ValidationError(str(error), code=error.code) from error
        return self._fitting(amount)

    def _fitting(self, amount: Amount) -> Amount:
        if amount.kits is not None and not self.kits:
            raise ValidationError("Type a weight or a volume here, such as 500 g.", code="kits")
        if len(amount.parts) > 1:
            raise ValidationError("Type one amount here, such as 500 g.", code="too-many")
        return amount

    def prepare_value(self, value: Any) -> Any:
        return show_amount(value, self.system) if isinstance(value, Amount) else value

    def validate(self, value: Any) -> None:
        if self.required and value is None:
            raise ValidationError(self.error_messages["required"], code="required")

    def run_validators(self, value: Any) -> None:
        """The validators of text (no null characters) would look at an amount."""


class CurrencyField(forms.CharField):
    """A currency by its three letters (ISO 4217), in capitals."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "Three letters, such as GBP, EUR or USD.")
        super().__init__(max_length=3, **kwargs)

    def to_python(self, value: Any) -> str:
        text = (super().to_python(value) or "").upper()
        if text:
            try:
                minor_digits(text)
            except CurrencyError as error:
                raise ValidationError(str(error), code=error.code) from error
        return text


class StoresForm:
    """Mixed into a form: it knows the day (`on`) and reads in the person's units, and money in
    the currency that is typed beside it."""

    def __init__(
        self, *args: Any, on: date, units: UnitSystem | str = UnitSystem.METRIC, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.on = on
        form: Any = self
        apply_units(form, units, self._currency() if "currency" in form.fields else None)
        for field in form.fields.values():
            if isinstance(field, AmountField):
                field.system = units

    def _currency(self) -> str | None:
        form: Any = self
        bound = form["currency"]
        try:
            found: str = form.fields["currency"].clean(bound.value() or "")
        except ValidationError:
            return None
        return found


def sensible_day(day: date | None, on: date, what: str, *, ahead: bool = False) -> date | None:
    """Refuse a day that is a slip of the finger, and a day to come where none can be meant."""
    if day is None:
        return None
    words = f"{day:%-d %B} {day.year}"
    if day < EARLIEST:
        raise ValidationError(f"{words} is too long ago. Check the year.", code="too-early")
    if day.year > on.year + MOST_YEARS_AHEAD:
        raise ValidationError(
            f"{words} is more than {MOST_YEARS_AHEAD} years ahead. Check the year.",
            code="too-late",
        )
    if day > on and not ahead:
        raise ValidationError(
            f"{what} lies ahead: today is {on:%-d %B %Y}. Check the day.", code="in-the-future"
        )
    return day
