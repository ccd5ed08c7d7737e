"""What one job costs at a property, a row for each kind; all rows are judged before one is kept."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256
from typing import Any, cast

from django import forms
from django.db import transaction

from materials.money import from_minor, minor_if_any, show_money
from materials.money_fields import MoneyField
from properties.models import Property
from repairs.models import WorkRate

What = WorkRate.What
WORK = [(per.value, per.label) for per in (WorkRate.Per.MEMBER, WorkRate.Per.METRE)]
ACCESS = [(per.value, per.label) for per in (WorkRate.Per.ELEVATION, WorkRate.Per.AREA)]
AMOUNTS = ("low", "likely", "high")


class RateForm(forms.Form):
    """One row. With nothing typed in it there is no such rate."""

    likely = MoneyField(label="Likely", required=False)
    per = forms.ChoiceField(label="For")
    low = MoneyField(label="At least", required=False)
    high = MoneyField(label="At most", required=False)
    source = forms.CharField(
        label="Where it comes from", required=False, max_length=300,
        widget=forms.TextInput(attrs={"placeholder": "Quotation of 4 May 2026"}),
    )  # fmt: skip

    shown = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def __init__(
        self, what: WorkRate.What, currency: str, kept: WorkRate | None, typed: Any
    ) -> None:
        self.what, self.currency, self.kept = what, currency, kept
        shown = {"shown": mark_of(_figures_of(kept))}
        super().__init__(typed, prefix=what.value, initial=_initial(kept, currency) | shown)
        choices = ACCESS if what.value in WorkRate.ACCESS else WORK
        cast(forms.ChoiceField, self.fields["per"]).choices = choices
        for name in AMOUNTS:
            cast(MoneyField, self.fields[name]).set_currency(currency)
            bound: Any = self[name]
            bound.unit, bound.help_text = currency, ""

    def is_empty(self) -> bool:
        """Whether neither an amount nor a source is typed."""
        return not any(
            str(self.data.get(self.add_prefix(name), "")).strip() for name in (*AMOUNTS, "source")
        )

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        if self.is_changed_by_another() and not self.is_as_shown():
            self._tell_change()
        if self.is_empty():
            return typed
        low, likely, high = (typed.get(name) for name in AMOUNTS)
        if likely is None and "likely" not in self.errors:
            self.add_error("likely", "Type what it likely costs, or empty the whole row.")
        elif likely is not None and likely <= 0:
            self.add_error("likely", "A rate is above zero. Empty the whole row to have none.")
        if low is not None and likely is not None and low > likely:
            self.add_error("low", "The least is not above the likely.")
        if high is not None and likely is not None and high < likely:
            self.add_error("high", "The most is not below the likely.")
        if not typed.get("source") and "source" not in self.errors:
            self.add_error("source", "Say where it comes from, such as a quotation and its day.")
        return typed

    def is_changed_by_another(self) -> bool:
        """Since the page was shown, as far as what was sent tells of what it showed."""
        shown = self.cleaned_data.get("shown")
        return bool(shown) and shown != mark_of(_figures_of(self.kept))

    def _tell_change(self) -> None:
        now = "there is none any more"
        if self.kept is not None:
            likely = show_money(self.kept.likely_minor, self.currency)
            now = f"it is now {likely} for {self.kept.get_per_display()}"
        self.add_error(
            "likely",
            f"Somebody changed this rate since the page was opened: {now}. Look yours over, and "
            "save again to keep it.",
        )
        # What is sent next was typed in sight of it.
        self.data = {**self.data, self.add_prefix("shown"): mark_of(_figures_of(self.kept))}

    def is_as_shown(self) -> bool:
        """Whether nothing was typed in it: such a row leaves the rate as it is."""
        if self.errors:
            return False
        typed = None if self.is_empty() else self.figures()
        return self.cleaned_data.get("shown") == mark_of(typed)

    def figures(self) -> dict[str, Any]:
        typed = self.cleaned_data
        amounts = {f"{name}_minor": minor_if_any(typed[name], self.currency) for name in AMOUNTS}
        return {**amounts, "per": typed["per"], "source": typed["source"]}


def _initial(kept: WorkRate | None, currency: str) -> dict[str, Any]:
    if kept is None:
        return {}
    amounts = {name: getattr(kept, f"{name}_minor") for name in AMOUNTS}
    shown = {
        name: from_minor(minor, currency) for name, minor in amounts.items() if minor is not None
    }
    return {**shown, "per": kept.per, "source": kept.source}


def _figures_of(kept: WorkRate | None) -> dict[str, Any] | None:
    names = (*(f"{name}_minor" for name in AMOUNTS), "per", "source")
    return None if kept is None else {name: getattr(kept, name) for name in names}


def mark_of(figures: dict[str, Any] | None) -> str:
    """By which a rate is known again when a page comes back: the same for the same figures."""
    told = "none" if figures is None else repr(sorted(figures.items()))
    return sha256(told.encode()).hexdigest()


class RatesForm:
    """All rows of a property. `typed` is None while the page is only read."""

    def __init__(self, of: Property, typed: Mapping[str, Any] | None = None) -> None:
        self.property = of
        kept = {rate.what: rate for rate in of.work_rates.all()}
        self.rows = [RateForm(what, of.currency, kept.get(what), typed) for what in What]
        self.sent, self.kept_count = typed is not None, len(kept)

    @property
    def errors(self) -> bool:
        return self.sent and any(row.errors for row in self.rows)

    def is_valid(self) -> bool:
        """Every row is judged, also after a wrong one: all that is wrong is told at once."""
        verdicts = [row.is_valid() for row in self.rows]
        return self.sent and all(verdicts)

    @transaction.atomic
    def save(self) -> int:
        """Keep what is new or different, drop what was emptied; how many rows that was."""
        Property.objects.select_for_update().get(pk=self.property.pk)
        kept = {rate.what: rate for rate in self.property.work_rates.all()}
        return sum([self._save(row, kept.get(row.what.value)) for row in self.rows])

    def _save(self, row: RateForm, kept: WorkRate | None) -> bool:
        if row.is_as_shown():
            return False
        if row.is_empty():
            if kept is not None:
                kept.delete()
            return kept is not None
        rate = kept or WorkRate(property=self.property, what=row.what.value)
        figures = row.figures()
        if kept is not None and all(getattr(kept, name) == figures[name] for name in figures):
            return False
        for name, value in figures.items():
            setattr(rate, name, value)
        rate.save()
        return True
