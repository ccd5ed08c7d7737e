"""The price indexes that the user keeps, as calculations read them and as forms and files write."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise

from django.db import transaction
from simple_history.utils import bulk_create_with_history, bulk_update_with_history

from repairs.life_cycle.price_index import in_todays_money
from repairs.models import PriceIndex, PriceIndexYear


@dataclass(frozen=True)
class Loaded:
    """How many years of a file were new, put right, or already there as given."""

    added: int
    changed: int
    unchanged: int

    def in_words(self) -> str:
        if not (self.added or self.changed):
            return f"Nothing changed: all {self.unchanged} years already stood here."
        return f"{self.added} added, {self.changed} changed, {self.unchanged} already here."


def index_of(currency: str) -> Mapping[int, Decimal]:
    """The figures of a currency's price index by year; empty where none is kept."""
    years = PriceIndexYear.objects.filter(index__currency=currency)
    return dict(years.values_list("year", "value"))


@dataclass(frozen=True)
class KeptIndex:
    """The price index of a currency with its figures by year; none where none is kept."""

    name: str = ""
    source: str = ""
    figures: Mapping[int, Decimal] = field(default_factory=dict)

    @property
    def newest(self) -> int | None:
        return max(self.figures, default=None)


def kept_index(currency: str) -> KeptIndex:
    rows = list(
        PriceIndexYear.objects.filter(index__currency=currency).values_list(
            "index__name", "index__source", "year", "value"
        )
    )
    if not rows:
        return KeptIndex()
    return KeptIndex(rows[0][0], rows[0][1], {year: value for _, _, year, value in rows})


@dataclass(frozen=True)
class IndexRow:
    """One year as a table shows it. `rise` is in percent over the year before, empty where that
    year has no figure; `hundred` is what 100 of that year are in the money of the newest year."""

    year: int
    written: str
    rise: str
    hundred: Decimal


@dataclass(frozen=True)
class IndexTable:
    """The newest year first; `gaps` names the years in between that have no figure, each a year
    or a run such as '2021 to 2023'."""

    rows: tuple[IndexRow, ...]
    gaps: tuple[str, ...]

    @property
    def newest(self) -> int | None:
        return self.rows[0].year if self.rows else None

    @property
    def oldest(self) -> int | None:
        return self.rows[-1].year if self.rows else None


def index_table(index: PriceIndex) -> IndexTable:
    figures = dict(index.years.order_by("-year").values_list("year", "value"))
    newest = max(figures, default=0)
    rows = tuple(
        IndexRow(
            year=year,
            written=f"{value.normalize():f}",
            rise=_rise(figures[year - 1], value) if year - 1 in figures else "",
            hundred=in_todays_money(Decimal(100), year, newest, figures),
        )
        for year, value in figures.items()
    )
    return IndexTable(rows, _gaps(sorted(figures)))


def _gaps(years: list[int]) -> tuple[str, ...]:
    runs = [(before + 1, after - 1) for before, after in pairwise(years) if after > before + 1]
    return tuple(f"{first}" if first == last else f"{first} to {last}" for first, last in runs)


def _rise(before: Decimal, after: Decimal) -> str:
    return f"{100 * (after / before - 1):+.1f}".replace("-", "−")


@transaction.atomic
def keep_years(index: PriceIndex, years: Mapping[int, Decimal]) -> Loaded:
    """Write what is new or different, and nothing else."""
    PriceIndex.objects.select_for_update().get(pk=index.pk)
    kept = {year.year: year for year in index.years.all()}
    new = [
        PriceIndexYear(index=index, year=year, value=value)
        for year, value in years.items()
        if year not in kept
    ]
    changed = []
    for year, value in years.items():
        if year in kept and kept[year].value != value:
            kept[year].value = value
            changed.append(kept[year])
    bulk_create_with_history(new, PriceIndexYear)
    bulk_update_with_history(changed, PriceIndexYear, ["value"])
    return Loaded(len(new), len(changed), len(years) - len(new) - len(changed))
