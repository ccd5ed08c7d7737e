"""What jobs cost in today's money: from the building's own past, else at a rate that a person
typed, else not at all.

The likely price is the median of what the like cost, the low and the high are the least and the
most of it. What was paid is put in the money of the newest year of the price index; where the
index does not reach it stays as it was paid, and `Quote.words` says so."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import TypeVar

from django.db.models import Sum
from django.db.models.functions import Coalesce

from materials.money import round_minor, show_money
from properties.models import Property
from properties.models.owners import PropertyQuerySet
from repairs.ahead.money import Band
from repairs.ahead.rows import LASTING, ElevationRow, Place
from repairs.costs.prices import KeptIndex, kept_index
from repairs.life_cycle.price_index import YearMissing, newest_year, todays_minor
from repairs.models import CostLine, Repair, WorkRate
from repairs.models.costs import CostLineQuerySet

What, Per = WorkRate.What, WorkRate.Per
Key = TypeVar("Key", bound=Hashable)
ByYear = dict[int, int]
# How each kind of repair is named in a sentence: one, and more.
_NAMES = {
    Repair.Kind.REPAINT: ("repaint", "repaints"),
    Repair.Kind.RESIN: ("resin repair", "resin repairs"),
    Repair.Kind.SPLICE: ("timber splice", "timber splices"),
    Repair.Kind.REPLACEMENT: ("replacement", "replacements"),
    "": ("repair", "repairs"),
    "access": ("access", "accesses"),
}


@dataclass(frozen=True)
class Quote:
    """The price of one job. Empty words mean that nothing had to be said."""

    band: Band
    words: str


@dataclass(frozen=True)
class Paid:
    """What one earlier job cost, in minor units, and in which year; `reached` where the price
    index put it in today's money."""

    minor: int
    year: int
    reached: bool


@dataclass(frozen=True)
class Rate:
    """What was typed; `words` say at what rate and by whose word."""

    per: str
    whole: Quote

    def quote(self, size: float | None) -> Quote | None:
        """For a length in mm or an area in m²; None where the size is asked and not recorded."""
        if self.per in (Per.MEMBER, Per.ELEVATION):
            return self.whole
        if size is None:
            return None
        # Sizes are recorded to two decimals, so that this is exact.
        whole = 100_000 if self.per == Per.METRE else 100
        return Quote(self.whole.band.share(round(size * 100), whole), self.whole.words)


@dataclass(frozen=True)
class Prices:
    """Asked by place: the past by building and kind, or by elevation; rates by property."""

    past: Mapping[tuple[int, str], Quote]
    access_past: Mapping[int, Quote]
    rates: Mapping[tuple[int, str], Rate]
    index_words: str
    as_paid: int

    def of_look(self, place: Place) -> Quote | None:
        return self._by_rate(place, What.LOOK)

    def of_repaint(self, place: Place) -> Quote | None:
        own = self.past.get((place.building, Repair.Kind.REPAINT))
        return own or self._by_rate(place, What.REPAINT)

    def of_repair(self, place: Place, kind: str) -> Quote | None:
        """Of a kind, or of any kind where it is not known yet ('')."""
        own = self.past.get((place.building, kind))
        return own or self._by_rate(place, What.REPAIR)

    def of_access(self, elevation: ElevationRow) -> Quote | None:
        own = self.access_past.get(elevation.pk)
        rate = self.rates.get((elevation.property, elevation.access))
        return rate.quote(elevation.area_m2) if own is None and rate is not None else own

    def _by_rate(self, place: Place, what: str) -> Quote | None:
        rate = self.rates.get((place.property, what))
        return rate.quote(place.length_mm) if rate else None


def prices_for(
    properties: PropertyQuerySet, currency: str, on: date, told: CostLineQuerySet
) -> Prices:
    """The prices at some properties of one currency. `told` are the lines that may be seen."""
    money = TodaysMoney(on, kept_index(currency))
    lines = told.filter(counts_on__lte=on).order_by()
    past = _past(lines, properties, money)
    access = _access_past(_near(lines, properties), money)
    return Prices(
        {key: _quote(key[1], paid, money) for key, paid in past.items()},
        {key: _quote("access", paid, money) for key, paid in access.items()},
        _rates(properties, currency),
        money.words(currency),
        sum(not each.reached for paid in (*past.values(), *access.values()) for each in paid),
    )


class TodaysMoney:
    """Puts what was paid in the money of the newest year that the index has, up to the day; what
    was paid in the year of the day is in its money already."""

    def __init__(self, on: date, kept: KeptIndex) -> None:
        self.year, self.name, self.index = on.year, kept.name, kept.figures
        self.newest = newest_year(self.index, on.year)

    def put(self, minor: int, year: int) -> tuple[int, bool]:
        """False where the index does not reach, and it stays as it was paid."""
        try:
            return todays_minor(minor, year, self.year, self.index), True
        except YearMissing:
            return minor, False

    def words(self, currency: str) -> str:
        if self.newest is None:
            return (
                f"No price index is kept for {currency}: what was paid in earlier years stands as "
                "it was paid. Enter an index under Costs."
            )
        return f"What was paid earlier is put in money of {self.newest} by {self.name}."


def _near(lines: CostLineQuerySet, properties: PropertyQuerySet) -> CostLineQuerySet:
    """The lines of those properties; where they are most of all, all lines, which are read sooner
    than they are picked out. Only those of elevations asked about are used."""
    if 2 * properties.count() > Property.objects.count():
        return lines
    return lines.filter(building__property__in=properties)


