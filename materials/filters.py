"""What the lists of the stores can be narrowed by."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_filters
from django import forms
from django.db.models import Q

from materials.lot_state import SOON
from materials.models import Lot, Product
from materials.models.lot_queries import LotQuerySet
from materials.models.products import ProductQuerySet

SEARCH = forms.TextInput(attrs={"type": "search"})
STATES = (
    ("released", "Released"),
    ("soon", "Expires soon"),
    ("expired", "Expired"),
    ("low", "Runs low"),
    ("count", "Count needed"),
    ("held", "Held back"),
    ("emptied", "Used up or thrown away"),
)


class LotFilter(django_filters.FilterSet):
    """Of lots that stand alone; a kit fits when it, its A lot or its B lot does."""

    q = django_filters.CharFilter(
        max_length=200, method="search", label="Lot number or product", widget=SEARCH
    )
    product = django_filters.ModelChoiceFilter(
        queryset=Product.objects.all(), label="Product", empty_label="All"
    )
    kind = django_filters.ChoiceFilter(
        field_name="product__kind", choices=Product.Kind, label="Kind", empty_label="All"
    )
    state = django_filters.ChoiceFilter(
        method="standing", choices=STATES, label="State", empty_label="All in stores"
    )
    kept_at = django_filters.CharFilter(
        max_length=200, lookup_expr="icontains", label="Where kept", widget=SEARCH
    )

    class Meta:
        model = Lot
        fields: list[str] = []

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on

    def filter_queryset(self, queryset: LotQuerySet) -> LotQuerySet:
        found: LotQuerySet = super().filter_queryset(queryset)
        return found if self.form.cleaned_data.get("state") == "emptied" else found.kept()

    def search(self, queryset: LotQuerySet, name: str, value: str) -> LotQuerySet:
        numbered = Lot.objects.numbered_like(value)
        named = Lot.objects.filter(
            *(
                Q(product__name__icontains=word) | Q(product__maker__icontains=word)
                for word in value.split()[:8]
            )
        )
        return queryset.which_are_or_hold(
            Lot.objects.filter(Q(pk__in=numbered.values("pk")) | Q(pk__in=named.values("pk")))
        )

    def standing(self, queryset: LotQuerySet, name: str, value: str) -> LotQuerySet:
        lots = Lot.objects.all()
        if value == "released":
            return queryset.released().exclude(
                pk__in=queryset.which_are_or_hold(lots.barred(self.on))
            )
        found = {
            "soon": lots.expiring(self.on, self.on + SOON).unexpired(self.on),
            "expired": lots.expired(self.on),
            "low": lots.running_low(),
            "count": lots.needing_count(),
            "held": lots.held(),
            "emptied": lots.filter(emptied_on__isnull=False, parent__isnull=True),
        }
        return queryset.which_are_or_hold(found[value])


class ProductFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(
        max_length=200, method="search", label="Name or maker", widget=SEARCH
    )
    kind = django_filters.ChoiceFilter(choices=Product.Kind, label="Kind", empty_label="All")
    show = django_filters.ChoiceFilter(
        method="leave", choices=[("all", "All"), ("withdrawn", "No longer bought")],
        label="Show", empty_label="Still bought",
    )  # fmt: skip

    class Meta:
        model = Product
        fields: list[str] = []

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on

    def filter_queryset(self, queryset: ProductQuerySet) -> ProductQuerySet:
        found: ProductQuerySet = super().filter_queryset(queryset)
        show = self.form.cleaned_data.get("show")
        if show == "all":
            return found
        return found.withdrawn(self.on) if show == "withdrawn" else found.still_bought(self.on)

    def leave(self, queryset: ProductQuerySet, name: str, value: str) -> ProductQuerySet:
        """Judged once all is known, in `filter_queryset`."""
        return queryset

    def search(self, queryset: ProductQuerySet, name: str, value: str) -> ProductQuerySet:
        for word in value.split()[:8]:
            queryset = queryset.filter(Q(name__icontains=word) | Q(maker__icontains=word))
        return queryset
