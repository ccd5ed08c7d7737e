"""The sentence that the stores begin with: what expires, runs low or needs a count."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, F, Q
from django.db.models.functions import Coalesce

from materials.lot_state import SOON
from materials.models import Lot


@dataclass(frozen=True)
class StoreSummary:
    """How many lots are in the stores, a kit counted once, and how many of them ask for care."""

    lots: int
    expired: int
    soon: int
    low: int
    to_count: int
    held: int
    until: date

    @property
    def sentence(self) -> str:
        if not self.lots:
            return "Nothing is in the stores yet."
        lots = "One lot is" if self.lots == 1 else f"{self.lots:,} lots are"
        said = [
            f"{number:,} {word}"
            for number, word in (
                (self.expired, "expired"),
                (self.soon, f"to be used by {self.until:%-d %B %Y}"),
                (self.low, "running low"),
                (self.to_count, "to be counted"),
                (self.held, "held back"),
            )
            if number
        ]
        if not said:
            return f"{lots} in the stores; none expires soon, runs low or needs a count."
        return f"{lots} in the stores: {', '.join(said)}."


def summary(on: date) -> StoreSummary:
    """One query over all that is kept."""
    until = on + SOON
    thing = Coalesce("parent_id", "pk")
    left = Q(remaining_amount__lt=F("low_below"))
    found = (
        Lot.objects.kept()
        .with_remaining()
        .order_by()
        .aggregate(
            lots=Count("pk", filter=Q(parent__isnull=True)),
            expired=Count(thing, distinct=True, filter=Q(usable_until__lt=on)),
            soon=Count(
                thing, distinct=True, filter=Q(usable_until__gte=on, usable_until__lte=until)
            ),
            low=Count(thing, distinct=True, filter=left & ~Q(part=Lot.Part.KIT)),
            to_count=Count(thing, distinct=True, filter=Q(remaining_amount__lt=0)),
            held=Count(thing, distinct=True, filter=Q(held_back=True)),
        )
    )
    return StoreSummary(**found, until=until)
