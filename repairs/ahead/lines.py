"""From the jobs to the lines by year and month.

Each job is rounded once, to a whole minor unit and a millionth of a job. What is spread over a
year is cut for each property apart, so that the lines of a portfolio are those of its properties
added up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from repairs.ahead.figures import Asked, MonthLine, YearLine
from repairs.ahead.money import Band, added, rise_factor
from repairs.ahead.occurrences import first_of, month_number
from repairs.ahead.works import ACCESS, KINDS, LOOK, ONE, REPAINT, REPAIR, Works

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

MONTHS = 12


@dataclass(frozen=True)
class Monthly:
    """One figure for each month, from the January of the first year on."""

    looks: Whole
    repaints: Whole
    repairs: Whole
    low: Whole
    likely: Whole
    high: Whole
    unpriced: Whole


def year_lines(work: Works, asked: Asked) -> tuple[YearLine, ...]:
    return tuple(_lines(work, asked))


def _lines(work: Works, asked: Asked) -> Iterator[YearLine]:
    monthly = _monthly(work, asked)
    years = work.year - asked.first.year
    visits = _added(years, work.number * (work.kind == ACCESS), asked.years)
    unpriced = _added(years, work.number * (work.priced == 0), asked.years)
    by_kind = [
        (name, _added(years, work.likely * (work.kind == kind), asked.years))
        for kind, name in enumerate(KINDS)
    ]
    for at, year in enumerate(asked.every_year):
        months = tuple(_month(monthly, year, at * MONTHS + month) for month in range(MONTHS))
        today = added(month.today for month in months)
        yield YearLine(
            year=year,
            months=months,
            looks=sum(month.looks for month in months),
            repaints=sum(month.repaints for month in months),
            repairs=sum((month.repairs for month in months), Decimal(0)),
            access_visits=decimal_of(visits[at]),
            today=today,
            nominal=nominal_of(today, asked, at),
            unpriced=decimal_of(unpriced[at]),
            likely_by_kind=tuple((name, int(money[at])) for name, money in by_kind),
        )


def nominal_of(today: Band, asked: Asked, years: int) -> Band | None:
    if asked.price_rise_pct is None:
        return None
    return today.times(rise_factor(asked.price_rise_pct, years))


def decimal_of(millionths: int) -> Decimal:
    """A number of jobs, from millionths."""
    return Decimal(int(millionths)).scaleb(-6).normalize() + 0


def _month(monthly: Monthly, year: int, at: int) -> MonthLine:
    return MonthLine(
        month=first_of((year - 1970) * MONTHS + at % MONTHS),
        looks=int(monthly.looks[at]),
        repaints=int(monthly.repaints[at]),
        repairs=decimal_of(monthly.repairs[at]),
        today=Band(int(monthly.low[at]), int(monthly.likely[at]), int(monthly.high[at])),
        unpriced=decimal_of(monthly.unpriced[at]),
    )


def _monthly(work: Works, asked: Asked) -> Monthly:
    dated, spread = work.only(work.spread == 0), work.only(work.spread == 1)

    def count(of: Works, kind: int) -> Whole:
        return of.number * (of.kind == kind)

    def figures(of: Works) -> tuple[Whole, ...]:
        counts = (count(of, LOOK), count(of, REPAINT), count(of, REPAIR))
        return (*counts, of.low, of.likely, of.high, of.number * (of.priced == 0))

    pairs = zip(figures(dated), figures(spread), strict=True)
    looks, repaints, *others = (
        _by_month(dated, own, asked) + _over_months(spread, part, asked) for own, part in pairs
    )
    return Monthly(looks // ONE, repaints // ONE, *others)


def _added(at: Whole, amounts: Whole, size: int) -> Whole:
    import numpy as np

    total = np.zeros(size, dtype=np.int64)
    np.add.at(total, at, amounts)
    return total


def _by_month(dated: Works, amounts: Whole, asked: Asked) -> Whole:
    start = month_number(asked.first.replace(month=1))
    return _added(dated.month - start, amounts, asked.years * MONTHS)


def _over_months(spread: Works, amounts: Whole, asked: Asked) -> Whole:
    """Each property's sum of a year in even parts over its months, to the unit."""
    import numpy as np

    properties, of = np.unique(spread.site, return_inverse=True)
    years = spread.year - asked.first.year
    at = of * asked.years + years
    by_year = _added(at, amounts, len(properties) * asked.years)
    by_year = by_year.reshape(-1, asked.years)
    months = np.zeros(asked.years * MONTHS, dtype=np.int64)
    for year in range(asked.years):
        first = asked.first.month - 1 if year == 0 else 0
        parts = MONTHS - first
        edges = by_year[:, year, None] * np.arange(parts + 1) // parts
        months[year * MONTHS + first : (year + 1) * MONTHS] = np.diff(edges).sum(axis=0)
    return months
