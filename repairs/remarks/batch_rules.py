"""The rules for one batch: its ratio and its weather. Its time and its lots stand beside."""

from __future__ import annotations

from decimal import Decimal
from itertools import chain

from materials.mixing import (
    NEVER_CHANGE_THE_RATIO,
    MixRatio,
    correction,
    deviation,
    looks_swapped,
    measured,
)
from materials.weighing import least_batch, ratio_error

from .facts import BatchFacts, SheetFacts
from .limits import DEFAULT_LIMITS
from .lot_rules import LOT_RULES
from .remark import Remark
from .sheet_limits import ratio_tolerance
from .weather_rules import near_dew_point, too_cold, too_hot, too_humid
from .words import amount, number, percent
from .working_time_rules import WORKING_TIME_RULES


def batch_remarks(batch: BatchFacts) -> list[Remark]:
    """All rules of a batch. One abandoned in the pot went nowhere, so only its lots are judged."""
    rules = LOT_RULES if batch.abandoned else (*MIX_RULES, *LOT_RULES)
    return list(chain.from_iterable(rule(batch) for rule in rules))


def ratio_off(batch: BatchFacts) -> list[Remark]:
    """B to A against the sheet's ratio, beyond its tolerance; silent when A and B look swapped."""
    wanted = _wanted(batch)
    a, b = batch.amount("a"), batch.amount("b")
    if wanted is None or not (a > 0 and b > 0):
        return []
    tolerance = ratio_tolerance(batch.sheet)
    off = deviation(measured(a, b, wanted.by), wanted)
    if abs(off) <= tolerance or looks_swapped(a, b, wanted, tolerance):
        return []
    side = "much" if off > 0 else "little"
    return [
        Remark(
            "ratio-off",
            "warning",
            f"{_mixed(batch)}: {measured(a, b, wanted.by)}, {percent(abs(off))} too {side} B.",
            f"{wanted}, within {percent(tolerance)}",
            _ratio_source(batch.sheet),
            f"{_while_wet(a, b, wanted)} Once set it may stay soft for good: try a thumbnail, "
            f"and take it out if it dents.{_wrong_basis(batch, wanted)} {NEVER_CHANGE_THE_RATIO}",
            holds=True,
        )
    ]


def swapped(batch: BatchFacts) -> list[Remark]:
    """A and B fit the ratio only when they change places: typed or mixed?"""
    wanted = _wanted(batch)
    a, b = batch.amount("a"), batch.amount("b")
    if wanted is None or not (a > 0 and b > 0):
        return []
    tolerance = ratio_tolerance(batch.sheet)
    if not looks_swapped(a, b, wanted, tolerance):
        return []
    off = deviation(measured(a, b, wanted.by), wanted)
    side = "much" if off > 0 else "little"
    return [
        Remark(
            "swapped",
            "warning",
            f"{_mixed(batch)}: {percent(abs(off))} too {side} B. "
            "The other way round the amounts fit.",
            f"{wanted}, within {percent(tolerance)}",
            _ratio_source(batch.sheet),
            "Typed or mixed? If only typed the wrong way round, change the two figures. If it was "
            "mixed so, it will not cure: discard it and take out all that it touched.",
            holds=True,
        )
    ]


def part_missing(batch: BatchFacts) -> list[Remark]:
    """A two-part product of which only one part is recorded."""
    a, b = batch.amount("a"), batch.amount("b")
    if batch.sheet.parts != 2 or bool(a > 0) == bool(b > 0):
        return []
    there, missing = ("A", "B") if a > 0 else ("B", "A")
    return [
        Remark(
            "part-missing",
            "warning",
            f"Part {there} is recorded, and no part {missing}.",
            "a two-part product takes both parts",
            batch.sheet.source,
            f"Enter what was taken of part {missing}. Without it nothing cures: take it out.",
            holds=True,
        )
    ]


def ratio_not_judged(batch: BatchFacts) -> list[Remark]:
    """Both parts are there, and no ratio to hold them against."""
    both = batch.amount("a") > 0 and batch.amount("b") > 0
    if batch.sheet.parts != 2 or not both or _wanted(batch) is not None:
        return []
    by = {"g": "weight", "ml": "volume"}.get(batch.unit, "one unit")
    return [
        Remark(
            "ratio-not-judged",
            "note",
            f"{_mixed(batch)}: not judged, since no ratio by {by} is recorded.",
            "",
            batch.sheet.source,
            f"Enter the sheet's ratio by {by}, or its ratio by volume and both densities.",
        )
    ]


def scale_too_coarse(sheet: SheetFacts, a: Decimal, b: Decimal, step: Decimal) -> list[Remark]:
    """A batch so small that the scale's step makes its ratio uncertain; for a plan, in grams."""
    wanted, tolerance = sheet.weight_ratio, ratio_tolerance(sheet)
    if sheet.parts != 2 or wanted is None or tolerance <= 0 or not (a > 0 and b > 0):
        return []
    least = least_batch(wanted, step, tolerance)
    if min(a, b) > step / 2 and ratio_error(a, b, step) <= tolerance:
        return []
    return [
        Remark(
            "scale-too-coarse",
            "warning",
            f"A scale in steps of {number(step, '0.001')} g may put the ratio of this batch off by "
            "more than it allows.",
            f"at least {amount(least, 'g')} at once on this scale, for {percent(tolerance)}",
            _ratio_source(sheet),
            "Use a finer scale, or mix more at once.",
        )
    ]


def batch_weather(batch: BatchFacts) -> list[Remark]:
    """Too cold, too hot or near the dew point, by the batch's own readings."""
    if batch.weather_of_stage:
        return []
    sheets = (batch.sheet,)
    return [
        *too_cold(sheets, batch.air_c, batch.surface_c),
        *too_hot(sheets, batch.air_c, batch.surface_c),
        *too_humid(sheets, batch.humidity_pct),
        *near_dew_point(batch.air_c, batch.humidity_pct, batch.surface_c),
    ]


MIX_RULES = (
    ratio_off, swapped, part_missing, ratio_not_judged, *WORKING_TIME_RULES, batch_weather,
)  # fmt: skip


def _wanted(batch: BatchFacts) -> MixRatio | None:
    if batch.sheet.parts != 2:
        return None
    ratios = {"g": batch.sheet.weight_ratio, "ml": batch.sheet.volume_ratio}
    return ratios.get(batch.unit)


def _ratio_source(sheet: SheetFacts) -> str:
    if sheet.ratio_tolerance_pct is not None:
        return sheet.source
    return f"{sheet.source}; tolerance: {DEFAULT_LIMITS['ratio_tolerance_pct'].source}"


def _mixed(batch: BatchFacts) -> str:
    unit = batch.unit
    return f"A {amount(batch.amount('a'), unit)}, B {amount(batch.amount('b'), unit)}"


def _while_wet(a: Decimal, b: Decimal, wanted: MixRatio) -> str:
    add = correction(a, b, wanted)
    if add is None:
        return ""
    unit = "g" if wanted.by == "weight" else "ml"
    return f"While still wet, stir in {amount(add.amount, unit)} of {add.part.upper()}."


def _wrong_basis(batch: BatchFacts, wanted: MixRatio) -> str:
    """The trap of a ratio by volume that was weighed out, or the other way round."""
    sheet = batch.sheet
    other = sheet.volume_ratio if wanted.by == "weight" else sheet.weight_ratio
    if other is None:
        return ""
    a, b = batch.amount("a"), batch.amount("b")
    off = deviation(measured(a, b, other.by), other)
    if abs(off) > Decimal("0.02"):
        return ""
    return f" The amounts fit the ratio {other}: was that one used by mistake?"
