"""Mix ratio of a two-part product: part B for part A, as wanted and as measured.

Amounts are Decimal in grams (by weight) or millilitres (by volume); a ratio has no unit, but it
says by which of the two it counts, since 2 : 1 by volume is not 2 : 1 by weight. The same
proportions hold for any mass above zero; volumes are taken before mixing."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from config.figures import Formula

By = Literal["weight", "volume"]
Part = Literal["a", "b"]

NEVER_CHANGE_THE_RATIO = (
    "Never change the ratio to change the speed: strength and resistance to heat and chemicals "
    "suffer (FAA AC 43.13-1B, page 1-5)."
)

MEASURE = "mass is density times volume"
ARITHMETIC = "worked out from the sheet's ratio"
TO_WEIGHT = Formula(
    words="A ratio by volume, each part times its density.",
    symbols="m_B / m_A = (v_B × ρ_B) / (v_A × ρ_A)",
    source=MEASURE,
    holds="both densities at one temperature",
)
SPLIT = Formula(
    words="The total shared in the ratio of the sheet.",
    symbols="B = M × r / (1 + r), A = M − B, r = B/A",
    source=ARITHMETIC,
)
DEVIATION = Formula(
    words="B to A as measured, against B to A of the sheet: above zero is too much hardener.",
    symbols="d = (B/A) ÷ (B/A)_sheet − 1",
    source=ARITHMETIC,
)
CORRECTION = Formula(
    words="So much of the part that is short that both stand in the ratio again.",
    symbols="add B: A × r − B, or add A: B / r − A",
    source=ARITHMETIC,
    holds="while it is wet; a batch that has begun to set is not put right by adding to it",
)
MIXED_DENSITY = Formula(
    words="The weight of both parts divided by their volume before mixing.",
    symbols="ρ = (1 + r) / (1/ρ_A + r/ρ_B), r = B/A by weight",
    source=MEASURE,
    holds="parts that keep their volume when mixed; air stirred in makes it lighter",
)
LOSS = Formula(
    words="A share of what is mixed stays in the cup and on the brush, so more is mixed than goes "
    "into the work.",
    symbols="M = m / (1 − p), loss = M − m",
    source="the share is what the crew finds (common practice, no source)",
    holds="a loss from 0 % to below 100 %",
)


@dataclass(frozen=True)
class MixRatio:
    """`a` parts of A to `b` parts of B, both above zero, such as 100 : 33 by weight.

    Raises ValueError for a part of zero or less."""

    a: Decimal
    b: Decimal
    by: By

    def __post_init__(self) -> None:
        _above_zero("a part of a mix ratio", self.a, self.b)

    def __str__(self) -> str:
        return f"{plain(self.a)} : {plain(self.b)} by {self.by}"

    def b_for_a(self) -> Fraction:
        return Fraction(self.b) / Fraction(self.a)


@dataclass(frozen=True)
class Correction:
    """What to add, and of which part, while the batch is still wet; in the unit of the amounts,
    not rounded beyond Decimal's own 28 digits."""

    part: Part
    amount: Decimal


@dataclass(frozen=True)
class Split:
    a: Decimal
    b: Decimal


def to_weight(ratio: MixRatio, density_a: Decimal, density_b: Decimal) -> MixRatio:
    """A volume ratio as a weight ratio to 100 of A; densities in g/ml, above zero.

    m_B / m_A = (v_B × density_B) / (v_A × density_A), from m = density × volume. Raises
    ValueError for a ratio that is by weight already, or a density of zero or less."""
    if ratio.by != "volume":
        raise ValueError("only a ratio by volume is turned into one by weight")
    _above_zero("a density", density_a, density_b)
    b = ratio.b_for_a() * Fraction(density_b) / Fraction(density_a) * 100
    return MixRatio(Decimal(100), _decimal(b), "weight")


