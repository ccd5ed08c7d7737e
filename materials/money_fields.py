"""The form field for an amount of money."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.quantity_fields import FigureField
from materials.money import MoneyError, minor_digits, read_money, show_money, to_minor

NOTHING = Decimal(0)


class MoneyField(FigureField):
    """Cleans `1,234.50`, `1.234,50`, `GBP 20` or `£20` to an exact Decimal; empty gives None.

    The initial value is a Decimal too: use `from_minor` for a `*_minor` column. The least value
    is 0 unless another is given; with None any amount passes."""

    def __init__(
        self,
        *,
        currency: str = "GBP",
        min_value: Decimal | None = NOTHING,
        max_value: Decimal | None = None,
        help_text: str = "",
        **kwargs: Any,
    ) -> None:
        self.least, self.greatest = min_value, max_value
        self.own_help = help_text
        super().__init__(**kwargs)
        self.set_currency(currency)

    def set_currency(self, currency: str) -> None:
        minor_digits(currency)
        self.currency = currency
        self.help_text = " ".join(part for part in (self.own_help, f"In {currency}.") if part)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {**super().widget_attrs(widget), "autocomplete": "off"}

    def to_python(self, value: Any) -> Any:
        if isinstance(value, Decimal):
            return value
        text = super().to_python(value)
        if not text:
            return None
        try:
            return read_money(text, self.currency)
        except MoneyError as error:
            raise ValidationError(str(error), code=error.code) from error

    def _shown(self, amount: Decimal) -> str:
        return show_money(to_minor(amount, self.currency), self.currency)

    def prepare_value(self, value: Any) -> Any:
        """An amount is shown with the currency's digits; typed text stays as typed."""
        if isinstance(value, Decimal | int) and not isinstance(value, bool):
            return f"{Decimal(value):.{minor_digits(self.currency)}f}"
        return value

    def has_changed(self, initial: Any, data: Any) -> bool:
        if self.disabled:
            return False
        try:
            typed = self.to_python(data)
        except ValidationError:
            return True
        known = self.to_python(initial) if isinstance(initial, str) else initial
        return bool(typed != known)
