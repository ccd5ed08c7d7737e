"""A level budget against peaks, and the yearly payment into a reserve that covers them.

Whole minor units; years in order. The interest of a year is on what lay there when it began;
what is paid in and what is spent fall at the year's end. Interest is cut down to whole minor
units, so that a reserve which covers here also covers with exact interest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from config.figures import Formula
from repairs.ahead.money import rise_factor

LEAST_INTEREST_PCT, MOST_INTEREST_PCT = Decimal(0), Decimal(50)

YEARLY_PAYMENT = Formula(
    "The smallest yearly payment with which the reserve is never below nought at a year's end. It "
    "grows with prices, so that it is the same each year in today's money.",
    "c = max over k of (Σ sⱼ(1+i)ᵏ⁻ʲ − R(1+i)ᵏ⁺¹) / Σ gⱼ(1+i)ᵏ⁻ʲ, j = 0…k; nought if below",
    "future values of single amounts: NIST Handbook 135, chapter 4; the least that covers every "
    "year: own arithmetic",
    "interest from 0 % to 50 % a year; costs as likely; all of a year's costs at its end",
)
LEVEL_BUDGET = Formula(
    "All costs in today's money, spread evenly over the years.",
    "total / years",
    "own arithmetic",
)


@dataclass(frozen=True)
class Reserve:
    """`payment` is that of the first year, in today's money; `paid` what is paid in each year, in
    its own money; `balances` what lies there at each year's end."""

    payment: int
    paid: tuple[int, ...]
    balances: tuple[int, ...]


def least_reserve(
    spent: Sequence[int], opening: int, interest_pct: Decimal, rise_pct: Decimal
) -> Reserve:
    """The smallest whole payment that keeps every balance at nought or above.

    `spent` is what each year costs in its own money, `opening` what lies in the reserve before
    the first; both 0 or more, else ValueError. Interest is from 0 % to 50 % a year."""
    rate = _checked(spent, opening, interest_pct)
    growth = [rise_factor(rise_pct, year) for year in range(len(spent))]
    # The exact answer, then up by what the cut-down interest takes: a few minor units.
    payment = max(_exact(spent, opening, rate, growth), 0)
    while True:
        reserve = _run(payment, spent, opening, rate, growth)
        short = -min(reserve.balances, default=0)
        if short <= 0:
            return _lowered(reserve, spent, opening, rate, growth)
        payment += max(short // (len(spent) * 2), 1)


def balances(
    payment: int, spent: Sequence[int], opening: int, interest_pct: Decimal, rise_pct: Decimal
) -> Reserve:
    """How a reserve stands at each year's end with a payment of one's own; below nought where it
    does not cover."""
    rate = _checked(spent, opening, interest_pct)
    growth = [rise_factor(rise_pct, year) for year in range(len(spent))]
    return _run(payment, spent, opening, rate, growth)


def _checked(spent: Sequence[int], opening: int, interest_pct: Decimal) -> Fraction:
    if opening < 0:
        raise ValueError("A reserve to begin with is 0 or more.")
    if any(each < 0 for each in spent):
        raise ValueError("The costs of a year are 0 or more.")
    if not interest_pct.is_finite() or not (
        LEAST_INTEREST_PCT <= interest_pct <= MOST_INTEREST_PCT
    ):
        raise ValueError("Interest is from 0 % to 50 % a year.")
    return Fraction(interest_pct) / 100


def _exact(spent: Sequence[int], opening: int, rate: Fraction, growth: Sequence[Fraction]) -> int:
    """Cut down to a whole unit."""
    least, short, grown = Fraction(0), Fraction(-opening), Fraction(0)
    for cost, factor in zip(spent, growth, strict=True):
        short = short * (1 + rate) + cost
        grown = grown * (1 + rate) + factor
        least = max(least, short / grown)
    return int(least)


def _run(
    payment: int, spent: Sequence[int], opening: int, rate: Fraction, growth: Sequence[Fraction]
) -> Reserve:
    paid, standing, balance = [], [], opening
    for cost, factor in zip(spent, growth, strict=True):
        paid.append(_up(payment * factor))
        balance += paid[-1] - cost + max(int(balance * rate), 0)
        standing.append(balance)
    return Reserve(payment, tuple(paid), tuple(standing))


def _up(exact: Fraction) -> int:
    return -((-exact.numerator) // exact.denominator)


def _lowered(
    found: Reserve, spent: Sequence[int], opening: int, rate: Fraction, growth: Sequence[Fraction]
) -> Reserve:
    """Down again, unit by unit, while it still covers."""
    while found.payment > 0:
        lower = _run(found.payment - 1, spent, opening, rate, growth)
        if min(lower.balances, default=0) < 0:
            break
        found = lower
    return found
