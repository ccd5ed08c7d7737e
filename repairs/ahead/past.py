"""What a property paid for its own jobs before, in words, to stand beside its rates."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from properties.models import Building, Elevation, Property
from repairs.ahead.prices import Quote, prices_for
from repairs.ahead.words import band_words
from repairs.models import Repair, WorkRate
from repairs.models.costs import CostLineQuerySet

What = WorkRate.What
MOST_TOLD = 6


def past_words(of: Property, on: date, told: CostLineQuerySet) -> dict[str, list[str]]:
    """By what a rate is for: a sentence for each building, or elevation, that has a past."""
    one = Property.objects.filter(pk=of.pk)
    prices = prices_for(one, of.currency, on, told)
    found: dict[str, list[str]] = defaultdict(list)
    buildings = dict(Building.objects.filter(property=of).values_list("pk", "name"))
    for (building, kind), quote in prices.past.items():
        if kind in (Repair.Kind.REPAINT, ""):
            what = What.REPAIR if kind == "" else What.REPAINT
            found[what].append(_words(buildings[building], quote, of.currency))
    faces = Elevation.objects.filter(building__property=of).order_by("building__name", "name")
    for pk, access, name, where in faces.values_list("pk", "access", "name", "building__name"):
        if pk in prices.access_past and access in WorkRate.ACCESS:
            place = f"{where}, {name} elevation"
            found[access].append(_words(place, prices.access_past[pk], of.currency))
    return {what: _some(sorted(lines)) for what, lines in found.items()}


def _words(place: str, quote: Quote, currency: str) -> str:
    return f"{place}: {band_words(quote.band, currency)}, {quote.words}."


def _some(lines: list[str]) -> list[str]:
    left = len(lines) - MOST_TOLD
    return [*lines[:MOST_TOLD], f"And {left} more."] if left > 0 else lines
