"""Which pack to buy for what the stores lack, in the unit that a plan counts a product in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from materials.kits import Purchase, to_buy
from materials.models import Kit, SheetRevision
from repairs.plans.reached import reached


@dataclass(frozen=True)
class Bought:
    kit: Kit
    purchase: Purchase


def cheapest(
    short: Mapping[str, Decimal],
    kits: Sequence[Kit],
    sheet: SheetRevision,
    unit: str,
    on: date,
    currency: str,
) -> Bought | None:
    """The pack that covers the shortage for the least money, of equal ones in fewest packs; those
    without a price in that currency come last."""
    found = []
    for kit in kits:
        holds = _holds(kit, sheet, unit)
        purchase, _ = reached(
            partial(
                to_buy,
                short,
                holds,
                kit.price_minor,
                bought_on=on,
                shelf_months=_shelf_months(sheet),
            )
        )
        if purchase is not None:
            found.append(Bought(kit, purchase))

    def dear(bought: Bought) -> tuple[bool, int, int]:
        cost = bought.purchase.cost_minor
        unknown = cost is None or bought.kit.currency != currency
        return unknown, cost or 0, bought.purchase.kits

    return min(found, key=dear, default=None)


def _holds(kit: Kit, sheet: SheetRevision, unit: str) -> dict[str, Decimal]:
    """How much of each part a pack holds, in a unit."""
    first = "one" if sheet.product.parts == 1 else "a"
    held: dict[str, Decimal] = {}
    for part, grams, millilitres in (
        (first, kit.mass_a_g, kit.volume_a_ml),
        ("b", kit.mass_b_g, kit.volume_b_ml),
    ):
        own, other = (grams, millilitres) if unit == "g" else (millilitres, grams)
        if own is None and other is not None:
            own = convert(other, "ml" if unit == "g" else "g", unit, part, sheet)
        if own is not None:
            held[part] = own
    return held


def _shelf_months(sheet: SheetRevision) -> int | None:
    """What is left over stands in opened tins: the shorter of the two shelf lives."""
    lives = (sheet.shelf_life_unopened_months, sheet.shelf_life_opened_months)
    return min((life for life in lives if life is not None), default=None)


def convert(
    figure: Decimal, source: str, target: str, part: str, sheet: SheetRevision
) -> Decimal | None:
    """Grams of a part as millilitres or the other way; None where its density is not known."""
    if source == target:
        return figure
    density = sheet.density_b_g_ml if part == "b" else sheet.density_a_g_ml
    if density is None:
        return None
    return figure * density if target == "g" else figure / density