def _past(
    lines: CostLineQuerySet, properties: PropertyQuerySet, money: TodaysMoney
) -> dict[tuple[int, str], list[Paid]]:
    """By building and kind of repair, with all lasting kinds together under ''."""
    # Asked by repair, and not by building, SQLite reads no line that belongs to no repair.
    done = Repair.objects.standing().within(properties)
    found = (
        lines.filter(
            repair__isnull=False,
            repair__in=done.filter(kind__in=(*LASTING, Repair.Kind.REPAINT)).order_by(),
        )
        .exclude(kind=CostLine.Kind.ACCESS)
        .values_list("building_id", "repair__kind", "repair_id", "year")
        .annotate(minor=Sum("home_minor"))
    )
    jobs = _jobs(((row[0], row[1]), row[2], row[3], row[4]) for row in found)
    past: dict[tuple[int, str], list[Paid]] = defaultdict(list)
    for (building, kind), paid in _paid(jobs, money):
        past[building, kind].append(paid)
        if kind != Repair.Kind.REPAINT:
            past[building, ""].append(paid)
    return past


def _access_past(lines: CostLineQuerySet, money: TodaysMoney) -> dict[int, list[Paid]]:
    """By elevation: lines of one shared cost, of one repair or of one day are one access, since
    hire is often billed by the month."""
    found = (
        lines.filter(kind=CostLine.Kind.ACCESS)
        .annotate(face=Coalesce("elevation_id", "member__elevation_id"))
        .filter(face__isnull=False)
        .values_list("face", "shared_id", "repair_id", "counts_on", "year")
        .annotate(minor=Sum("home_minor"))
    )
    jobs = _jobs(_as_accesses(found))
    past: dict[int, list[Paid]] = defaultdict(list)
    for face, paid in _paid(jobs, money):
        past[face].append(paid)
    return past


def _as_accesses(
    rows: Iterable[tuple[int, int | None, int | None, date, int, int]],
) -> Iterator[tuple[int, object, int, int]]:
    """Elevation, what tells one access of it from another, year, and what was paid."""
    joined: dict[tuple[int, str, object], tuple[int, str, object]] = {}

    def first_of(mark: tuple[int, str, object]) -> tuple[int, str, object]:
        while (other := joined.get(mark, mark)) != mark:
            mark = other
        return mark

    found = []
    for face, shared, repair, day, year, minor in rows:
        marks = [(face, "shared", shared), (face, "repair", repair), (face, "day", day)]
        known = [first_of(mark) for mark in marks if mark[2] is not None]
        joined.update((mark, known[0]) for mark in known)
        found.append((face, known[0], year, minor))
    for face, mark, year, minor in found:
        yield face, first_of(mark), year, minor


def _jobs(rows: Iterable[tuple[Key, object, int, int]]) -> dict[tuple[Key, object], ByYear]:
    """What was paid for each job, by year."""
    jobs: dict[tuple[Key, object], ByYear] = defaultdict(dict)
    for key, job, year, minor in rows:
        of = jobs[key, job]
        of[year] = of.get(year, 0) + minor
    return jobs


def _paid(
    jobs: Mapping[tuple[Key, object], ByYear], money: TodaysMoney
) -> Iterator[tuple[Key, Paid]]:
    """A job that came to nothing, such as one that was taken back, tells no price."""
    for (key, _), years in jobs.items():
        put = [money.put(minor, year) for year, minor in years.items()]
        whole = sum(minor for minor, _ in put)
        if sum(years.values()) > 0 and whole > 0:
            yield key, Paid(whole, max(years), all(reached for _, reached in put))


def _quote(kind: str, paid: list[Paid], money: TodaysMoney) -> Quote:
    amounts = sorted(each.minor for each in paid)
    # The middle one, or half way between the two in the middle.
    likely = round_minor(Fraction(amounts[(len(paid) - 1) // 2] + amounts[len(paid) // 2], 2))
    one, more = _NAMES[kind]
    years = sorted({each.year for each in paid})
    when = f"{years[0]}" if len(years) == 1 else f"{years[0]} to {years[-1]}"
    of = "here" if kind == "access" else "of this building"
    words = f"the one {one} {of}, {when}" if len(paid) == 1 else (
        f"the middle of {len(paid)} {more} {of}, {when}"
    )  # fmt: skip
    late = sum(not each.reached for each in paid)
    if late:
        words += ", as paid" if late == len(paid) else f", {late} of them as paid"
    elif money.newest is not None and years != [money.year]:
        words += f", in money of {money.newest}"
    return Quote(Band(amounts[0], likely, amounts[-1]), words)


def _rates(properties: PropertyQuerySet, currency: str) -> dict[tuple[int, str], Rate]:
    """A low or a high that nobody typed is taken as the likely."""
    rates = WorkRate.objects.filter(property__in=properties).order_by()
    columns = ("property", "what", "per", "low_minor", "likely_minor", "high_minor", "source")
    found = {}
    for property, what, per, low, likely, high, source in rates.values_list(*columns):
        band = Band(likely if low is None else low, likely, likely if high is None else high)
        words = f"{show_money(likely, currency)} for {Per(per).label}: {source}"
        found[property, what] = Rate(per, Quote(band, words))
    return found
