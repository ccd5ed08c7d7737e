"""The sum of a list of lines, in each currency that they count in."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Sum

from materials.money import show_money
from properties.models.owners import PropertyQuerySet
from repairs.models.costs import CostLineQuerySet

Sums = Sequence[tuple[str, int]]


def counts_in(currency: str) -> dict[str, str]:
    return {"building__property__currency": currency}


def sums_by_currency(lines: CostLineQuerySet, seen: PropertyQuerySet) -> Sums:
    """Nothing where there is no line. Where the properties seen add up in one currency, the
    ledger is read alone: looking up the property of each of a million lines takes a second."""
    currencies = set(seen.order_by().values_list("currency", flat=True).distinct())
    bare = lines.order_by().prefetch_related(None)
    if len(currencies) == 1:
        total = bare.aggregate(total=Sum("home_minor"))["total"]
        return [] if total is None else [(currencies.pop(), total)]
    groups = bare.values_list("building__property__currency").annotate(total=Sum("home_minor"))
    return sorted(groups)


def sums_in_words(sums: Sums) -> str:
    """Unlike currencies stand side by side and are not added up."""
    return " and ".join(show_money(minor, currency) for currency, minor in sums)
