"""What was paid, in the money of the newest year that the currency's price index has."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from materials.money import round_minor
from repairs.costs.prices import KeptIndex
from repairs.costs.shares import Share
from repairs.life_cycle.price_index import in_todays_money


@dataclass(frozen=True)
class YearsMoney:
    """What was paid in a year, as paid and in today's money; `figure` is the year's own in the
    index. The last two are None where the index has no figure for the year."""

    paid: Share
    year: int
    figure: Decimal | None
    minor: int | None


@dataclass(frozen=True)
class TodaysMoney:
    """`covered_minor` is the sum over the years that the index has; `missing` are the others.
    Each year is rounded once, so that the years add up to the sum."""

    index: KeptIndex
    years: tuple[YearsMoney, ...]
    covered_minor: int
    missing: tuple[int, ...]

    @property
    def money_of(self) -> int | None:
        return self.index.newest

    @property
    def total_minor(self) -> int | None:
        """None where a year is missing: a part is not the whole."""
        return None if self.missing or self.money_of is None else self.covered_minor

    @property
    def has_some(self) -> bool:
        return any(each.minor is not None for each in self.years)

    def missing_in_words(self) -> str:
        """'2024', '2024 and 2026', '2019, 2024 and 2026'."""
        *most, last = [str(year) for year in self.missing] or [""]
        return f"{', '.join(most)} and {last}" if most else last


def todays_money(by_year: Iterable[Share], index: KeptIndex) -> TodaysMoney:
    """`by_year` are shares whose condition names their year."""
    years = tuple(_year(share, int(share.label), index) for share in by_year)
    return TodaysMoney(
        index=index,
        years=years,
        covered_minor=sum(each.minor for each in years if each.minor is not None),
        missing=tuple(each.year for each in years if each.minor is None),
    )


def _year(paid: Share, year: int, index: KeptIndex) -> YearsMoney:
    figure, newest = index.figures.get(year), index.newest
    if figure is None or newest is None:
        return YearsMoney(paid, year, None, None)
    exact = in_todays_money(Decimal(paid.minor), year, newest, index.figures)
    return YearsMoney(paid, year, figure, round_minor(Fraction(exact)))
