"""Which cost lines a list shows: what a person picks, and what an opened figure asks for."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import django_filters as filters
from django import forms
from django.core.validators import RegexValidator
from django.db.models import Q, QuerySet

from properties.access import properties_for
from properties.models import Building, Defect, Member, Property
from repairs.costs.areas import measured, on_elevations
from repairs.costs.divisions import TAX_RECORDED
from repairs.costs.shares import NONE
from repairs.models import CostLine, Repair
from repairs.models.costs import CostLineQuerySet
from repairs.tables.costs import DAY

NUMBERS = RegexValidator(
    rf"^(\d{{1,18}}|{NONE})(,(\d{{1,18}}|{NONE}))*$",
    "This address is not one of ours. Show all lines, and choose anew.",
)
CURRENCY = RegexValidator(r"^[A-Z]{3}$", "A currency is three letters, such as GBP.")
NO_REPAIR, NO_MEMBER = (NONE, "not on a repair"), (NONE, "not tied to a member")
NOT_SAID = (NONE, "neither capital nor revenue said")


def _chosen(field_name: str, choices: Iterable[tuple[str, Any]]) -> filters.ChoiceFilter:
    return filters.ChoiceFilter(
        field_name=field_name, choices=list(choices), method="is_or_none",
        widget=forms.HiddenInput,
    )  # fmt: skip


def _numbers(method: str, field_name: str) -> filters.CharFilter:
    return filters.CharFilter(
        field_name=field_name, method=method, validators=[NUMBERS], max_length=2000,
        widget=forms.HiddenInput,
    )  # fmt: skip


class CostLineFilter(filters.FilterSet):
    """What only a figure asks for is hidden, and told in words above the list."""

    property = filters.ModelChoiceFilter(
        queryset=Property.objects.none(),
        field_name="building__property",
        label="Property",
        empty_label="All",
    )
    kind = filters.ChoiceFilter(choices=CostLine.Kind.choices, empty_label="All")
    first = filters.DateFilter(label="From", field_name="counts_on", lookup_expr="gte", widget=DAY)
    last = filters.DateFilter(label="To", field_name="counts_on", lookup_expr="lte", widget=DAY)
    q = filters.CharFilter(
        max_length=200,
        label="Mark, building, supplier or words",
        method="holds",
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    currency = filters.CharFilter(
        field_name="building__property__currency", validators=[CURRENCY],
        widget=forms.HiddenInput,
    )  # fmt: skip
    building = filters.ModelChoiceFilter(queryset=Building.objects.none(), widget=forms.HiddenInput)
    not_building = _numbers("is_none_of", "building")
    elevation = _numbers("is_one_of", "stands_on")
    not_elevation = _numbers("is_none_of", "stands_on")
    member = _numbers("is_one_of", "member")
    not_member = _numbers("is_none_of", "member")
    repair = _numbers("is_one_of", "repair")
    member_kind = _chosen("member__kind", [NO_MEMBER, *Member.Kind.choices])
    repair_kind = _chosen("repair__kind", [NO_REPAIR, *Repair.Kind.choices])
    cause = _chosen("cause", Defect.Cause.choices)
    year = filters.NumberFilter(min_value=1000, max_value=9999, widget=forms.HiddenInput)
    borne_by = _chosen("borne_by", CostLine.Bearer.choices)
    money_class = _chosen("money_class", [NOT_SAID, *CostLine.MoneyClass.choices[1:]])
    tax = filters.ChoiceFilter(
        choices=[("recorded", "with the tax within it"), (NONE, "without a tax recorded")],
        method="by_tax",
        widget=forms.HiddenInput,
    )
    areas = filters.ChoiceFilter(
        choices=[("known", "of buildings with an area for each elevation")],
        method="of_measured",
        widget=forms.HiddenInput,
    )

    class Meta:
        model = CostLine
        fields = ("property", "kind", "first", "last", "q")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.seen = properties_for(self.request.user)
        self.filters["property"].queryset = self.seen
        self.filters["building"].queryset = Building.objects.filter(property__in=self.seen)
        for name, each in list(self.filters.items()):
            if isinstance(each.extra.get("widget"), type) and not (self.data or {}).get(name):
                del self.filters[name]

    def holds(self, queryset: QuerySet[CostLine], name: str, value: str) -> QuerySet[CostLine]:
        return queryset.filter(
            Q(description__icontains=value)
            | Q(supplier__icontains=value)
            | Q(invoice__icontains=value)
            | Q(member__mark__icontains=value)
            | Q(building__name__icontains=value)
        )

    def is_or_none(self, lines: CostLineQuerySet, name: str, value: str) -> CostLineQuerySet:
        if value != NONE:
            return lines.filter(**{name: value})
        return lines.filter(**({name: ""} if name == "money_class" else {f"{name}__isnull": True}))

    def is_one_of(self, lines: CostLineQuerySet, name: str, value: str) -> CostLineQuerySet:
        return self._placed(lines, name).filter(_one_of(name, value))

    def is_none_of(self, lines: CostLineQuerySet, name: str, value: str) -> CostLineQuerySet:
        none = Q(**{f"{name}__isnull": True})
        others = ~Q(**{f"{name}__in": numbers_in(value)})
        kept = others & ~none if NONE in value.split(",") else others | none
        return self._placed(lines, name).filter(kept)

    def _placed(self, lines: CostLineQuerySet, name: str) -> Any:
        return on_elevations(lines) if name == "stands_on" else lines

    def by_tax(self, lines: CostLineQuerySet, name: str, value: str) -> CostLineQuerySet:
        return lines.filter(TAX_RECORDED[value])

    def of_measured(self, lines: CostLineQuerySet, name: str, value: str) -> CostLineQuerySet:
        buildings = Building.objects.filter(property__in=self.seen)
        return lines.filter(building__in=measured(buildings))


def _one_of(name: str, value: str) -> Q:
    found = Q(**{f"{name}__in": numbers_in(value)})
    return found | Q(**{f"{name}__isnull": True}) if NONE in value.split(",") else found


def numbers_in(value: str) -> list[int]:
    return [int(each) for each in value.split(",") if each != NONE]
