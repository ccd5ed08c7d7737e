"""What a scale's step does to a mix ratio, and the smallest batch worth mixing on it.

Amounts and steps are Decimal in one unit, grams; fractions are plain numbers, 0.05 for 5 %."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal
from fractions import Fraction

from config.figures import Formula
from materials.mixing import MixRatio

DOUBLE_POT = (
    "Stir until it is even, scraping sides and bottom; then pour it into a second clean cup and "
    "stir again, since what clings to the first cup is not mixed (double-pot mixing; common "
    "practice, no source)."
)
RATIO_ERROR = Formula(
    words="A scale shows whole steps, so each reading can be half a step off: B too much and A "
    "too little together put the ratio off the most.",
    symbols="e = (1 + s/2B) ÷ (1 − s/2A) − 1",
    source="worst case of two readings, worked out here",
    holds="parts larger than half a step s; faults of the scale itself come on top",
)
LEAST_BATCH = Formula(
    words="The smallest total whose ratio stays within the tolerance though both readings are half "
    "a step off.",
    symbols="A ≥ s × (1 + τ + A/B) ÷ 2τ, total = A × (1 + B/A)",
    source="from the error of the ratio, worked out here",
    holds="tolerance τ above zero",
)


def ratio_error(a: Decimal, b: Decimal, step: Decimal) -> Decimal:
    """The worst fraction that B to A can be off when each reading is half a step off.

    (b + s/2)/(a − s/2) ÷ (b/a) − 1; above zero, and falling with the mass. Raises ValueError
    for amounts that are no larger than half a step, or a step of zero or less."""
    _checked(step, a, b)
    half = Fraction(step) / 2
    if Fraction(a) <= half or Fraction(b) <= half:
        raise ValueError("A part is larger than half a step of the scale.")
    worst = (1 + half / Fraction(b)) / (1 - half / Fraction(a)) - 1
    return Decimal(worst.numerator) / Decimal(worst.denominator)


def least_batch(ratio: MixRatio, step: Decimal, tolerance: Decimal) -> Decimal:
    """The smallest total, in whole steps, that `ratio_error` keeps within the tolerance.

    `tolerance` is a fraction above zero, else ValueError; the ratio is by weight. Every larger
    total is within it too. See `LEAST_BATCH`."""
    _checked(step)
    if not (tolerance.is_finite() and tolerance > 0):
        raise ValueError("Without a tolerance above zero no batch is large enough.")
    if ratio.by != "weight":
        raise ValueError("A scale weighs: give the ratio by weight.")
    b_for_a, allowed = ratio.b_for_a(), Fraction(tolerance)
    a = Fraction(step) * (1 + allowed + 1 / b_for_a) / (2 * allowed)
    steps = a * (1 + b_for_a) / Fraction(step)
    return Decimal(-(-steps.numerator // steps.denominator)) * step


def in_whole_steps(amount: Decimal, step: Decimal) -> int:
    """How many steps of the scale hold the amount, the last one begun counted whole."""
    _checked(step)
    return int((amount / step).to_integral_value(ROUND_CEILING))


def _checked(step: Decimal, *amounts: Decimal) -> None:
    if not (step.is_finite() and step > 0):
        raise ValueError("The step of a scale is above zero.")
    if any(not amount.is_finite() or amount <= 0 for amount in amounts):
        raise ValueError("A weighed amount is above zero.")
