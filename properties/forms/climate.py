"""The form for what the months of a place are like."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from config.quantities import Quantity, UnitSystem, usual_unit
from config.quantity_fields import QuantityField, apply_units
from properties.models import MonthlyNormal

from .records import FIGURE_MESSAGES

MONTHS = range(1, 13)


@dataclass(frozen=True)
class TypedMonth:
    """One month as it is typed."""

    name: str
    mean: BoundField
    days: BoundField


class NormalsForm(forms.Form):
    """Twelve months at once; what is wrong with one keeps all of them from being written."""

    source = forms.CharField(
        label="Where these figures were read",
        max_length=300,
        help_text="Which station and which years; means over thirty years are usual.",
    )

    def __init__(
        self, *args: Any, units: UnitSystem | str, normals: Iterable[MonthlyNormal], **kwargs: Any
    ) -> None:
        kept = list(normals)
        initial: dict[str, Any] = {"source": kept[0].source if kept else ""}
        for normal in kept:
            initial[f"mean_{normal.month}"] = normal.mean_c
            initial[f"days_{normal.month}"] = f"{normal.rain_days.normalize():f}"
        kwargs["initial"] = initial
        super().__init__(*args, **kwargs)
        for month in MONTHS:
            self.fields[f"mean_{month}"] = _mean_field(
                month_name[month], usual_unit(Quantity.TEMPERATURE, units)
            )
            self.fields[f"days_{month}"] = _days_field(month)
        apply_units(self, units)

    def months(self) -> Iterator[TypedMonth]:
        for month in MONTHS:
            yield TypedMonth(month_name[month], self[f"mean_{month}"], self[f"days_{month}"])

    def typed(self) -> list[MonthlyNormal]:
        """The twelve months as cleaned, not yet of any property."""
        return [
            MonthlyNormal(
                month=month,
                mean_c=self.cleaned_data[f"mean_{month}"],
                rain_days=self.cleaned_data[f"days_{month}"],
                source=self.cleaned_data["source"],
            )
            for month in MONTHS
        ]


def _mean_field(name: str, unit: str) -> QuantityField:
    return QuantityField(
        Quantity.TEMPERATURE,
        label=f"{name}, mean air in {unit}",
        min_value=Decimal(-60),
        max_value=Decimal(50),
        hint=False,
    )


def _days_field(month: int) -> forms.DecimalField:
    longest = {2: 29, 4: 30, 6: 30, 9: 30, 11: 30}.get(month, 31)
    return forms.DecimalField(
        label=f"{month_name[month]}, days with rain",
        min_value=0,
        max_value=longest,
        decimal_places=1,
        max_digits=4,
        error_messages=FIGURE_MESSAGES,
        widget=forms.NumberInput(attrs={"step": "0.1", "inputmode": "decimal"}),
    )
