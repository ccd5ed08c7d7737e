"""What the lists of this app can be narrowed by."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from properties.access import owners_for, properties_for
from properties.classes import URGENCY_CHOICES
from properties.models import Defect, Owner, Property

SEARCH = forms.TextInput(attrs={"type": "search"})


def holding_words(rows: QuerySet[Any], text: str, *names: str) -> QuerySet[Any]:
    """Rows that hold every word of the text in one of the named columns."""
    for word in text.split()[:8]:
        any_column = Q()
        for name in names:
            any_column |= Q(**{f"{name}__icontains": word})
        rows = rows.filter(any_column)
    return rows


class PropertyFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        max_length=200, method="search", label="Name, address or owner", widget=SEARCH
    )
    owner = django_filters.ModelChoiceFilter(
        queryset=Owner.objects.none(), method="held_by", label="Owner now", empty_label="Any owner"
    )
    show = django_filters.ChoiceFilter(
        choices=[("given_up", "Given up"), ("all", "All")],
        method="leave",
        label="Show",
        empty_label="Looked after",
    )

    class Meta:
        model = Property
        fields: list[str] = []

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on
        if self.request is not None:
            self.filters["owner"].queryset = owners_for(self.request.user)

    def filter_queryset(self, queryset: QuerySet[Property]) -> QuerySet[Property]:
        found = super().filter_queryset(queryset)
        shown = self.form.cleaned_data.get("show")
        if shown == "all":
            return found
        looked_after = Property.objects.looked_after(self.on)
        if shown == "given_up":
            return found.exclude(pk__in=looked_after)
        return found.filter(pk__in=looked_after)

    def leave(self, queryset: QuerySet[Property], name: str, value: str) -> QuerySet[Property]:
        """Judged once all is known, in `filter_queryset`."""
        return queryset

    def search(self, queryset: QuerySet[Property], name: str, value: str) -> QuerySet[Property]:
        return holding_words(queryset, value, "name", "address", "owner_now")

    def held_by(self, queryset: QuerySet[Property], name: str, value: Owner) -> QuerySet[Property]:
        held = Property.objects.held_by(value, self.on)
        return queryset.filter(pk__in=held)


class OwnerFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(max_length=200, method="search", label="Name", widget=SEARCH)

    class Meta:
        model = Owner
        fields: list[str] = []

    def search(self, queryset: QuerySet[Owner], name: str, value: str) -> QuerySet[Owner]:
        return holding_words(queryset, value, "name")


NO_URGENCY = "none"


class DefectFilter(django_filters.FilterSet):
    """Without a state chosen, what is still to be made good on what still stands."""

    q = django_filters.CharFilter(
        max_length=200, method="search", label="Mark, building, kind or cause", widget=SEARCH
    )
    property = django_filters.ModelChoiceFilter(
        field_name="member__building__property",
        queryset=lambda request: properties_for(request.user),
        empty_label="All",
        label="Property",
    )
    urgency = django_filters.ChoiceFilter(
        choices=[*reversed(URGENCY_CHOICES), (NO_URGENCY, "Not recorded")],
        method="of_urgency",
        label="Urgency",
        empty_label="Any",
    )
    state = django_filters.ChoiceFilter(
        choices=[*Defect.State.choices, ("all", "All, also of what is gone")],
        method="leave",
        label="State",
        empty_label="Still to make good",
    )

    class Meta:
        model = Defect
        fields: list[str] = []

    def filter_queryset(self, queryset: QuerySet[Defect]) -> QuerySet[Defect]:
        found = super().filter_queryset(queryset)
        state = self.form.cleaned_data.get("state")
        if state == "all":
            return found
        chosen = Defect.objects.filter(state=state) if state else Defect.objects.outstanding()
        return found.filter(pk__in=chosen.on_what_stands().values("pk"))

    def leave(self, queryset: QuerySet[Defect], name: str, value: str) -> QuerySet[Defect]:
        """Judged once all is known, in `filter_queryset`."""
        return queryset

    def search(self, queryset: Any, name: str, value: str) -> QuerySet[Defect]:
        return queryset.matching(value)

    def of_urgency(self, queryset: QuerySet[Defect], name: str, value: str) -> QuerySet[Defect]:
        return queryset.filter(urgency="" if value == NO_URGENCY else value)
