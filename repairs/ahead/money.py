"""Money of the years ahead: low, likely and high in minor units, and what prices rise to.

Amounts are whole minor units of one currency. Prices rise by a steady share each year, typed by a
person in percent; the first year of a plan is in today's money."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from config.figures import Formula
from materials.money import round_minor

LEAST_RISE_PCT, MOST_RISE_PCT = Decimal(-10), Decimal(50)

NOMINAL = Formula(
    "The amount in today's money, dearer by the yearly rise of prices for each year after the "
    "first.",
    "nominal = today · (1 + e)ᵏ, k = 0 in the first year",
    "NIST Handbook 135, chapter 3",
    "from −10 % to 50 % a year; the rise is what you typed",
)
SUM_OF_BANDS = Formula(
    "Lows are added to lows, likely to likely and highs to highs.",
    "low = Σ low, likely = Σ likely, high = Σ high",
    "own arithmetic",
    "it is no confidence band: all jobs at their dearest at once is rarer than the high of one",
)


@dataclass(frozen=True)
class Band:
    """Minor units, low ≤ likely ≤ high where costs are added; the difference of two bands keeps
    only each figure against its own like."""

    low: int = 0
    likely: int = 0
    high: int = 0

    def __add__(self, other: Band) -> Band:
        return Band(self.low + other.low, self.likely + other.likely, self.high + other.high)

    def __sub__(self, other: Band) -> Band:
        return Band(self.low - other.low, self.likely - other.likely, self.high - other.high)

    def __bool__(self) -> bool:
        return bool(self.low or self.likely or self.high)

    def share(self, part: int, whole: int) -> Band:
        """So many parts of a whole, each figure rounded to the nearest unit, a half upwards."""
        return Band(
            (2 * self.low * part + whole) // (2 * whole),
            (2 * self.likely * part + whole) // (2 * whole),
            (2 * self.high * part + whole) // (2 * whole),
        )

    def times(self, factor: Fraction) -> Band:
        return Band(*(round_minor(each * factor) for each in (self.low, self.likely, self.high)))


NOTHING = Band()


def added(bands: Iterable[Band]) -> Band:
    total = NOTHING
    for band in bands:
        total += band
    return total


def rise_factor(rise_pct: Decimal, years: int) -> Fraction:
    """What 1 of today's money is so many years on. ValueError out of −10 % to 50 %, or for a
    number of years below 0."""
    if not rise_pct.is_finite() or not LEAST_RISE_PCT <= rise_pct <= MOST_RISE_PCT:
        raise ValueError("Prices rise by −10 % to 50 % a year.")
    if years < 0:
        raise ValueError("The years run from 0 on.")
    return (1 + Fraction(rise_pct) / 100) ** years
