"""What every part of the log page has in common."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.utils import ErrorDict
from django.http import QueryDict

from config.day_field import DayField
from config.quantities import Quantity, QuantityError, UnitSystem, usual_unit
from config.quantity_fields import QuantityField, apply_units
from materials.amounts import Amount, parse_amount

LONG_NOTE = 5000


class BlockForm(forms.Form):
    """One block of the page, always filled from what is typed. A quiet block shows what is typed
    without judging it: the page is then only being changed, not saved."""

    # Names that hold nothing a person typed about the work: they never make a block count.
    silent: tuple[str, ...] = ()

    def __init__(
        self,
        typed: QueryDict,
        *,
        prefix: str | None = None,
        quiet: bool = False,
        system: UnitSystem | str = UnitSystem.METRIC,
        currency: str = "GBP",
    ) -> None:
        super().__init__(typed, prefix=prefix)
        self.quiet = quiet
        self.system, self.currency = system, currency
        apply_units(self, system, currency)
        self._show_units()

    def _show_units(self) -> None:
        for name, field in self.fields.items():
            bound: Any = self[name]
            if isinstance(field, QuantityField) and field.kind is not Quantity.DURATION:
                bound.unit = usual_unit(field.kind, self.system)
            elif hasattr(field, "set_currency"):
                bound.unit, bound.help_text = self.currency, ""
            elif unit := getattr(field, "unit", ""):
                bound.unit = unit

    def full_clean(self) -> None:
        if not self.quiet:
            super().full_clean()
            return
        self._errors = ErrorDict()
        self.cleaned_data = {}

    def hush(self) -> None:
        """Nothing counts here: leave it as it is, without a word."""
        self.quiet = True
        self.full_clean()

    def typed(self, name: str) -> str:
        return str(self.data.get(self.add_prefix(name), "")).strip()

    def says_something(self, *names: str) -> bool:
        """Whether any of these fields (or any at all) holds something."""
        wanted = names or [name for name in self.fields if name not in self.silent]
        return any(self.typed(name) for name in wanted)

    def needs_attention(self, *names: str) -> bool:
        """Whether a fold with these fields stands open: it holds something, or has an error."""
        return any(
            self.typed(name) or name in self.errors or getattr(self[name], "remarks", None)
            for name in names
        )

    def place_in_words(self) -> str:
        """What is said before a field's name in the list of what is wrong."""
        return ""

    def attach(self, name: str, remark: object) -> None:
        bound: Any = self[name]
        bound.remarks = [*getattr(bound, "remarks", []), remark]


def percent(label: str, most: int = 100, **kwargs: Any) -> forms.DecimalField:
    field = forms.DecimalField(
        label=label, required=False, min_value=0, max_value=most, max_digits=4, decimal_places=1,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}), **kwargs,
    )  # fmt: skip
    field.unit = "%"  # type: ignore[attr-defined]
    return field


def day(label: str, **kwargs: Any) -> DayField:
    return DayField(label=label, required=False, **kwargs)


def time_of_day(label: str, **kwargs: Any) -> forms.TimeField:
    return forms.TimeField(
        label=label, required=False, widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        input_formats=["%H:%M", "%H.%M", "%H%M", "%H:%M:%S", "%I:%M %p"],
        error_messages={"invalid": "Type the time like 14:30."}, **kwargs,
    )  # fmt: skip


def note(label: str, rows: int = 2, **kwargs: Any) -> forms.CharField:
    return forms.CharField(
        label=label, required=False, max_length=LONG_NOTE,
        widget=forms.Textarea(attrs={"rows": rows}), **kwargs,
    )  # fmt: skip


def amount_text(label: str, example: str = "", **kwargs: Any) -> forms.CharField:
    attrs = {"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
    if example:
        attrs["placeholder"] = example
    return forms.CharField(
        label=label, required=False, max_length=120, widget=forms.TextInput(attrs=attrs), **kwargs
    )


def read_amount(text: str, system: UnitSystem | str) -> Amount:
    """An amount as people say it, or what is wrong with it as the form's own error."""
    try:
        return parse_amount(text, system)
    except QuantityError as error:
        raise ValidationError(str(error), code=error.code) from error
