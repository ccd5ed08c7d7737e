"""The first two tables of a cost account: the whole, and the whole by years."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from config.figures import Formula
from repairs.costs.account import CostAccount
from repairs.costs.account_figures import YEARS_ADDED_UP, Figures
from repairs.costs.areas import MEASURED, OF_BUILDINGS, a_metre
from repairs.costs.cells import Cell, CostRow, CostTable, money_cell
from repairs.costs.recorded_life import A_YEAR
from repairs.costs.shares import Share, lines_url
from repairs.life_cycle.price_index import IN_TODAYS_MONEY


def longest_of(shares: Iterable[Share]) -> int:
    return max((abs(share.minor) for share in shares), default=0)


def bar_of(share: Share, longest: int) -> dict[str, Any]:
    """Money back is drawn hollow, so that it never reads as money spent."""
    return {
        "width": round(100 * abs(share.minor) / longest, 1) if longest else 0.0,
        "hatch": "hollow" if share.minor < 0 else "hatch",
    }


def total_row(account: CostAccount, *more: Cell) -> CostRow:
    report = account.report
    total = money_cell(report.total_minor, report.currency, lines_url(report.only), named=True)
    return CostRow("Total", (total, *more), total=True)


def whole_table(account: CostAccount) -> CostTable:
    report, todays = account.report, account.todays
    columns = [f"As paid, {report.currency}"]
    if todays.has_some:
        columns.append(f"In money of {todays.money_of}")
    width = len(columns)
    rows = [row for row in (_cost(account), _a_year(account), _a_metre(account)) if row]
    formulas: list[Formula] = [A_YEAR, OF_BUILDINGS]
    if todays.has_some:
        formulas.insert(0, YEARS_ADDED_UP)
    return CostTable(
        slug="whole",
        title="The whole",
        words="Whole",
        head="What",
        columns=tuple(columns),
        rows=tuple(CostRow(row.label, row.cells[:width], row.url) for row in rows),
        notes=tuple(_notes(account)),
        formulas=tuple(formulas),
    )


def _cost(account: CostAccount) -> CostRow:
    report, todays, figures = account.report, account.todays, Figures(account.currency)
    return CostRow(
        "Cost " + report.period.in_words(),
        (
            money_cell(report.total_minor, report.currency, lines_url(report.only)),
            money_cell(todays.covered_minor, report.currency, figure=figures.todays(todays)),
        ),
    )


def _a_year(account: CostAccount) -> CostRow | None:
    life = account.life
    if life is None:
        return None
    short = "not told: less than a year is recorded"
    in_today = account.todays.total_minor
    return CostRow(
        "A year of the recorded life",
        (
            _averaged(account, account.report.total_minor, short),
            _averaged(account, in_today, short if in_today is not None else "not known"),
        ),
    )


def _averaged(account: CostAccount, cost: int | None, unknown: str) -> Cell:
    life = account.life
    average = None if life is None else life.a_year(cost)
    figure = None if life is None else Figures(account.currency).a_year(cost, life)
    return money_cell(average, account.currency, figure=figure, unknown=unknown)


def _a_metre(account: CostAccount) -> CostRow:
    measured, report = account.measured, account.report
    figure = Figures(account.currency).a_metre(measured)
    # Years are kept for the whole and not for the buildings that are measured.
    of_all = measured.count == measured.of and account.todays.total_minor is not None
    area = measured.area_m2 if of_all and measured.count else None
    in_today = a_metre(account.todays.total_minor, area)
    words = "A square metre of elevation"
    if measured.of > 1:
        words += f", on {measured.count} of {measured.of} buildings"
    return CostRow(
        words,
        (
            money_cell(measured.a_metre_minor, account.currency, figure=figure),
            money_cell(
                in_today,
                account.currency,
                figure=Figures(account.currency).a_metre_today(measured, account.todays),
            ),
        ),
        lines_url(report.only, MEASURED) if measured.count else "",
    )


def _notes(account: CostAccount) -> Iterable[str]:
    todays, measured, life = account.todays, account.measured, account.life
    if life is not None:
        yield f"The recorded life told here is {life.in_words()}."
    if not todays.index.figures:
        yield (
            f"No price index is kept for {account.currency}, so nothing is told in today’s money."
        )
    elif todays.missing:
        figure = "figure" if len(todays.missing) == 1 else "figures"
        yield (
            f"The price index has no {figure} for {todays.missing_in_words()}: what was paid then "
            f"is left out of the sum in money of {todays.money_of}, and a figure of another year "
            "is not taken in its place."
        )
    if measured.count < measured.of:
        yield (
            "A square metre is told of buildings with an area recorded for each elevation: "
            f"{measured.count} of {measured.of}."
        )


def years_table(account: CostAccount) -> CostTable:
    report, todays, figures = account.report, account.todays, Figures(account.currency)
    longest = longest_of(report.by_year)
    told = todays.has_some
    rows = []
    for year in todays.years:
        url = lines_url(report.only, year.paid.only)
        cells = [money_cell(year.paid.minor, report.currency, url)]
        if told:
            cells.append(
                money_cell(
                    year.minor, report.currency, figure=figures.year(year, todays),
                    unknown="no figure",
                )
            )  # fmt: skip
        rows.append(CostRow(str(year.year), tuple(cells), **bar_of(year.paid, longest)))
    now = f"In money of {todays.money_of}" + (", in part" if todays.missing else "")
    return CostTable(
        slug="year",
        title="Cost by year",
        words="Year",
        head="Year",
        columns=(report.currency, now) if told else (report.currency,),
        rows=(*rows, *([_years_total(account)] if len(rows) > 1 else [])),
        bars=True,
        formulas=(IN_TODAYS_MONEY,) if told else (),
    )


def _years_total(account: CostAccount) -> CostRow:
    todays, figures = account.todays, Figures(account.currency)
    if not todays.has_some:
        return total_row(account)
    figure = figures.todays(todays)
    return total_row(account, money_cell(todays.covered_minor, account.currency, figure=figure))
