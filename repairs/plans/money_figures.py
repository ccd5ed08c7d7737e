"""What a plan takes from the stores, costs, and comes to over the years: figures to be opened."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from config.figures import Figure, Formula, figure
from materials.kits import DRAWS, PURCHASE
from materials.money import minor_digits
from repairs.life_cycle.compare import (
    BREAK_EVEN,
    EQUIVALENT_ANNUAL,
    NOMINAL,
    PRESENT_VALUE,
    SPREAD,
    TODAYS_MONEY,
    Comparison,
    Option,
    OptionResult,
)
from repairs.plans.figure_words import Words, percent
from repairs.plans.prepared import PlannedCost, Prepared, ProductStock
from repairs.remarks.words import PARTS, day

MATERIAL = Formula(
    words="Of each lot the share that is used of what was paid for it; of packs to be bought the "
    "share that is used of their price. What is left over stays in the stores.",
    symbols="cost = Σ price × used ÷ whole",
    source="prices as recorded with the lots and the packs",
)
TOTAL = Formula(
    words="The lines added up.",
    symbols="Σ lines",
    source="this plan",
    holds="while each line is known",
)


@dataclass(frozen=True)
class StockFigures:
    """One of `Prepared.stock`, in its order: what the stores give, what to buy, what is left."""

    drawn: Figure
    bought: Figure | None = None


@dataclass(frozen=True)
class OptionFigures:
    """One of `Prepared.comparison.results`, in its order."""

    nominal: Figure
    todays_money: Figure
    present_value: Figure
    equivalent_annual: Figure


def stock_figures(stock: ProductStock, words: Words) -> StockFigures:
    drawn = figure(
        "From the stores",
        _parts(_drawn(stock), stock.unit, words) or "nothing",
        DRAWS,
        ("Needed", _parts(stock.need, stock.unit, words)),
        *((f"Lot {each.lot.number}", words.amount(each.drawn.amount, each.lot.unit))
          for each in stock.draws),
        ("Short", _parts(stock.short, stock.unit, words) or "nothing"),
    )  # fmt: skip
    return StockFigures(drawn, _bought(stock, words))


def _bought(stock: ProductStock, words: Words) -> Figure | None:
    purchase, kit = stock.purchase, stock.kit
    if purchase is None or kit is None:
        return None
    until = f"until {day(purchase.left_until)}" if purchase.left_until else "no last day known"
    return figure(
        "To buy",
        f"{purchase.kits} × {kit.name}",
        PURCHASE,
        ("Short", _parts(stock.short, stock.unit, words)),
        ("Bought", _parts(purchase.bought, stock.unit, words)),
        ("Left over", f"{_parts(purchase.left, stock.unit, words) or 'nothing'}, {until}"),
        ("Price", words.money(purchase.cost_minor)),
    )


def _drawn(stock: ProductStock) -> dict[str, Decimal]:
    nothing = Decimal(0)
    return {
        part: need - stock.short.get(part, nothing)
        for part, need in stock.need.items()
        if need > stock.short.get(part, nothing)
    }


def _parts(amounts: Mapping[str, Decimal], unit: str, words: Words) -> str:
    names = {**PARTS, "one": ""}
    return ", ".join(
        f"{names[part]} {words.amount(figure, unit)}".strip()
        for part, figure in amounts.items()
        if figure
    )


# Costs


def cost_figure(line: PlannedCost, words: Words, *, material: bool) -> Figure:
    if line.minor is None:
        return Figure(value=f"Not known: {line.basis}.", name=line.words)
    if material:
        return figure(line.words, words.money(line.minor), MATERIAL, ("From", line.basis))
    return Figure(
        value=words.money(line.minor),
        name=line.words,
        inputs=(("From", line.basis),),
        source="entered with this plan",
    )


def total_figure(prepared: Prepared, words: Words) -> Figure:
    lines = [(line.words, words.money(line.minor)) for line in prepared.costs]
    if prepared.total_minor is None:
        unknown = next((line for line in prepared.costs if line.minor is None), None)
        why = f": {unknown.words}, {unknown.basis}" if unknown else ""
        return figure("Cost of this plan", f"Not known yet{why}.", TOTAL, *lines)
    return figure("Cost of this plan", words.money(prepared.total_minor), TOTAL, *lines)


# Over the years


def _life(option: Option) -> str:
    band = "" if option.worst == option.best else f", {option.worst:g} to {option.best:g}"
    return f"{option.life_years:g} years{band}"


def option_figures(result: OptionResult, compared: Comparison, words: Words) -> OptionFigures:
    option = result.option
    inputs = [
        ("Done once", _major(option.first, words)),
        ("Access", _major(option.access, words)),
        ("Life", _life(option)),
        ("Upkeep a year", _major(option.upkeep, words)),
        ("Years", str(compared.study_years)),
        ("Real rate", percent(compared.real_rate)),
    ]
    if option.repaint_years is not None:
        repaint = f"{_major(option.repaint, words)} every {option.repaint_years:g} years"
        inputs.append(("Repaint", repaint))
    if result.unused_worth:
        inputs.append(("Counts back at the end", _major(result.unused_worth, words)))
    if result.then:
        inputs.append(("Then", result.then))
    rise = ("Rise of prices a year", percent(compared.price_rise))
    return OptionFigures(
        nominal=figure("Nominal", _major(result.nominal, words), NOMINAL, *inputs, rise),
        todays_money=figure(
            "Today’s money", _major(result.todays_money, words), TODAYS_MONEY, *inputs
        ),
        present_value=figure(
            "Present value", _major(result.present_value, words), PRESENT_VALUE, *inputs
        ),
        equivalent_annual=figure(
            "Equivalent annual cost",
            _major(result.equivalent_annual, words),
            EQUIVALENT_ANNUAL,
            ("Present value", _major(result.present_value, words)),
            *inputs,
        ),
    )


def options_figures(compared: Comparison, words: Words) -> tuple[OptionFigures, ...]:
    return tuple(option_figures(each, compared, words) for each in compared.results)


def break_even_figure(compared: Comparison) -> Figure | None:
    even = compared.break_even
    if even is None:
        return None
    return figure("Break-even life", even.words, BREAK_EVEN, ("How", compared.basis))


def spread_figure(compared: Comparison, words: Words) -> Figure | None:
    spread = compared.spread
    if spread is None:
        return None
    named = {result.option.kind: result.option.words for result in compared.results}
    shares = []
    for kind, share in spread.shares.items():
        low, high = spread.annual[kind].p10, spread.annual[kind].p90
        yearly = f"{_major(low, words)} to {_major(high, words)} a year in eight of ten"
        shares.append((named[kind], f"cheapest in {percent(share)} of the draws; {yearly}"))
    best = max(spread.shares, key=lambda kind: spread.shares[kind])
    value = f"{named[best]} is the cheapest in {percent(spread.shares[best])} of the draws"
    drawn = ("Draws", f"{spread.draws:,}, seed {spread.seed}")
    return figure("How sure the answer is", value, SPREAD, *shares, drawn)


def _major(amount: float, words: Words) -> str:
    digits = minor_digits(words.currency)
    return words.money(round(amount * 10**digits))
