"""Discount factors: what money of another year is worth now, and what it comes to each year.

Rates are fractions a year (0.035 is 3.5 %), from −10 % to 50 %; years are numbers from 0 to 1,000
and need not be whole. Out of that range: ValueError with a sentence. Flows in today's prices go
with a real rate, flows in the money of their year with a nominal one, and the two are never mixed
(NIST Handbook 135)."""

from __future__ import annotations

import math
from collections.abc import Iterable

from config.figures import Formula

LEAST_RATE, MOST_RATE = -0.10, 0.50
MOST_YEARS = 1000.0
# Below this a rate is taken as none, where the quotients of the formulas lose their meaning.
NO_RATE = 1e-12

_FACTORS = "NIST Handbook 135, chapter 4; factors as in NISTIR 85-3273, table A-1"
_HOLDS = "from −10 % to 50 % a year"

SPV = Formula(
    "What is paid once, in a later year, divided by one plus the rate for each year until then.",
    "SPV = 1 / (1 + i)ⁿ",
    _FACTORS,
    _HOLDS,
)
UPV = Formula(
    "What is paid at the end of each year, brought to the present and added up.",
    "UPV = (1 − (1 + i)⁻ⁿ) / i; n where i = 0",
    _FACTORS,
    _HOLDS,
)
UPV_ESCALATING = Formula(
    "As for a yearly payment, but each payment is dearer than the last by a steady share.",
    "UPV* = (1 + e) / (i − e) · (1 − ((1 + e) / (1 + i))ⁿ); n where e = i",
    _FACTORS,
    _HOLDS,
)
RECOVERY = Formula(
    "The yearly payment that comes to the same as one amount now, over the same years.",
    "UCR = i / (1 − (1 + i)⁻ⁿ); 1/n where i = 0",
    _FACTORS,
    _HOLDS,
)
NOMINAL_RATE = Formula(
    "The rate for money of its own year: the real rate and the rise of prices, one on the other.",
    "nominal = (1 + real) · (1 + rise) − 1",
    "NIST Handbook 135, chapter 3",
    _HOLDS,
)
PRESENT_VALUE = Formula(
    "Every payment at today's prices, each divided by one plus the real rate for each year until "
    "it falls due, added up.",
    "PV = Σ Fₜ / (1 + r)ᵗ",
    "NIST Handbook 135, chapter 4; real rate 3.5 % a year: HM Treasury Green Book, annex 6",
    _HOLDS,
)
EQUIVALENT_ANNUAL = Formula(
    "The present value spread evenly over the years of the study, so that unlike lives compare.",
    "EAC = PV · r / (1 − (1 + r)⁻ⁿ)",
    "NIST Handbook 135, chapter 5 (annualized value)",
    _HOLDS,
)


def checked_rate(rate: float) -> float:
    """The rate itself, or ValueError with the range in words."""
    if not math.isfinite(rate) or not LEAST_RATE <= rate <= MOST_RATE:
        raise ValueError("A rate is from −10 % to 50 % a year.")
    return rate


def checked_years(years: float) -> float:
    if not math.isfinite(years) or not 0 <= years <= MOST_YEARS:
        raise ValueError("Years run from 0 to 1,000.")
    return years


def spv(rate: float, years: float) -> float:
    """Single present value: today's worth of 1 paid once after so many years."""
    return float((1 + checked_rate(rate)) ** -checked_years(years))


def upv(rate: float, years: float) -> float:
    """Uniform present value: today's worth of 1 paid at the end of each year."""
    growth = math.log1p(checked_rate(rate))
    if abs(rate) < NO_RATE:
        return checked_years(years)
    return -math.expm1(-checked_years(years) * growth) / rate


def upv_escalating(rate: float, escalation: float, years: float) -> float:
    """UPV*: as `upv`, where the first payment is 1 + `escalation` and each grows by it."""
    return _upv_unbound((1 + checked_rate(rate)) / (1 + checked_rate(escalation)) - 1, years)


def _upv_unbound(rate: float, years: float) -> float:
    """Of the quotient of two rates, which may lie outside of what a rate itself may be."""
    if abs(rate) < NO_RATE:
        return checked_years(years)
    return -math.expm1(-checked_years(years) * math.log1p(rate)) / rate


def uniform_recovery(rate: float, years: float) -> float:
    """Capital recovery factor: paid at the end of each year, it comes to 1 now."""
    if years == 0:
        raise ValueError("An amount is spread over more than 0 years.")
    return 1 / upv(rate, years)


def nominal_rate(real: float, rise: float) -> float:
    """The rate for money of its own year, from the real rate and the rise of prices."""
    return (1 + checked_rate(real)) * (1 + checked_rate(rise)) - 1


def real_rate(nominal: float, rise: float) -> float:
    """The rate for today's prices; undoes `nominal_rate`."""
    return (1 + checked_rate(nominal)) / (1 + checked_rate(rise)) - 1


def present_value(flows: Iterable[tuple[float, float]], rate: float) -> float:
    """Today's worth of dated amounts, each a pair of years from now and amount."""
    return math.fsum(amount * spv(rate, years) for years, amount in flows)


def equivalent_annual(value: float, rate: float, years: float) -> float:
    """A present value as an even cost at the end of each year."""
    return value * uniform_recovery(rate, years)
