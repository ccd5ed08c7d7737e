"""The years ahead of one property, some, or all: one function each for the table and the jobs of
a year, read by page, PDF and workbook alike."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from properties.models import Property
from properties.models.owners import PropertyQuerySet
from repairs.ahead.figures import (
    Asked,
    Job,
    Level,
    MonthLine,
    MoveEffect,
    Outlook,
    PutOff,
    Unpriced,
    YearLine,
)
from repairs.ahead.ground import Ground, ground_for
from repairs.ahead.in_place import Curves, curves_of
from repairs.ahead.jobs import jobs_in
from repairs.ahead.lines import year_lines
from repairs.ahead.missing import missing_prices
from repairs.ahead.money import Band, added
from repairs.ahead.moves import effects_of
from repairs.ahead.notes import notes_of
from repairs.ahead.reckon import reckon
from repairs.ahead.reserve import least_reserve
from repairs.models import CostLine, Repair
from repairs.models.costs import CostLineQuerySet
from repairs.models.repairs import RepairQuerySet

__all__ = [
    "Asked", "Band", "Job", "Level", "MonthLine", "MoveEffect", "Outlook", "PutOff", "Unpriced",
    "YearLine", "ground_of", "jobs_of", "jobs_of_every_year", "outlook_of", "outlooks",
]  # fmt: skip


def outlooks(
    properties: PropertyQuerySet,
    asked: Asked,
    told: CostLineQuerySet | None = None,
    record: RepairQuerySet | None = None,
) -> list[Outlook]:
    """One for each currency: amounts in unlike currencies are never added up. What was given up
    by the first day is left out.

    `told` are the cost lines that the reader may see, those of the present owners if not given;
    `record` the repairs whose lives tell what fails, those of the properties if not given."""
    looked_after = properties.looked_after(asked.first)
    currencies = sorted(set(looked_after.order_by().values_list("currency", flat=True)))
    curves = _curves(properties, asked, record)
    return [
        _outlook(_ground(properties, currency, asked, told, curves), len(currencies))
        for currency in currencies
    ]


def ground_of(
    property: Property,
    asked: Asked,
    told: CostLineQuerySet | None = None,
    record: RepairQuerySet | None = None,
) -> Ground:
    """What the years ahead of one property stand on, read once for all that is told of them;
    `told` and `record` as for `outlooks`."""
    one = Property.objects.filter(pk=property.pk)
    return _ground(one, property.currency, asked, told, _curves(one, asked, record))


def outlook_of(ground: Ground) -> Outlook:
    """That of one property."""
    return _outlook(ground, currencies=1)


def jobs_of(ground: Ground, year: int) -> list[Job]:
    """The jobs of one year, by day; their prices add up to the line of the year. ValueError for a
    year that is not among those asked for."""
    asked = ground.asked
    if year not in asked.every_year:
        raise ValueError(f"Ask for a year from {asked.first.year} to {asked.last_year}.")
    return jobs_in(ground, reckon(ground, ground.rows.moves), year)


def jobs_of_every_year(ground: Ground) -> list[Job]:
    """The jobs of all the years asked for, as `jobs_of` gives them for each."""
    work = reckon(ground, ground.rows.moves)
    return [job for year in ground.asked.every_year for job in jobs_in(ground, work, year)]


def _curves(properties: PropertyQuerySet, asked: Asked, record: RepairQuerySet | None) -> Curves:
    repairs = Repair.objects.within(properties) if record is None else record
    return curves_of(repairs, asked.first)


def _ground(
    properties: PropertyQuerySet, currency: str, asked: Asked, told: CostLineQuerySet | None,
    curves: Curves,
) -> Ground:  # fmt: skip
    lines = CostLine.objects.of_current_owner() if told is None else told
    return ground_for(properties, currency, asked, lines, curves)


def _outlook(ground: Ground, currencies: int) -> Outlook:
    asked = ground.asked
    work = reckon(ground, ground.rows.moves)
    lines = year_lines(work, asked)
    nominal = [line.nominal for line in lines if line.nominal is not None]
    # A sum typed without a currency can lie in one reserve only.
    opening = asked.reserve_minor if currencies == 1 else 0
    return Outlook(
        title=_title(ground),
        currency=ground.currency,
        asked=asked,
        lines=lines,
        today=added(line.today for line in lines),
        nominal=added(nominal) if nominal else None,
        unpriced=missing_prices(ground, work),
        moves=effects_of(ground),
        level=level_of(lines, asked, opening),
        notes=notes_of(ground, work, currencies),
    )


def _title(ground: Ground) -> str:
    names = list(ground.rows.properties.values())
    if len(names) == 1:
        return names[0]
    return f"{len(names):,} properties in {ground.currency}"


def level_of(lines: Sequence[YearLine], asked: Asked, opening: int) -> Level:
    """An even budget, the dearest year, and the reserve that covers all: money of each year where
    a rise of prices was typed, else today's throughout."""
    total = added(line.today for line in lines)
    peak = max(lines, key=lambda line: line.today.likely)
    rise = asked.price_rise_pct or Decimal(0)
    spent = [line.nominal or line.today for line in lines]
    likely, high = (
        least_reserve(costs, opening, asked.deposit_pct, rise)
        for costs in ([each.likely for each in spent], [each.high for each in spent])
    )
    years = [line.year for line in lines]
    return Level(
        budget=total.share(1, len(lines)),
        peak_year=peak.year,
        peak=peak.today,
        reserve=likely.payment,
        reserve_high=high.payment,
        paid=tuple(zip(years, likely.paid, strict=True)),
        balances=tuple(zip(years, likely.balances, strict=True)),
    )
