"""The ways to fill the cavity against each other: solid, lined and hollow, lined with a block."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import partial

from materials.mixing import loss_on
from materials.models import SheetRevision
from materials.money import round_minor
from properties.cavity import lined
from repairs.models import Plan
from repairs.plans.amounts import LINED, USUAL_SHELL_MM, Space, density_of
from repairs.plans.prepared import Filling, ProductStock
from repairs.plans.reached import reached
from repairs.plans.stock import cost_of

WHOLE = Decimal(1)


def fillings_of(
    plan: Plan,
    space: Space,
    sheet: SheetRevision | None,
    stock: Sequence[ProductStock],
    currency: str,
) -> tuple[Filling, ...]:
    """What the cavity takes in each way, the loss included, at what the chosen product costs this
    plan; the timber of a block apart."""
    if space.cavity is None:
        return ()
    shell = plan.shell_mm or (sheet.layer_min_mm if sheet else None) or USUAL_SHELL_MM
    lining, _ = reached(partial(lined, space.cavity, shell))
    price = _price_of_a_ml(sheet, stock, currency)
    density = density_of(sheet) if sheet else None
    found = []
    for kind, words in Plan.Filling.choices:
        if kind in LINED and (lining is None or not lining.core_ml):
            continue
        net = lining.shell_ml if lining and kind in LINED else space.cavity.ml
        loss, _ = reached(partial(loss_on, net, plan.loss_pct or Decimal(0)))
        whole = net + (loss or 0)
        found.append(
            Filling(
                kind=kind,
                words=str(words),
                ml=whole.quantize(WHOLE),
                mass_g=None if density is None else (whole * density).quantize(WHOLE),
                cost_minor=None if price is None else round_minor(Fraction(whole) * price),
                chosen=plan.filling == kind,
                shell_mm=shell if kind in LINED else None,
            )
        )
    return tuple(found)


def _price_of_a_ml(
    sheet: SheetRevision | None, stock: Sequence[ProductStock], currency: str
) -> Fraction | None:
    """In minor units, from what is drawn and bought of the product; None while one price of them
    is not known."""
    if sheet is None:
        return None
    own = next((each for each in stock if each.sheet.product_id == sheet.product_id), None)
    if own is None or (cost := cost_of(own, currency)) is None:
        return None
    taken = _in_ml(own.need, own.unit, sheet)
    return Fraction(cost) / Fraction(taken) if taken else None


def _in_ml(need: Mapping[str, Decimal], unit: str, sheet: SheetRevision) -> Decimal | None:
    total = sum(need.values(), Decimal(0))
    if unit == "ml":
        return total
    density = density_of(sheet)
    return total / density if density else None
