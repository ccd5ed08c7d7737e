"""What the years ahead are asked for: which properties, how many years, prices and a reserve."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any, cast
from urllib.parse import urlencode

from django import forms
from django.contrib.auth.models import AnonymousUser, User
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.http import QueryDict

from materials.money import to_minor
from materials.money_fields import MoneyField
from properties.access import owners_for, properties_for
from properties.models import Owner, Ownership
from properties.models.owners import PropertyQuerySet
from repairs.ahead.figures import MOST_YEARS, Asked
from repairs.ahead.money import LEAST_RISE_PCT, MOST_RISE_PCT
from repairs.ahead.reserve import LEAST_INTEREST_PCT, MOST_INTEREST_PCT

USUAL_YEARS = 10
MOST_TO_TICK = 200
NOTHING = "Empty: nothing."
# What an address keeps from one page of the years ahead to the next.
ASKED = ("years", "rise", "reserve", "interest")


def kept_query(typed: QueryDict) -> str:
    """`?years=20&rise=3`: what goes along from page to page; empty where nothing was typed."""
    kept = {name: typed[name] for name in ASKED if typed.get(name)}
    return f"?{urlencode(kept)}" if kept else ""


class PercentField(forms.DecimalField):
    """Cleans `3`, `3.5`, `3,5` or `3.5 %` to a Decimal; empty cleans to None."""

    unit = "%"

    def __init__(self, *, least: Decimal, most: Decimal, **kwargs: Any) -> None:
        lowest = str(least).replace("-", "−")
        sentence = f"Type a rate from {lowest} to {most} percent a year, such as 3.5."
        kwargs["error_messages"] = dict.fromkeys(
            ("invalid", "min_value", "max_value", "max_digits", "max_decimal_places",
             "max_whole_digits"), sentence,
        )  # fmt: skip
        super().__init__(
            required=False, min_value=least, max_value=most, max_digits=5,
            decimal_places=2, widget=forms.TextInput(attrs=DECIMAL), **kwargs,
        )  # fmt: skip

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str):
            value = value.strip().removesuffix("%").strip().replace("−", "-")
            value = value.replace(",", ".") if value.count(",") == 1 else value
        return super().to_python(value)


DECIMAL = {"inputmode": "decimal", "autocomplete": "off"}


class YearsForm(forms.Form):
    """One wrong figure leaves the others standing, and its usual value in its place."""

    years = forms.IntegerField(
        label="Years", min_value=1, max_value=MOST_YEARS,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value"),
            f"Type a whole number of years from 1 to {MOST_YEARS}.",
        ),
    )  # fmt: skip
    rise = PercentField(
        label="Prices rise a year", least=LEAST_RISE_PCT, most=MOST_RISE_PCT,
        help_text="Empty: only today's money is told.",
    )  # fmt: skip
    reserve = MoneyField(
        label="Already in the reserve", required=False, help_text=NOTHING,
    )  # fmt: skip
    interest = PercentField(
        label="It earns a year", least=LEAST_INTEREST_PCT, most=MOST_INTEREST_PCT,
        help_text=NOTHING,
    )  # fmt: skip

    def __init__(self, typed: QueryDict, currencies: Iterable[str] = (), **kwargs: Any) -> None:
        shown = typed.copy()
        shown.setdefault("years", str(USUAL_YEARS))
        super().__init__(shown, **kwargs)
        self.currencies = sorted(set(currencies))
        for name in ("rise", "interest"):
            bound: Any = self[name]
            bound.unit = PercentField.unit
        if len(self.currencies) == 1:
            cast(MoneyField, self.fields["reserve"]).set_currency(self.currencies[0])
            bound = self["reserve"]
            bound.unit, bound.help_text = self.currencies[0], NOTHING

    def clean_reserve(self) -> Decimal | None:
        reserve: Decimal | None = self.cleaned_data["reserve"]
        if reserve and len(self.currencies) > 1:
            raise ValidationError(
                "A reserve is in one currency, and these properties have "
                f"{' and '.join(self.currencies)}. Choose properties of one currency.",
                code="currencies",
            )
        return reserve

    def asked(self, first: date) -> Asked:
        self.is_valid()
        typed = self.cleaned_data
        reserve = typed.get("reserve") if len(self.currencies) == 1 else None
        return Asked(
            first=first,
            years=typed.get("years") or USUAL_YEARS,
            price_rise_pct=typed.get("rise"),
            reserve_minor=to_minor(reserve, self.currencies[0]) if reserve else 0,
            deposit_pct=typed.get("interest") or Decimal(0),
        )


class TickedField(forms.MultipleChoiceField):
    """Rows by their number; what is not among the choices is judged by the form."""

    def valid_value(self, value: str) -> bool:
        return True


class PlacesForm(forms.Form):
    """Which of the properties that a person may see; with nothing chosen, all of them."""

    q = forms.CharField(
        label="Property, address or owner", required=False, max_length=200,
        widget=forms.TextInput(attrs={"type": "search"}),
    )  # fmt: skip
    owner = forms.ModelChoiceField(
        Owner.objects.none(), required=False, empty_label="Any", label="Held for",
        error_messages={"invalid_choice": "Choose one of these owners."},
    )  # fmt: skip
    property = TickedField(
        label="Only those ticked", required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, typed: QueryDict, user: User | AnonymousUser, on: date) -> None:
        super().__init__(typed)
        self.on, self.seen = on, properties_for(user).looked_after(on)
        cast(forms.ModelChoiceField, self.fields["owner"]).queryset = owners_for(user)
        self.ticked = {int(pk) for pk in typed.getlist("property") if _is_number(pk)}
        found = list(self.narrowed().values_list("pk", "name")[: MOST_TO_TICK + 1])
        self.too_many = len(found) > MOST_TO_TICK
        ticks = cast(forms.MultipleChoiceField, self.fields["property"])
        ticks.choices = [(str(pk), name) for pk, name in found[:MOST_TO_TICK]]

    def clean_property(self) -> list[str]:
        ticked: list[str] = self.cleaned_data["property"]
        if len(set(ticked)) > self.seen.filter(pk__in=self.ticked).count():
            raise ValidationError(
                "A property that was ticked is not here to choose. Tick again.", code="gone"
            )
        return ticked

    def narrowed(self) -> PropertyQuerySet:
        """By words and owner, before the ticks."""
        self.is_valid()
        found = self.seen
        if owner := self.cleaned_data.get("owner"):
            found = found.held_by(owner, self.on)
        for word in (self.cleaned_data.get("q") or "").split()[:8]:
            held = Ownership.objects.current().filter(owner__name__icontains=word)
            found = found.filter(
                Q(name__icontains=word)
                | Q(address__icontains=word)
                | Q(pk__in=held.values("property"))
            )
        return found

    def chosen(self) -> PropertyQuerySet:
        found = self.narrowed()
        return found.filter(pk__in=self.ticked) if self.ticked else found


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) <= 18
