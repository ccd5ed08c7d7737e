"""A cost account laid out as tables, in the order in which it is read."""

from __future__ import annotations

from repairs.costs.account import CostAccount
from repairs.costs.account_figures import Figures, number
from repairs.costs.areas import OF_ELEVATION, ElevationCost
from repairs.costs.cells import Cell, CostRow, CostTable, count_cell, money_cell, word_cell
from repairs.costs.layout_planned import planned_table, saved_table
from repairs.costs.layout_whole import bar_of, longest_of, total_row, whole_table, years_table
from repairs.costs.shares import MOST_SHOWN, Share, lines_url, shortened

NOT_RECORDED = word_cell("not recorded")
TAX_NOTE = (
    "Tax is part of the amounts. Foreign tax is turned into this currency at the rate of its line."
)


def tables_of(account: CostAccount, in_full: bool = False) -> list[CostTable]:
    """Those that have something to say. `in_full` tells every share of a long division, as a
    workbook does; else its smallest shares are one row."""
    report, divisions = account.report, account.divisions
    if not report.by_year:
        return []

    def bars(slug: str, title: str, head: str, shares: tuple[Share, ...]) -> CostTable | None:
        return _bars(account, slug, title, head, shares if in_full else shortened(shares))

    tables = [
        whole_table(account),
        years_table(account),
        _elevations(account, in_full),
        bars("kind", "Cost by kind", "Kind", report.by_kind),
        bars("cause", "Cost by cause", "Cause", report.by_cause),
        bars("repair-kind", "Cost by kind of repair", "Repair kind", divisions.by_repair_kind),
        bars("member-kind", "Cost by kind of member", "Member kind", divisions.by_member_kind),
        _dearest(account),
        planned_table(account),
        saved_table(account),
        bars("bearer", "Cost by who bears it", "Borne by", divisions.by_bearer),
        bars("class", "Cost by capital or revenue", "Capital or revenue", divisions.by_class),
        _tax(account),
        bars("building", "Cost by building", "Building", report.by_building),
        bars("member", "Cost by member", "Member", report.by_member),
    ]
    return [table for table in tables if table is not None]


def _bars(
    account: CostAccount, slug: str, title: str, head: str, shares: tuple[Share, ...]
) -> CostTable | None:
    if not shares:
        return None
    longest, report = longest_of(shares), account.report
    rows = [
        CostRow(
            label=share.label,
            cells=(_cost(account, share),),
            url=share.url,
            **bar_of(share, longest),
        )
        for share in shares
    ]
    # Of one part the total would say the same again.
    foot = [total_row(account)] if len(rows) > 1 else []
    return CostTable(slug, title, head, head, (report.currency,), (*rows, *foot), bars=True)


def _cost(account: CostAccount, share: Share) -> Cell:
    return money_cell(share.minor, account.currency, lines_url(account.report.only, share.only))


def _elevations(account: CostAccount, in_full: bool) -> CostTable | None:
    if not account.by_elevation:
        return None
    told = account.by_elevation
    if not in_full and len(told) > MOST_SHOWN:
        rest = shortened(tuple(each.share for each in told))[-1]
        told = (*told[:MOST_SHOWN], ElevationCost(rest, None))
    unmeasured = sum(1 for each in account.by_elevation if each.area_m2 is None and each.share.url)
    notes = []
    if unmeasured:
        faces = "elevation has" if unmeasured == 1 else "elevations have"
        notes.append(f"{unmeasured} {faces} no area recorded, so no cost a square metre is told.")
    return CostTable(
        slug="elevation",
        title="Cost by elevation, and a square metre",
        words="Elevation",
        head="Elevation",
        columns=(account.currency, "m²", f"{account.currency} a m²"),
        rows=(
            *(_elevation(account, each) for each in told),
            total_row(account, word_cell(""), word_cell("")),
        ),
        notes=tuple(notes),
        formulas=(OF_ELEVATION,),
    )


def _elevation(account: CostAccount, each: ElevationCost) -> CostRow:
    on_one = bool(each.share.url)
    area = NOT_RECORDED if on_one else word_cell("")
    if each.area_m2 is not None:
        area = Cell(number(each.area_m2), each.area_m2)
    figure = Figures(account.currency).of_elevation(each)
    return CostRow(
        label=each.share.label,
        cells=(
            _cost(account, each.share),
            area,
            money_cell(
                each.a_metre_minor, account.currency, figure=figure,
                unknown="not known" if on_one else "",
            ),
        ),
        url=each.share.url,
    )  # fmt: skip


def _dearest(account: CostAccount) -> CostTable | None:
    if not account.dearest:
        return None
    rows = tuple(
        CostRow(
            label=each.share.label,
            cells=(count_cell(each.repairs), _cost(account, each.share)),
            url=each.share.url,
        )
        for each in account.dearest
    )
    many = len(rows)
    title = "The member that cost most" if many == 1 else f"The {_IN_WORDS[many]} that cost most"
    note = "Repairs are those begun in the days told; a withdrawn one is not counted."
    return CostTable(
        slug="dearest",
        title=title,
        words="Dearest members",
        head="Member",
        columns=("Repairs", account.currency),
        rows=rows,
        notes=(note,),
    )


_IN_WORDS = {2: "two members", 3: "three members", 4: "four members", 5: "five members"}


def _tax(account: CostAccount) -> CostTable:
    tax, only = account.divisions.tax, account.report.only
    said, unsaid = lines_url(only, (("tax", "recorded"),)), lines_url(only, (("tax", "none"),))
    taxed = tax.lines > 0
    within = money_cell(tax.minor, account.currency, said) if taxed else NOT_RECORDED
    return CostTable(
        slug="tax",
        title="Tax within the cost",
        words="Tax",
        head="Tax",
        columns=("Lines", account.currency),
        rows=(
            CostRow("Recorded", (count_cell(tax.lines, said), within)),
            CostRow("Not recorded", (count_cell(tax.without, unsaid), word_cell(""))),
        ),
        notes=(TAX_NOTE,),
    )
