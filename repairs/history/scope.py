"""How much of a property's history is told: which days, which member, whose costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from config.quantities import UnitSystem
from properties.models import Member, Ownership, Property
from repairs.costs.reports import Period


@dataclass(frozen=True)
class Scope:
    """One telling. `on` is the day it is made; with a `last` day, things stand as they stood
    at the end of that day. Costs before `costs_from` belong to an earlier owner."""

    of: Property
    on: date
    first: date | None = None
    last: date | None = None
    member: Member | None = None
    costs: bool = True
    costs_from: date | None = None
    system: UnitSystem = UnitSystem.METRIC

    @property
    def zone(self) -> ZoneInfo:
        return self.of.zone

    @property
    def as_at(self) -> date:
        """The day whose end the state of things is told for."""
        return self.last or self.on

    @property
    def begins(self) -> datetime | None:
        return None if self.first is None else self._midnight(self.first)

    @property
    def ends(self) -> datetime | None:
        """The instant at which the last day is over on site; None without a last day."""
        return None if self.last is None else self._midnight(self.last + timedelta(days=1))

    @property
    def cost_period(self) -> Period:
        known = [day for day in (self.first, self.costs_from) if day is not None]
        return Period(max(known, default=None), self.last)

    def _midnight(self, day: date) -> datetime:
        return datetime.combine(day, time(), self.zone)

    def is_over(self, day: date | None) -> bool:
        """Whether something dated that day had happened by the end of the telling."""
        return day is not None and (self.last is None or day <= self.last)

    def has_passed(self, at: datetime | None) -> bool:
        return at is not None and (self.ends is None or at < self.ends)


def ownership_on(periods: Sequence[Ownership], day: date) -> Ownership | None:
    """Whose time a day falls in; of a gap after a sale, nobody's."""
    for period in periods:
        if period.from_on <= day and (period.to_on is None or day < period.to_on):
            return period
    return None


def costs_begin(periods: Sequence[Ownership], day: date) -> date | None:
    """The first day whose costs the owner of that day sees by default: that of the sale to them.
    None where nobody held it before, so that nothing is hidden from a first owner."""
    current = ownership_on(periods, day)
    if current is None or not any(period.from_on < current.from_on for period in periods):
        return None
    return current.from_on
