"""A wanted amount as equal batches that can each be weighed, and used in time.

Grams as Decimal; every amount is a whole number of the scale's steps."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

from config.figures import Formula
from materials.mixing import MixRatio, deviation, measured
from materials.weighing import in_whole_steps
from materials.working_time import PotLife, WorkingTime, working_time

MOST_BATCHES = 500
MOST_G = 10**9
MINUTE = timedelta(minutes=1)
TOLERANCE = Decimal("0.05")
MORE_STEPS = 2

BY_SHEET = "the sheet's largest batch"
BY_TIME = "the time in which it can be laid"
BY_POT_LIFE = "the largest mass of which the sheet tells a pot life"

NO_PACE = (
    "How much is laid in a minute is not recorded, so that the batches are not held to the working "
    "time: enter a pace."
)

BATCHES = Formula(
    words="As few equal batches as keep each within the sheet's largest batch, and within what the "
    "crew lays before its working time is over. A and B in whole steps of the scale, rounded so "
    "that together they are enough.",
    symbols="m ≤ m_max, m ÷ pace ≤ t(m); n = ⌈M/m⌉",
    source="data sheet, working time and pace; where the sheet names no largest batch, none is "
    "larger than the mass of which it tells a pot life (common practice, no source)",
    holds="at most 500 batches",
)


@dataclass(frozen=True)
class PlannedBatch:
    """`a` + `b` = `total`; both are None for a one-part product, and where no ratio by weight is
    known. `working` is None where the sheet tells no pot life."""

    number: int
    total: Decimal
    a: Decimal | None
    b: Decimal | None
    working: WorkingTime | None


@dataclass(frozen=True)
class Batches:
    """`most` is the largest batch, and `bound_by` the phrase that says what bounds it; None and
    empty where nothing does. `remark` is a sentence or more, or empty."""

    batches: tuple[PlannedBatch, ...]
    most: Decimal | None
    bound_by: str
    remark: str


def into_batches(
    total: Decimal,
    ratio: MixRatio | None,
    *,
    mass_limit: Decimal | None,
    pot: PotLife | None,
    temperature_c: float | None,
    pace_g_min: Decimal | None,
    step: Decimal,
    tolerance: Decimal = TOLERANCE,
) -> Batches:
    """Equal batches that together are at least the total, none above what the sheet and the
    working time allow.

    `tolerance` is that of the ratio, as a fraction. Raises ValueError for a total, step, limit or
    pace of zero or less or above a thousand tonnes, more than 500 batches, a batch too small to
    weigh or too slow to lay, and a temperature or energy out of range (see `working_time`)."""
    for name, value in (("total", total), ("largest batch", mass_limit), ("pace", pace_g_min)):
        if value is not None and not (value.is_finite() and 0 < value <= MOST_G):
            raise ValueError(f"A {name} is above zero and at most 1,000 tonnes.")

    def working_of(grams: Decimal) -> WorkingTime | None:
        return None if pot is None else working_time(pot, temperature_c, grams)

    most, bound_by = _most(mass_limit, pot, pace_g_min, step, working_of)
    wanted = in_whole_steps(total, step)
    most_steps = wanted if most is None else int(most // step)
    if most_steps == 0:
        raise ValueError(f"Less than one step of the scale is allowed by {bound_by}.")
    count = math.ceil(Fraction(wanted, most_steps))
    if count > MOST_BATCHES:
        raise ValueError(f"More than {MOST_BATCHES} batches: check the amount and the limits.")
    least = math.ceil(Fraction(wanted, count))
    rounded_up = least + MORE_STEPS if most is None else min(least + MORE_STEPS, most_steps)
    weighed = _weighed(range(least, rounded_up + 1), ratio, step, tolerance)
    working = working_of(weighed.total)
    batches = tuple(
        PlannedBatch(number, weighed.total, weighed.a, weighed.b, working)
        for number in range(1, count + 1)
    )
    remarks = (
        _ratio_remark(weighed, ratio, tolerance),
        _pace_remark(pot, pace_g_min),
        working.remark if working else "",
    )
    return Batches(batches, most, bound_by, " ".join(each for each in remarks if each))


@dataclass(frozen=True)
class _Weighed:
    total: Decimal
    a: Decimal | None = None
    b: Decimal | None = None
    off: Decimal = Decimal(0)


def _most(
    mass_limit: Decimal | None,
    pot: PotLife | None,
    pace: Decimal | None,
    step: Decimal,
    working_of: Callable[[Decimal], WorkingTime | None],
) -> tuple[Decimal | None, str]:
    """The tightest bound on one batch, in whole steps, and what sets it."""
    bounds: list[tuple[Decimal, str]] = []
    if mass_limit is not None:
        bounds.append((mass_limit // step * step, BY_SHEET))
    elif pot is not None and pot.largest_g is not None:
        bounds.append((Decimal(str(pot.largest_g)) // step * step, BY_POT_LIFE))
    if pot is not None and pace is not None:
        bounds.append((_in_time(pace, step, working_of), BY_TIME))
    return min(bounds, default=(None, ""), key=lambda bound: bound[0] or Decimal(0))


def _in_time(
    pace: Decimal, step: Decimal, working_of: Callable[[Decimal], WorkingTime | None]
) -> Decimal:
    """The largest whole number of steps that is laid within its own working time. A larger mass
    takes longer and may be used for no longer, so that halving finds it."""

    def in_time(steps: int) -> bool:
        working = working_of(steps * step)
        assert working is not None
        return float(steps * step / pace) <= working.to_use_within / MINUTE

    if not in_time(1):
        return Decimal(0)
    fits, too_many = 1, 2
    while in_time(too_many):
        fits, too_many = too_many, too_many * 2
    while too_many - fits > 1:
        middle = (fits + too_many) // 2
        fits, too_many = (middle, too_many) if in_time(middle) else (fits, middle)
    return fits * step


def _weighed(totals: range, ratio: MixRatio | None, step: Decimal, tolerance: Decimal) -> _Weighed:
    """A and B of one batch, of one of the totals in steps. A step or two more are mixed where that
    brings the ratio within half the tolerance, which leaves the other half to the readings."""
    if ratio is None or ratio.by != "weight":
        return _Weighed(totals[0] * step)
    best: _Weighed | None = None
    for enough in totals:
        exact_b = enough * ratio.b_for_a() / (1 + ratio.b_for_a())
        for b in {math.floor(exact_b), math.ceil(exact_b)} - {0, enough}:
            a = enough - b
            off = deviation(measured(a * step, b * step, "weight"), ratio)
            if best is None or abs(off) < abs(best.off):
                best = _Weighed(enough * step, a * step, b * step, off)
        if best is not None and abs(best.off) <= tolerance / 2:
            return best
    if best is None:
        raise ValueError("The scale is too coarse for so small a batch: use a finer one.")
    return best


def _ratio_remark(weighed: _Weighed, ratio: MixRatio | None, tolerance: Decimal) -> str:
    if ratio is not None and ratio.by != "weight":
        return (
            "The sheet tells no ratio by weight and no densities, so that A and B are not given in "
            f"grams: measure them {ratio}."
        )
    if abs(weighed.off) > tolerance:
        return (
            f"In whole steps of this scale the ratio is {abs(weighed.off) * 100:.1f} % off: use a "
            "finer scale or a larger batch."
        )
    return ""


def _pace_remark(pot: PotLife | None, pace: Decimal | None) -> str:
    if pot is None or pace is not None:
        return ""
    return NO_PACE
