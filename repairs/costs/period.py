"""Which days a cost report counts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from repairs.models.costs import CostLineQuerySet


@dataclass(frozen=True)
class Period:
    """From a first day to a last day, both included; open where None."""

    first: date | None = None
    last: date | None = None

    def lines(self, lines: CostLineQuerySet) -> CostLineQuerySet:
        if self.first is not None:
            lines = lines.filter(counts_on__gte=self.first)
        if self.last is not None:
            lines = lines.filter(counts_on__lte=self.last)
        return lines

    def holds(self, day: date) -> bool:
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)

    def only(self) -> Iterable[tuple[str, str]]:
        """What the list of cost lines is asked for, to show these days."""
        if self.first is not None:
            yield "first", self.first.isoformat()
        if self.last is not None:
            yield "last", self.last.isoformat()

    def in_words(self) -> str:
        if self.first and self.last:
            return f"from {self.first:%-d %B %Y} to {self.last:%-d %B %Y}"
        if self.first:
            return f"since {self.first:%-d %B %Y}"
        if self.last:
            return f"up to {self.last:%-d %B %Y}"
        return "over the recorded life"
