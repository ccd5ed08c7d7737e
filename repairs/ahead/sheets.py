"""The years ahead as a workbook and as one table; amounts are numbers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from materials.money import from_minor
from properties.exports import csv_of, workbook_of
from repairs.ahead.figures import Job, MonthLine, Outlook, YearLine
from repairs.ahead.money import Band
from repairs.ahead.words import JOB, lead
from repairs.due.words import capital

BAND = ("low", "likely", "high")
YEARS = (
    "Of", "Year", "Looks", "Repaints", "Repairs expected", "Access visits", "Without a price",
    "Currency", *(f"Today’s money, {name}" for name in BAND),
    *(f"That year’s money, {name}" for name in BAND), "Paid into the reserve",
    "In the reserve at its end",
)  # fmt: skip
MONTHS = (
    "Of", "Year", "Month", "Looks", "Repaints", "Repairs expected", "Without a price", "Currency",
    *(f"Today’s money, {name}" for name in BAND),
)  # fmt: skip
JOBS = (
    "Year", "Day", "Mark", "Where", "What", "Number expected", "Currency",
    *(f"Today’s money, {name}" for name in BAND), "Where the price comes from", "Why",
    "Moved from",
)  # fmt: skip
MOVES = (
    "Move", "Why", "Jobs moved", "Currency", *(f"Saved, {name}" for name in BAND),
    "Access visits less", "Put off", "What", "From", "To", "What it risks",
)  # fmt: skip
Rows = Iterator[tuple[Any, ...]]


def workbook(outlooks: Sequence[Outlook], jobs: Sequence[Job] | None = None) -> bytes:
    """`jobs` are those of the one outlook given; None where they are not told one by one."""
    sheets: list[tuple[str, Iterable[tuple[Any, ...]]]] = [
        ("Years", _years(outlooks)),
        ("Months", _months(outlooks)),
    ]
    if jobs is not None:
        sheets.append(("Jobs", _jobs(jobs, outlooks[0].currency if outlooks else "")))
    sheets += [("Moves", _moves(outlooks)), ("Assumptions", _assumptions(outlooks))]
    return workbook_of(sheets)


def years_csv(outlooks: Sequence[Outlook]) -> bytes:
    head, *rows = _years(outlooks)
    return csv_of(head, rows)


def _amounts(band: Band | None, currency: str) -> tuple[Decimal | None, ...]:
    if band is None:
        return (None, None, None)
    return tuple(from_minor(minor, currency) for minor in (band.low, band.likely, band.high))


def _known(line: YearLine | MonthLine) -> Band | None:
    """None where nothing of the work has a price: that is not nought."""
    return line.today if line.today or not line.unpriced else None


def _years(outlooks: Sequence[Outlook]) -> Rows:
    yield YEARS
    for outlook in outlooks:
        currency = outlook.currency
        paid, left = dict(outlook.level.paid), dict(outlook.level.balances)
        for line in outlook.lines:
            yield (
                outlook.title, line.year, line.looks, line.repaints, line.repairs,
                line.access_visits, line.unpriced, currency, *_amounts(_known(line), currency),
                *_amounts(line.nominal if _known(line) is not None else None, currency),
                _amount(paid.get(line.year), currency), _amount(left.get(line.year), currency),
            )  # fmt: skip
        lines = outlook.lines
        yield (
            outlook.title, "Total", sum(line.looks for line in lines),
            sum(line.repaints for line in lines), sum(line.repairs for line in lines),
            sum(line.access_visits for line in lines), sum(line.unpriced for line in lines),
            currency, *_amounts(outlook.today, currency), *_amounts(outlook.nominal, currency),
        )  # fmt: skip


def _amount(minor: int | None, currency: str) -> Decimal | None:
    return None if minor is None else from_minor(minor, currency)


def _months(outlooks: Sequence[Outlook]) -> Rows:
    yield MONTHS
    for outlook in outlooks:
        for line in outlook.lines:
            for month in line.months:
                if month.month < outlook.asked.first.replace(day=1):
                    continue
                yield (
                    outlook.title, line.year, month.month, month.looks, month.repaints,
                    month.repairs, month.unpriced, outlook.currency,
                    *_amounts(_known(month), outlook.currency),
                )  # fmt: skip


def _jobs(jobs: Iterable[Job], currency: str) -> Rows:
    yield JOBS
    for job in jobs:
        yield (
            job.on.year, job.on, job.mark, job.place, JOB[job.kind], job.number,
            currency, *_amounts(job.today, currency), job.money_from, job.why,
            job.moved_from,
        )  # fmt: skip


def _moves(outlooks: Sequence[Outlook]) -> Rows:
    yield MOVES
    for outlook in outlooks:
        for effect in outlook.moves:
            told = (
                str(effect.move), effect.move.reason, effect.jobs, outlook.currency,
                *_amounts(effect.saves, outlook.currency), effect.access_visits_saved,
            )  # fmt: skip
            if not effect.later:
                yield told
            for put_off in effect.later:
                yield (
                    *told, put_off.mark, JOB[put_off.kind], put_off.from_year, put_off.to_year,
                    capital(put_off.risk),
                )  # fmt: skip


def _assumptions(outlooks: Sequence[Outlook]) -> Rows:
    yield ("Of", "What", "Figure", "In")
    for outlook in outlooks:
        asked, level, title = outlook.asked, outlook.level, outlook.title
        currency = outlook.currency
        yield (title, "In words", lead(outlook))
        yield (title, "First year", asked.first.year)
        yield (title, "Years", outlook.years)
        yield (title, "Prices rise a year", asked.price_rise_pct, "%")
        yield (title, "In the reserve to begin with", from_minor(asked.reserve_minor, currency),
               currency)  # fmt: skip
        yield (title, "It earns a year", asked.deposit_pct, "%")
        yield (title, "The same sum every year", from_minor(level.budget.likely, currency),
               currency)  # fmt: skip
        yield (title, "The dearest year", level.peak_year)
        yield (title, "It costs", from_minor(level.peak.likely, currency), currency)
        yield (title, "Into a reserve a year, at likely costs",
               from_minor(level.reserve, currency), currency)  # fmt: skip
        yield (title, "Into a reserve a year, at high costs",
               from_minor(level.reserve_high, currency), currency)  # fmt: skip
        for each in outlook.unpriced:
            yield (title, f"Without a price: {JOB[each.kind]}", each.number, each.begin)
        for note in outlook.notes:
            yield (title, "Note", note)
