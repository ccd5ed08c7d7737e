"""Form fields for figures with a unit: typed and shown in the reader's units, cleaned to ours."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.quantities import (
    Quantity,
    QuantityError,
    UnitSystem,
    example_of,
    parse,
    parse_duration,
    show,
    show_duration,
    show_exactly,
    usual_unit,
)

PLACES: Mapping[Quantity, int] = {
    Quantity.LENGTH: 2,
    Quantity.AREA: 3,
    Quantity.MASS: 3,
    Quantity.VOLUME: 3,
    Quantity.TEMPERATURE: 1,
    Quantity.DENSITY: 4,
}
Measure = Decimal | timedelta


class FigureField(forms.CharField):
    """Text that cleans to a figure between a least and a greatest, each None where any passes."""

    least: Any = None
    greatest: Any = None

    def _shown(self, value: Any) -> str:
        """A limit as the reader knows it."""
        raise NotImplementedError

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value is None:
            return
        if self.least is not None and value < self.least:
            raise ValidationError(f"This must be at least {self._shown(self.least)}.", "min_value")
        if self.greatest is not None and value > self.greatest:
            raise ValidationError(
                f"This must be at most {self._shown(self.greatest)}.", "max_value"
            )

    def run_validators(self, value: Any) -> None:
        """The validators of text (no null characters) would look at a number."""


class QuantityField(FigureField):
    """Cleans to a Decimal in the unit kept, or to a timedelta; empty cleans to None.

    The least and greatest value are in the unit kept. A system set later, by `apply_units`,
    changes how the field shows and reads, also its help."""

    def __init__(
        self,
        kind: Quantity,
        *,
        system: UnitSystem | str = UnitSystem.METRIC,
        min_value: Measure | None = None,
        max_value: Measure | None = None,
        places: int | None = None,
        hint: bool = True,
        help_text: str = "",
        **kwargs: Any,
    ) -> None:
        self.kind = kind
        self.least, self.greatest = min_value, max_value
        self.places = PLACES.get(kind, 0) if places is None else places
        self.hint, self.own_help = hint, help_text
        super().__init__(**kwargs)
        self.set_system(system)

    def set_system(self, system: UnitSystem | str) -> None:
        self.system = system
        self.help_text = " ".join(part for part in (self.own_help, self._unit_help()) if part)

    def _unit_help(self) -> str:
        if not self.hint:
            return ""
        example = example_of(self.kind, self.system)
        if self.kind is Quantity.DURATION:
            return f"Such as {example}."
        unit = usual_unit(self.kind, self.system)
        return f"Such as {example}. A bare number is in {'inches' if unit == 'in' else unit}."

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {
            **super().widget_attrs(widget),
            "autocomplete": "off",
            "autocapitalize": "none",
            "spellcheck": "false",
        }

    def to_python(self, value: Any) -> Any:
        if isinstance(value, Decimal | timedelta):
            return value
        text = super().to_python(value)
        if not text:
            return None
        try:
            if self.kind is Quantity.DURATION:
                return parse_duration(text)
            return self._kept(parse(text, self.kind, self.system))
        except QuantityError as error:
            raise ValidationError(str(error), code=error.code) from error

    def _kept(self, value: Decimal) -> Decimal:
        return value.quantize(Decimal(1).scaleb(-self.places), ROUND_HALF_UP)

    def _shown(self, value: Measure) -> str:
        if isinstance(value, timedelta):
            return show_duration(value)
        return show(value, self.kind, self.system)

    def prepare_value(self, value: Any) -> Any:
        """A figure kept is shown so that reading it gives it back; typed text stays as typed."""
        if isinstance(value, timedelta):
            return show_duration(value)
        if isinstance(value, Decimal | int | float) and not isinstance(value, bool):
            return show_exactly(Decimal(str(value)), self.kind, self.system, self.places)
        return value

    def has_changed(self, initial: Any, data: Any) -> bool:
        if self.disabled:
            return False
        try:
            typed = self.to_python(data)
        except ValidationError:
            return True
        if isinstance(initial, str):
            initial = self.to_python(initial)
        if isinstance(initial, Decimal | int | float):
            initial = self._kept(Decimal(str(initial)))
        return bool(typed != initial)


def apply_units(
    form: forms.BaseForm, system: UnitSystem | str, currency: str | None = None
) -> None:
    """Set the units, and the currency if given, of every field of a form that has them."""
    for field in form.fields.values():
        if isinstance(field, QuantityField):
            field.set_system(system)
        elif currency is not None and hasattr(field, "set_currency"):
            field.set_currency(currency)
