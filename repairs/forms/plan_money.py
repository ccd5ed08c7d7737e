"""The money of a plan: hours, access, and the options that are compared."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from materials.money import minor_if_any
from materials.money_fields import MoneyField
from repairs.models import Plan, PlanOption

from .log_base import BlockForm
from .log_money import HoursField


def money(label: str, **kwargs: Any) -> MoneyField:
    return MoneyField(label=label, required=False, **kwargs)


def number(label: str, least: str, most: str, unit: str, **kwargs: Any) -> forms.DecimalField:
    field = forms.DecimalField(
        label=label, required=False, min_value=Decimal(least), max_value=Decimal(most),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}), **kwargs,
    )  # fmt: skip
    field.unit = unit  # type: ignore[attr-defined]
    return field


def years(label: str, most: str = "500") -> forms.DecimalField:
    return number(label, "0.1", most, "years", max_digits=5, decimal_places=1)


class LabourForm(BlockForm):
    hours = HoursField(
        label="Hours of labour", required=False, max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off", "placeholder": "2.5"}),
    )  # fmt: skip
    rate = money("Rate for an hour")
    access = money("Access: ladder, tower, scaffold")

    def figures(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        return {
            "labour_hours": cleaned["hours"],
            "labour_rate_minor": minor_if_any(cleaned["rate"], self.currency),
            "access_minor": minor_if_any(cleaned["access"], self.currency),
        }


class StudyForm(BlockForm):
    study_years = forms.IntegerField(
        label="Compared over", min_value=1, max_value=100,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )  # fmt: skip
    real_rate = number("Real rate a year", "-5", "25", "%", max_digits=5, decimal_places=2)
    price_rise = number("Rise of prices a year", "-5", "25", "%", max_digits=5, decimal_places=2)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        bound: Any = self["study_years"]
        bound.unit = "years"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for name in ("real_rate", "price_rise"):
            if cleaned.get(name) is None and name not in self.errors:
                message = "Type a rate in percent, such as 3.5; 0 for none."
                self.add_error(name, ValidationError(message, code="required"))
        return cleaned

    def figures(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        return {
            "study_years": cleaned["study_years"],
            "real_rate_pct": cleaned["real_rate"],
            "price_rise_pct": cleaned["price_rise"],
        }


class OptionForm(BlockForm):
    """One way to deal with the defect; it counts once its first cost or its life is typed."""

    first = money("To do it once, access apart")
    life_years = years("Expected life")
    access = money("Access each time")
    life_low_years = years("At worst")
    life_high_years = years("At best")
    upkeep = money("Upkeep a year")
    repaint = money("Each repaint")
    repaint_years = years("Years between repaints", "100")
    spread = number("How far the cost may be off", "0", "100", "%", max_digits=4, decimal_places=1)

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind = kind

    def title(self) -> str:
        return str(PlanOption.Kind(self.kind).label)

    def place_in_words(self) -> str:
        return f"{self.title()}, "

    def counts(self) -> bool:
        return self.says_something("first", "life_years")

    def is_open(self) -> bool:
        return self.counts() or bool(self.errors)

    def more_open(self) -> bool:
        names = ("life_low_years", "life_high_years", "upkeep", "repaint", "repaint_years")
        return any(name in self.errors for name in (*names, "spread", "access"))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        wanted = {
            "first": "Type what it costs to do it once, 0 if nothing.",
            "life_years": "Type how many years it is expected to last.",
        }
        for name, sentence in wanted.items():
            if cleaned.get(name) is None and name not in self.errors:
                self.add_error(name, ValidationError(sentence, code="required"))
        life = cleaned.get("life_years")
        low, high = cleaned.get("life_low_years"), cleaned.get("life_high_years")
        if life is not None and low is not None and low > life:
            self.add_error("life_low_years", "At worst it lasts no longer than expected.")
        if life is not None and high is not None and high < life:
            self.add_error("life_high_years", "At best it lasts no shorter than expected.")
        return cleaned

    def row(self, plan: Plan) -> PlanOption:
        cleaned = self.cleaned_data
        spread = cleaned["spread"]
        return PlanOption(
            plan=plan,
            kind=self.kind,
            **{
                f"{name}_minor": minor_if_any(cleaned[name], self.currency) or 0
                for name in ("first", "access", "upkeep", "repaint")
            },
            **{
                name: cleaned[name]
                for name in ("life_years", "life_low_years", "life_high_years", "repaint_years")
            },
            cost_spread_pct=Decimal(20) if spread is None else spread,
        )
