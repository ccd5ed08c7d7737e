"""The rules for one batch: its ratio, its time and its weather. Its lots are in `lot_rules`."""

from __future__ import annotations

from datetime import timedelta
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
from repairs.curing import rate

from .facts import BatchFacts, SheetFacts
from .limits import DEFAULT_LIMITS
from .lot_rules import LOT_RULES
from .remark import Remark
from .weather_rules import near_dew_point, too_cold, too_hot
from .words import amount, degrees, number, percent, span


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
    tolerance = _tolerance(batch.sheet)
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
    tolerance = _tolerance(batch.sheet)
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
    by = {"g": "weight", "ml": "volume"}.get(_unit(batch), "one unit")
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


def after_working_time(batch: BatchFacts) -> list[Remark]:
    """The last of it went on after its working time, or its pot life where that is all there is.

    A warning past the longest time of the sheet. A note past the time of a thick piece, or of a
    day warmer than the sheet's, which shortens it by the ten-degree rule."""
    sheet = batch.sheet
    limit = sheet.working_time_thin or sheet.working_time_thick or sheet.pot_life
    if batch.applied_at is None or limit is None:
        return []
    taken = batch.applied_at - batch.mixed_at
    name = "working time" if sheet.working_time_thin or sheet.working_time_thick else "pot life"
    found = f"The last of it went on {span(taken)} after mixing."
    if taken > limit:
        return [
            Remark(
                "after-working-time",
                "warning",
                found,
                f"{name} {span(limit)}",
                sheet.source,
                "What went on late may not have wetted the wood: tap it and try the edge once "
                "it is hard, and take out what is loose.",
                holds=True,
            )
        ]
    shorter = _shorter_time(batch, limit)
    if shorter is None or taken <= shorter[0]:
        return []
    return [
        Remark(
            "working-time-near",
            "note",
            found,
            f"{name} {span(shorter[0])} {shorter[1]}",
            sheet.source,
            "Look at the edge once it is hard.",
        )
    ]


def too_much_at_once(batch: BatchFacts) -> list[Remark]:
    """More mixed at once than the sheet allows."""
    total = batch.amount("a") + batch.amount("b") + batch.amount("one")
    most = batch.sheet.batch_mass_max_g
    if _unit(batch) != "g" or most is None or total <= most:
        return []
    return [
        Remark(
            "too-much-at-once",
            "warning",
            f"{amount(total, 'g')} mixed at once.",
            f"at most {amount(most, 'g')} at once",
            batch.sheet.source,
            "A large mass heats itself and goes off early: mix smaller batches, or spread it in a "
            "flat tray at once. Let what is left over go hard outdoors, away from "
            "all that burns.",
        )
    ]


def pot_life_mass(batch: BatchFacts) -> list[Remark]:
    """More mixed than the pot life was measured with, where the sheet names no greatest mass."""
    sheet = batch.sheet
    total = batch.amount("a") + batch.amount("b") + batch.amount("one")
    if _unit(batch) != "g" or sheet.pot_life is None or sheet.pot_life_mass_g is None:
        return []
    if sheet.batch_mass_max_g is not None or total <= sheet.pot_life_mass_g:
        return []
    return [
        Remark(
            "pot-life-mass",
            "note",
            f"{amount(total, 'g')} mixed at once.",
            f"pot life {span(sheet.pot_life)} holds for {amount(sheet.pot_life_mass_g, 'g')}",
            sheet.source,
            "A larger mass goes off sooner: spread it in a flat tray.",
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
        *near_dew_point(batch.air_c, batch.humidity_pct, batch.surface_c),
    ]


MIX_RULES = (
    ratio_off, swapped, part_missing, ratio_not_judged, after_working_time, too_much_at_once,
    pot_life_mass, batch_weather,
)  # fmt: skip


def _unit(batch: BatchFacts) -> str:
    """The unit of all lots, empty where they differ."""
    units = {lot.unit for lot in batch.lots}
    return units.pop() if len(units) == 1 else ""


def _wanted(batch: BatchFacts) -> MixRatio | None:
    if batch.sheet.parts != 2:
        return None
    ratios = {"g": batch.sheet.weight_ratio, "ml": batch.sheet.volume_ratio}
    return ratios.get(_unit(batch))


def _tolerance(sheet: SheetFacts) -> Decimal:
    pct = sheet.ratio_tolerance_pct
    return (DEFAULT_LIMITS["ratio_tolerance_pct"].value if pct is None else pct) / 100


def _ratio_source(sheet: SheetFacts) -> str:
    if sheet.ratio_tolerance_pct is not None:
        return sheet.source
    return f"{sheet.source}; tolerance: {DEFAULT_LIMITS['ratio_tolerance_pct'].source}"


def _mixed(batch: BatchFacts) -> str:
    unit = _unit(batch)
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


def _shorter_time(batch: BatchFacts, limit: timedelta) -> tuple[timedelta, str] | None:
    sheet = batch.sheet
    thick = sheet.working_time_thick
    if thick is not None and thick < limit:
        return thick, "in a thick piece"
    reference = sheet.working_time_at_c if sheet.working_time_thin or thick else sheet.pot_life_at_c
    surface = batch.surface_c if batch.surface_c is not None else batch.air_c
    if reference is None or surface is None or not -40 <= reference < surface <= 100:
        return None
    speed = rate(surface, reference)
    return limit / speed, f"at {degrees(surface)}, {number(Decimal(speed), '0.01')} times as fast"
