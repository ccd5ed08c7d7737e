"""What was planned against what was spent, and what repair saved, as tables."""

from __future__ import annotations

from collections.abc import Iterable

from repairs.costs.account import CostAccount
from repairs.costs.account_figures import OVER, SAVED, Figures, percent_over
from repairs.costs.cells import Cell, CostRow, CostTable, money_cell, word_cell
from repairs.costs.planned import MOST_PLANS, PlannedAgainstSpent, PlannedRepair
from repairs.costs.shares import Only, lines_url
from repairs.plans.planned_money import PLANNED_MONEY

WHOLE_REPAIRS = (
    "A repair counts here if it was begun in the days told, with all its cost lines of any day, in "
    "nominal money. A shared cost that is not tied to the repair is not in it."
)

WHERE_BOTH = (
    "Told where the plan priced a new member and the repair has cost lines. Lives and upkeep are "
    "not weighed here; the plan does."
)


def planned_table(account: CostAccount) -> CostTable | None:
    planned, currency = account.planned, account.currency
    if not (planned.repairs or planned.in_work or planned.hidden):
        return None
    rows = [_planned(account, each) for each in planned.repairs]
    if planned.priced:
        rows.append(_planned_total(account, planned.priced))
    return CostTable(
        slug="planned",
        title="Planned against spent",
        words="Planned and spent",
        head="Repair",
        columns=(f"Planned, {currency}", f"Spent, {currency}", f"Over, {currency}", "In percent"),
        rows=tuple(rows),
        notes=(*_left_out(planned), WHOLE_REPAIRS),
        formulas=(PLANNED_MONEY, OVER),
    )


def _planned(account: CostAccount, each: PlannedRepair) -> CostRow:
    figures, planned = Figures(account.currency), each.planned_minor
    return CostRow(
        label=each.spent.label,
        cells=(
            money_cell(
                planned, account.currency, figure=figures.planned(each), unknown="not priced"
            ),
            _spent(account, (each,)),
            *_over(figures, planned, each.spent.minor),
        ),
        url=each.spent.url,
    )


def _over(figures: Figures, planned: int | None, spent: int) -> tuple[Cell, Cell]:
    if planned is None:
        return word_cell(""), word_cell("")
    over = money_cell(spent - planned, figures.currency, figure=figures.over(planned, spent))
    return over, word_cell(percent_over(planned, spent))


def _planned_total(account: CostAccount, priced: tuple[PlannedRepair, ...]) -> CostRow:
    figures = Figures(account.currency)
    planned = sum(each.planned_minor or 0 for each in priced)
    spent = sum(each.spent.minor for each in priced)
    label = "Total" if len(priced) == len(account.planned.repairs) else "Total of those priced"
    return CostRow(
        label,
        (
            money_cell(
                planned,
                account.currency,
                figure=figures.added_up(
                    "Planned", ((each.spent.label, each.planned_minor) for each in priced)
                ),
            ),
            _spent(account, priced),
            *_over(figures, planned, spent),
        ),
        total=True,
    )


def _spent(account: CostAccount, repairs: tuple[PlannedRepair, ...]) -> Cell:
    spent = sum(each.spent.minor for each in repairs)
    numbers = ",".join(str(each.repair.pk) for each in repairs)
    return money_cell(spent, account.currency, lines_url(_place(account), (("repair", numbers),)))


def _place(account: CostAccount) -> Only:
    """The conditions of the account but for its days."""
    return tuple(pair for pair in account.report.only if pair[0] not in {"first", "last"})


def _left_out(planned: PlannedAgainstSpent) -> Iterable[str]:
    if count := len(planned.unpriced):
        were = "repair was" if count == 1 else "repairs were"
        yield f"{count} planned {were} not priced, and not counted in the total."
    if planned.older:
        yield f"The newest {MOST_PLANS} are told; {planned.older} older ones are left out."
    if planned.in_work:
        yield f"{_repairs(planned.in_work)} still in work, and not compared."
    if planned.without_lines:
        yield f"{_repairs(planned.without_lines)} without a cost line, and not compared."
    if planned.hidden:
        yield f"{_repairs(planned.hidden)} left out: a part of it was an earlier owner’s."


def _repairs(count: int) -> str:
    return "1 planned repair is" if count == 1 else f"{count} planned repairs are"


def saved_table(account: CostAccount) -> CostTable | None:
    saving, currency = account.planned.saving, account.currency
    if not saving:
        return None
    replace = sum(each.replace_minor or 0 for each in saving)
    spent = sum(each.spent.minor for each in saving)
    total = CostRow(
        "Total",
        (
            money_cell(
                replace,
                currency,
                figure=Figures(currency).added_up(
                    "New members", ((each.spent.label, each.replace_minor) for each in saving)
                ),
            ),
            _spent(account, saving),
            *_saved(account, replace, spent),
        ),
        total=True,
    )
    return CostTable(
        slug="saved",
        title="What repair saved against a new member",
        words="Saved",
        head="Repair",
        columns=(f"New member, {currency}", f"Repair, {currency}", f"Saved, {currency}", ""),
        rows=(*(_saved_row(account, each) for each in saving), total),
        notes=(WHERE_BOTH,),
        formulas=(SAVED,),
    )


def _saved_row(account: CostAccount, each: PlannedRepair) -> CostRow:
    replace = each.replace_minor or 0
    return CostRow(
        label=each.spent.label,
        cells=(
            money_cell(replace, account.currency, figure=Figures(account.currency).typed(replace)),
            _spent(account, (each,)),
            *_saved(account, replace, each.spent.minor),
        ),
        url=each.spent.url,
    )


def _saved(account: CostAccount, replace: int, spent: int) -> tuple[Cell, Cell]:
    figure = Figures(account.currency).saved(replace, spent)
    word = "cost more" if spent > replace else "saved" if spent < replace else "the same"
    return money_cell(replace - spent, account.currency, figure=figure), word_cell(word)
