"""The batches of a stage: how many, what to weigh, and how long each can be worked."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial

from materials.batches import MOST_BATCHES, Batches, into_batches
from materials.mixing import MixRatio
from materials.models import SheetRevision
from materials.weighing import least_batch, ratio_error
from materials.working_time import PotLife, WorkingTime, pot_life_of, working_time
from repairs.logbook.facts import sheet_facts
from repairs.models import Plan
from repairs.plans.prepared import StageAmount
from repairs.plans.reached import reached, said
from repairs.plans.starting import SCALE_STEP_G
from repairs.remarks.sheet_limits import ratio_tolerance

ML_STEP = Decimal(1)


@dataclass(frozen=True)
class Mixes:
    """`unit` is that of the batches: ml where grams are not known."""

    working: WorkingTime | None = None
    batches: Batches | None = None
    unit: str = "g"
    least_g: Decimal | None = None
    scale_error: Decimal | None = None
    missing: tuple[str, ...] = ()


def mixes_of(
    sheet: SheetRevision | None,
    amount: StageAmount | None,
    layers: int,
    plan: Plan,
    air_c: Decimal | None,
) -> Mixes:
    """Batches for each layer, so that none outlives its working time; numbered all through."""
    if sheet is None or sheet.product.parts != 2:
        return Mixes()
    pot, no_pot = reached(partial(pot_life_of, sheet))
    unit, total, ratio = _measured_in(sheet, amount)
    step = (plan.scale_step_g or SCALE_STEP_G) if unit == "g" else ML_STEP
    if total is None or total <= 0:
        working, why = _working(pot, air_c, None)
        return Mixes(working=working, unit=unit, missing=said(no_pot, why))
    in_grams = unit == "g"
    batches, too_many = reached(
        partial(
            into_batches,
            total / layers,
            # In millilitres the same arithmetic holds, with the ratio by volume.
            replace(ratio, by="weight") if ratio else None,
            mass_limit=sheet.batch_mass_max_g if in_grams else None,
            pot=pot if in_grams else None,
            temperature_c=None if air_c is None else float(air_c),
            pace_g_min=plan.pace_g_min if in_grams else None,
            step=step,
            tolerance=ratio_tolerance(sheet_facts(sheet)),
        )
    )
    if batches is not None and len(batches.batches) * layers > MOST_BATCHES:
        batches, too_many = None, f"More than {MOST_BATCHES} batches: look at the amount again."
    largest = batches.batches[0].total if batches and in_grams else None
    working, why = _working(pot, air_c, largest)
    return Mixes(
        working=working,
        batches=_for_each(batches, layers) if batches else None,
        unit=unit,
        least_g=_least(ratio, step, sheet),
        scale_error=_scale_error(batches, step),
        missing=said(no_pot, too_many, why, _no_ratio(sheet, ratio)),
    )


def _measured_in(
    sheet: SheetRevision, amount: StageAmount | None
) -> tuple[str, Decimal | None, MixRatio | None]:
    """By weight where that can be told, else by volume."""
    by_weight, by_volume = sheet.weight_ratio(), sheet.volume_ratio()
    if amount is None:
        return "g", None, by_weight
    if amount.total_g is not None and (by_weight is not None or by_volume is None):
        return "g", amount.total_g, by_weight
    if by_volume is not None or amount.total_g is None:
        return "ml", amount.total_ml, by_volume
    return "g", amount.total_g, by_weight


def _working(
    pot: PotLife | None, air_c: Decimal | None, mass_g: Decimal | None
) -> tuple[WorkingTime | None, str]:
    if pot is None:
        return None, ""
    return reached(partial(working_time, pot, air_c, mass_g))


def _for_each(batches: Batches, layers: int) -> Batches:
    """The batches of one layer as often as there are layers, in one count."""
    rows = batches.batches * layers
    return replace(
        batches,
        batches=tuple(replace(row, number=number) for number, row in enumerate(rows, start=1)),
    )


def _least(ratio: MixRatio | None, step: Decimal, sheet: SheetRevision) -> Decimal | None:
    """None where no batch is large enough, since the sheet wants the ratio exact."""
    tolerance = ratio_tolerance(sheet_facts(sheet))
    if ratio is None or ratio.by != "weight" or not tolerance:
        return None
    return least_batch(ratio, step, tolerance)


def _scale_error(batches: Batches | None, step: Decimal) -> Decimal | None:
    if batches is None:
        return None
    first = batches.batches[0]
    if first.a is None or first.b is None:
        return None
    error, _ = reached(partial(ratio_error, first.a, first.b, step))
    return error


def _no_ratio(sheet: SheetRevision, ratio: MixRatio | None) -> str:
    return "" if ratio else f"The sheet of {sheet.product} tells no mix ratio."