def mixed_density(ratio: MixRatio, density_a: Decimal, density_b: Decimal) -> Decimal:
    """Density of the mix in g/ml, between those of its parts; densities above zero.

    (1 + r)/(1/ρ_A + r/ρ_B): ideal mixing, no volume lost or gained. Raises ValueError for a
    density of zero or less. The sheet's own mixed density is better where it tells one."""
    weight = ratio if ratio.by == "weight" else to_weight(ratio, density_a, density_b)
    _above_zero("a density", density_a, density_b)
    r = weight.b_for_a()
    return _decimal((1 + r) / (1 / Fraction(density_a) + r / Fraction(density_b)))


def loss_on(net: Decimal, loss_pct: Decimal) -> Decimal:
    """What stays in cup and on brush so that `net` goes into the work, in the unit of `net`.

    `loss_pct` is the share of what is mixed, 0 to below 100; `net` zero or more; else
    ValueError. See `LOSS`."""
    if not (net.is_finite() and net >= 0):
        raise ValueError("an amount is zero or more")
    if not (loss_pct.is_finite() and 0 <= loss_pct < 100):
        raise ValueError("a loss is from 0 % to below 100 %")
    return net * loss_pct / (100 - loss_pct)


def measured(a: Decimal, b: Decimal, by: By) -> MixRatio:
    """The ratio of two measured amounts, to 100 of A; amounts above zero, else ValueError."""
    _above_zero("a measured amount", a, b)
    return MixRatio(Decimal(100), _decimal(Fraction(b) / Fraction(a) * 100), by)


def deviation(actual: MixRatio, wanted: MixRatio) -> Decimal:
    """How far B to A is off, as a fraction: +0.05 is 5 % too much hardener.

    (B/A) ÷ (B/A) wanted − 1; above −1. Raises ValueError when one ratio is by weight and the
    other by volume."""
    if actual.by != wanted.by:
        raise ValueError("a ratio by weight is not compared with one by volume")
    return _decimal(actual.b_for_a() / wanted.b_for_a() - 1)


def correction(a: Decimal, b: Decimal, ratio: MixRatio) -> Correction | None:
    """What to add to which part so that A and B stand in the ratio; None when they do.

    Amounts in g or ml as the ratio counts, above zero, else ValueError. Only while it is wet:
    a batch that has begun to set is not put right by adding to it."""
    _above_zero("a measured amount", a, b)
    wanted_b = Fraction(a) * ratio.b_for_a()
    if Fraction(b) == wanted_b:
        return None
    if Fraction(b) < wanted_b:
        return Correction("b", _decimal(wanted_b - Fraction(b)))
    return Correction("a", _decimal(Fraction(b) / ratio.b_for_a() - Fraction(a)))


def looks_swapped(a: Decimal, b: Decimal, ratio: MixRatio, tolerance: Decimal) -> bool:
    """Whether the two amounts fit the ratio only when they change places.

    `tolerance` is a fraction, 0.05 for 5 %. A ratio near 1 : 1 cannot tell, so it says False."""
    straight = abs(deviation(measured(a, b, ratio.by), ratio))
    crossed = abs(deviation(measured(b, a, ratio.by), ratio))
    return straight > tolerance >= crossed


def split(total: Decimal, ratio: MixRatio) -> Split:
    """How much A and B make up a total, in its unit; the two add up to it exactly.

    Raises ValueError for a total of zero or less."""
    _above_zero("a total", total)
    b = _decimal(Fraction(total) * ratio.b_for_a() / (1 + ratio.b_for_a()))
    return Split(total - b, b)


def plain(number: Decimal) -> str:
    """As people write it: no exponent, at most two decimals."""
    rounded = number.quantize(Decimal("0.01")).normalize()
    return f"{rounded:f}"


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


def _above_zero(name: str, *numbers: Decimal) -> None:
    if any(not number.is_finite() or number <= 0 for number in numbers):
        raise ValueError(f"{name} is above zero")
