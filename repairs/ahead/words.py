"""The years ahead in words: the first sentence, and the rows of the tables.

Page and PDF take all they say from here, and the workbook its sentences, so that all agree."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from materials.money import show_bare, show_money
from repairs.ahead.figures import Asked, MonthLine, Outlook, YearLine
from repairs.ahead.money import Band

WORK = {"look": "look", "repaint": "repaint", "repair": "repair", "access": "access visit"}
JOB = {"look": "Look", "repaint": "Repaint", "repair": "Repair", "access": "Access"}
RATE_ASKED_FOR = {
    "look": "Each look at one member.",
    "repaint": "Taken where the building’s own past has no repaint with a cost.",
    "repair": "Taken where the building’s own past has no repair with a cost.",
    "ladder": "Each time that a ladder is brought to an elevation, for all its work.",
    "tower": "Each time that a tower is put up at an elevation, for all its work.",
    "scaffold": "Each time that a scaffold stands at an elevation, for all its work.",
    "rope": "Each time that somebody works from ropes at an elevation, for all its work.",
}
NO_PRICE = "no price"
NOTHING_AHEAD = "Nothing falls in these years: no due date stands, and no repair is planned."
BEGIN = (
    "Log a repair or set a due date on a member's page: its looks and repaints will stand here, "
    "year by year, with what they cost."
)


@dataclass(frozen=True)
class Row:
    """One year, one month, or all years; money as bare figures under a head that names it.
    `missing` says how much of its work no money is told for."""

    name: str
    looks: str
    repaints: str
    repairs: str
    access: str
    likely: str
    span: str
    nominal: str = ""
    nominal_span: str = ""
    missing: str = ""


def span(band: Band, currency: str) -> str:
    """`900.00 to 1,400.00`; one figure where low and high are one."""
    if band.low == band.high:
        return show_bare(band.likely, currency)
    return f"{show_bare(band.low, currency)} to {show_bare(band.high, currency)}"


def band_words(band: Band, currency: str) -> str:
    """`GBP 1,200.00 (GBP 900.00 to GBP 1,400.00)`."""
    likely = show_money(band.likely, currency)
    if band.low == band.high:
        return likely
    return f"{likely} ({show_money(band.low, currency)} to {show_money(band.high, currency)})"


def expected(number: Decimal | int) -> str:
    """`3`, or `3.2` where a part of one is expected."""
    return f"{round(Decimal(number), 1):,f}".removesuffix(".0")


def count(number: Decimal | int, word: str) -> str:
    shown = expected(number)
    return f"{shown} {word}{'' if shown == '1' else 's'}"


def lead(outlook: Outlook) -> str:
    """The first sentences: how much work, what it costs, and what of it has no price."""
    lines, currency = outlook.lines, outlook.currency
    if not has_work(outlook):
        return f"{outlook.title}, {years_words(outlook)}. {NOTHING_AHEAD}"
    work = [
        count(sum(line.looks for line in lines), "look"),
        count(sum(line.repaints for line in lines), "repaint"),
        f"{count(_all(line.repairs for line in lines), 'expected repair')}",
    ]
    access = _all(line.access_visits for line in lines)
    told = f"{outlook.title}, {years_words(outlook)}: {', '.join(work)}"
    told += f" and {count(access, 'access visit')}. "
    if outlook.today:
        told += f"Likely {band_words(outlook.today, currency)} in today’s money"
        if outlook.nominal:
            told += f", {show_money(outlook.nominal.likely, currency)} in each year’s own"
        told += "."
    if outlook.unpriced:
        none = "No price is known for" if not outlook.today else "Not in it, without a price:"
        told += f" {none} {_listed(count(u.number, WORK[u.kind]) for u in outlook.unpriced)}."
    return " ".join(told.split())


def has_work(outlook: Outlook) -> bool:
    return any(
        line.looks or line.repaints or line.repairs or line.access_visits for line in outlook.lines
    )


def years_words(outlook: Outlook) -> str:
    first, last = outlook.asked.first.year, outlook.asked.last_year
    return str(first) if first == last else f"{first} to {last}"


def _all(numbers: Iterable[Decimal]) -> Decimal:
    return sum(numbers, Decimal(0))


def _listed(parts: Iterable[str]) -> str:
    *most, last = parts
    return f"{', '.join(most)} and {last}" if most else last


def asked_facts(asked: Asked, outlooks: Sequence[Outlook]) -> list[tuple[str, str]]:
    """What was typed, for the cover of the PDF."""
    rise = asked.price_rise_pct
    facts = [
        ("Years", f"{asked.first.year} to {asked.last_year}"),
        ("Prices rise", "not typed, so that all is in today’s money" if rise is None
         else percent_a_year(rise)),
    ]  # fmt: skip
    if asked.reserve_minor and len(outlooks) == 1:
        reserve = show_money(asked.reserve_minor, outlooks[0].currency)
        facts.append(("Already in the reserve", reserve))
    if asked.deposit_pct:
        facts.append(("It earns", percent_a_year(asked.deposit_pct)))
    return facts


def percent_a_year(percent: Decimal) -> str:
    return f"{percent.normalize():f} % a year".replace("-", "−")


# Rows


def year_rows(outlook: Outlook) -> list[Row]:
    return [year_row(line, outlook.currency) for line in outlook.lines]


def year_row(line: YearLine, currency: str) -> Row:
    return Row(
        name=str(line.year),
        looks=expected(line.looks),
        repaints=expected(line.repaints),
        repairs=expected(line.repairs),
        access=expected(line.access_visits),
        **_money(line.today, line.nominal, line.unpriced, currency),
    )


def _money(today: Band, nominal: Band | None, unpriced: Decimal, currency: str) -> dict[str, str]:
    """Where nothing of the work has a price, its cost is not nought but not known."""
    missing = f"{expected(unpriced)} without a price" if unpriced else ""
    if missing and not today:
        return {"likely": NO_PRICE, "span": ""}
    told = {"likely": show_bare(today.likely, currency), "span": span(today, currency)}
    if nominal is not None:
        told |= {
            "nominal": show_bare(nominal.likely, currency),
            "nominal_span": span(nominal, currency),
        }
    return told | {"missing": missing}


def total_row(outlook: Outlook) -> Row:
    lines = outlook.lines
    unpriced = _all(line.unpriced for line in lines)
    return Row(
        name="Total",
        looks=expected(sum(line.looks for line in lines)),
        repaints=expected(sum(line.repaints for line in lines)),
        repairs=expected(_all(line.repairs for line in lines)),
        access=expected(_all(line.access_visits for line in lines)),
        **_money(outlook.today, outlook.nominal, unpriced, outlook.currency),
    )


def month_rows(months: Iterable[MonthLine], currency: str) -> list[Row]:
    """The months with any work; an empty month says nothing that its absence does not."""
    return [
        Row(
            name=f"{month.month:%B %Y}",
            looks=expected(month.looks),
            repaints=expected(month.repaints),
            repairs=expected(month.repairs),
            access="",
            **_money(month.today, None, month.unpriced, currency),
        )
        for month in months
        if month.looks or month.repaints or month.repairs or month.today
    ]
