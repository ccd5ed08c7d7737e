"""Tables and filters of the cost pages."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any

import django_filters as filters
import django_tables2 as tables
from django import forms
from django.db.models import Q, QuerySet

from materials.money import from_minor, show_money
from properties.access import properties_for
from properties.models import Building, Property
from repairs.models import CostLine

NUMBER = {"td": {"class": "num"}}
DAY = forms.DateInput(attrs={"type": "date"})


class BuildingCostTable(tables.Table):
    name = tables.Column("Building", linkify=("cost-building", [tables.A("pk")]))
    property = tables.Column(accessor="property__name", verbose_name="Property")
    year_built = tables.Column("Built", accessor="year_in_words", order_by="year_built")
    lines = tables.Column("Cost lines", accessor="line_count", attrs=NUMBER)
    cost = tables.Column("Lifetime cost", accessor="cost_minor", attrs=NUMBER)
    currency = tables.Column(accessor="property__currency", visible=False)

    class Meta:
        model = Building
        fields = ("name", "property", "year_built", "lines", "cost", "currency")
        empty_text = (
            "No building has a cost yet. Costs come from logged repairs, or are added by hand "
            "on a building's page."
        )

    def render_cost(self, value: int, record: Building) -> str:
        return show_money(value, record.property.currency)

    def value_cost(self, value: int, record: Building) -> Decimal:
        return from_minor(value, record.property.currency)


class CostLineTable(tables.Table):
    counts_on = tables.Column(
        "Counts on",
        linkify=("cost-line-detail", [tables.A("pk")]),
        attrs={"td": {"class": "date"}},
        footer="All of these lines",
    )
    place = tables.Column("Building", accessor="building__name")
    property = tables.Column("Property", accessor="building__property__name")
    member = tables.Column("Member", accessor="member__mark", default="")
    kind = tables.Column()
    description = tables.Column(default="", attrs={"td": {"class": "fine"}})
    supplier = tables.Column(default="", attrs={"td": {"class": "fine wide-only"}})
    amount = tables.Column(
        "Amount",
        accessor="amount_minor",
        attrs=NUMBER,
        order_by="home_minor",
        footer=lambda table: table.sum_in_words,
    )
    # Only in the files: figures and days that a bookkeeper adds up by.
    currency = tables.Column(visible=False)
    home = tables.Column("Counts as", accessor="home_minor", visible=False)
    home_currency = tables.Column(
        "Counts in", accessor="building__property__currency", visible=False
    )
    worked_on = tables.Column("Day of the work", visible=False, default="")
    invoiced_on = tables.Column("Day of the invoice", visible=False, default="")
    paid_on = tables.Column("Day of payment", visible=False, default="")
    entered_at = tables.Column("Entered", visible=False)
    invoice = tables.Column("Invoice number", visible=False, default="")

    class Meta:
        model = CostLine
        fields = (
            "counts_on",
            "place",
            "property",
            "member",
            "kind",
            "description",
            "supplier",
            "amount",
            "currency",
            "home",
            "home_currency",
            "worked_on",
            "invoiced_on",
            "paid_on",
            "entered_at",
            "invoice",
        )
        order_by = "-counts_on"
        row_attrs = {"class": lambda record: "struck" if record.is_taken_back else ""}
        empty_text = "No cost line fits. Show all, or add the first on a building's cost page."

    def __init__(self, *args: Any, sum_in_words: str = "", **kwargs: Any) -> None:
        """`sum_in_words` is that of all lines of the list, which may have many pages."""
        self.sum_in_words = sum_in_words
        super().__init__(*args, **kwargs)

    def render_counts_on(self, value: Any) -> str:
        return f"{value:%-d %B %Y}"

    def value_counts_on(self, value: Any) -> str:
        return str(value.isoformat())

    def render_amount(self, value: int, record: CostLine) -> str:
        """As it counts; what was paid in another currency stands behind it."""
        paid, home = show_money(value, record.currency), record.building.property.currency
        if record.currency == home:
            return paid
        return f"{show_money(record.home_minor, home)} ({paid})"

    def value_amount(self, value: int, record: CostLine) -> Decimal:
        return from_minor(value, record.currency)

    def value_home(self, value: int, record: CostLine) -> Decimal:
        return from_minor(value, record.building.property.currency)

    def value_worked_on(self, value: date) -> str:
        return value.isoformat()

    def value_invoiced_on(self, value: date) -> str:
        return value.isoformat()

    def value_paid_on(self, value: date) -> str:
        return value.isoformat()

    def value_entered_at(self, value: datetime) -> str:
        return value.isoformat(timespec="minutes")


class BuildingCostFilter(filters.FilterSet):
    property = filters.ModelChoiceFilter(queryset=Property.objects.none(), empty_label="All")
    q = filters.CharFilter(
        max_length=200,
        label="Building or property",
        method="holds",
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    first = filters.DateFilter(label="From", method="dated", widget=DAY)
    last = filters.DateFilter(label="To", method="dated", widget=DAY)

    class Meta:
        model = Building
        fields = ("property", "q")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.filters["property"].queryset = properties_for(self.request.user)

    def holds(self, queryset: QuerySet[Building], name: str, value: str) -> QuerySet[Building]:
        return queryset.filter(Q(name__icontains=value) | Q(property__name__icontains=value))

    def dated(self, queryset: QuerySet[Building], name: str, value: Any) -> QuerySet[Building]:
        return queryset  # The view sums over these days; they pick no buildings.
