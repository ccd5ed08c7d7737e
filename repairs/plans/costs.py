"""What a plan costs, line by line, in the property's currency."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from materials.money import round_minor, show_money
from repairs.models import Plan
from repairs.plans.prepared import PlannedCost, ProductStock
from repairs.plans.stock import cost_of, priced_lot


def costs_of(
    plan: Plan, stock: Sequence[ProductStock], unknown: Iterable[str], currency: str
) -> tuple[PlannedCost, ...]:
    """Material, labour and access; a line is None while its price is not known. `unknown` are
    the products of which it is not known how much is taken."""
    return (
        *(_material(each, currency) for each in stock),
        *(PlannedCost(name, None, "how much it takes is not known") for name in unknown),
        _labour(plan, currency),
        PlannedCost("Access", plan.access_minor, _entered(plan.access_minor, "access")),
    )


def _material(stock: ProductStock, currency: str) -> PlannedCost:
    """What the plan uses; what is left of bought packs stays in the stores and is not counted."""
    return PlannedCost(str(stock.sheet.product), cost_of(stock, currency), _basis(stock, currency))


def _basis(stock: ProductStock, currency: str) -> str:
    said = []
    if stock.draws:
        said.append("what the lots in the stores cost, by the share used")
    if stock.short and stock.kit is not None and stock.purchase is not None:
        packs = f"{stock.purchase.kits} × {stock.kit.name} to buy"
        price, used = stock.purchase.cost_minor, stock.used_minor
        if price is not None and used is not None:
            packs += (
                f" for {show_money(price, stock.kit.currency)}, of which "
                f"{show_money(price - used, stock.kit.currency)} is left over"
            )
        said.append(packs)
    return _what_is_missing(stock, currency) or "; ".join(said)


def _what_is_missing(stock: ProductStock, currency: str) -> str:
    unpriced = [each.lot.number for each in stock.draws if each.cost_minor is None]
    if unpriced:
        return f"no price of lot {unpriced[0]} is recorded"
    if stock.short and stock.kit is None:
        return "no pack to buy is recorded"
    if stock.short and stock.used_minor is None:
        return "no price of the pack is recorded"
    currencies = {priced_lot(each.lot).currency for each in stock.draws}
    if stock.short and stock.kit is not None:
        currencies.add(stock.kit.currency)
    other = sorted(currencies - {currency})
    return f"it is priced in {other[0]}, and no rate is known" if other else ""


def _labour(plan: Plan, currency: str) -> PlannedCost:
    if plan.labour_hours is None:
        return PlannedCost("Labour", None, "the hours are not entered")
    if plan.labour_rate_minor is None:
        known = 0 if plan.labour_hours == 0 else None
        return PlannedCost("Labour", known, "the rate of an hour is not entered")
    hours = f"{plan.labour_hours.normalize():f}"
    return PlannedCost(
        "Labour",
        round_minor(Fraction(plan.labour_hours) * plan.labour_rate_minor),
        f"{hours} h at {show_money(plan.labour_rate_minor, currency)}",
    )


def _entered(minor: int | None, what: str) -> str:
    return f"the cost of {what} is not entered" if minor is None else "as entered"
