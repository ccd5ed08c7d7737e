"""How fast a resin reacts at one temperature against another.

Arrhenius with the activation energy of the data sheet or a typical one, and the ten-degree rule as
a plain alternative. Temperatures are those of the material in °C, energies in kJ/mol. A scalar in
gives a float, an array gives an array."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypeAlias, overload

from config.figures import Formula

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Series: TypeAlias = NDArray[float64]

Number = float | Decimal

GAS_CONSTANT = 8.314462618  # J/(mol K), exact to these digits since the SI of 2019
ZERO_C = 273.15
COLDEST_C, HOTTEST_C = -40.0, 100.0
LEAST_ENERGY, GREATEST_ENERGY = 10.0, 200.0
OWN_BAND = 5.0

ARRHENIUS = Formula(
    words="The speed at a temperature against that at the sheet's own: the higher the activation "
    "energy, the more a warm day hastens it and a cold one slows it.",
    symbols="k / k_ref = exp(−E/R × (1/T − 1/T_ref)), T in kelvin, R = 8.314 J/(mol K)",
    source="Arrhenius. Typical E of 55 kJ/mol, band 50 to 60: 55 to 60 for primary amine and "
    "epoxy (Thermochimica Acta 447 (2006) 167–177); 54 to 92 for gelation (Handbook of Polymers)",
    holds="the material from −40 to 100 °C, E from 10 to 200 kJ/mol; an epoxy stalls near 0 °C",
)
TEN_DEGREE = Formula(
    words="Ten degrees warmer, twice as fast; ten degrees colder, half as fast.",
    symbols="k / k_ref = 2^((T − T_ref)/10)",
    source="ten-degree rule, a rule of thumb (maturity guidance text, secondary)",
    holds="near room temperature, where it is an activation energy of 51 kJ/mol; too fast in the "
    "cold",
)


@dataclass(frozen=True)
class ActivationEnergy:
    """In kJ/mol, with the band in which it is taken to lie."""

    low: float
    middle: float
    high: float
    source: str


TYPICAL = ActivationEnergy(
    50.0,
    55.0,
    60.0,
    "typical of an epoxy with an amine: 55 to 60 kJ/mol, Thermochimica Acta 447 (2006) 167–177",
)


def energy_of(sheet_kj_mol: Number | None) -> ActivationEnergy:
    """The sheet's own energy, else the typical one.

    The sheet's has a band of 5 kJ/mol each way (common practice, no source): two ways to measure
    one resin gave 63.6 and 70.7 (Jawad, University of Technology, Iraq). Raises ValueError outside
    10 to 200 kJ/mol; published figures of epoxies run from 54 to 170."""
    if sheet_kj_mol is None:
        return TYPICAL
    own = float(sheet_kj_mol)
    _checked_energy(own)
    return ActivationEnergy(
        max(own - OWN_BAND, LEAST_ENERGY), own, min(own + OWN_BAND, GREATEST_ENERGY), "data sheet"
    )


@overload
def arrhenius(temperature_c: Number, reference_c: Number, activation_kj_mol: Number) -> float: ...
@overload
def arrhenius(temperature_c: Series, reference_c: Number, activation_kj_mol: Number) -> Series: ...


def arrhenius(
    temperature_c: Number | Series, reference_c: Number, activation_kj_mol: Number
) -> float | Series:
    """Speed against that at the reference, exp(−E/R × (1/T − 1/T_ref)); 1 at the reference.

    A number gives a float, an array an array of its shape. ValueError outside −40 to 100 °C
    (both temperatures) or 10 to 200 kJ/mol. Arrhenius; R of the SI."""
    energy = float(activation_kj_mol)
    _checked_energy(energy)
    per_kelvin = energy * 1000 / GAS_CONSTANT

    def exponent(celsius: Any) -> Any:
        return per_kelvin * (1 / (float(reference_c) + ZERO_C) - 1 / (celsius + ZERO_C))

    return _speed(temperature_c, reference_c, exponent)


@overload
def ten_degree(temperature_c: Number, reference_c: Number) -> float: ...
@overload
def ten_degree(temperature_c: Series, reference_c: Number) -> Series: ...


def ten_degree(temperature_c: Number | Series, reference_c: Number) -> float | Series:
    """Speed against that at the reference by the rule of thumb, 2^((T − T_ref)/10).

    Shapes, range and errors as `arrhenius`. Maturity guidance text (secondary)."""

    def exponent(celsius: Any) -> Any:
        return math.log(2) * (celsius - float(reference_c)) / 10

    return _speed(temperature_c, reference_c, exponent)


def _speed(
    temperature_c: Number | Series, reference_c: Number, exponent: Callable[[Any], Any]
) -> float | Series:
    """e to a power of the temperature, or of each one in an array."""
    _checked_celsius(float(reference_c), float(reference_c))
    if isinstance(temperature_c, int | float | Decimal):
        celsius = float(temperature_c)
        _checked_celsius(celsius, celsius)
        return math.exp(exponent(celsius))
    import numpy as np

    series = np.asarray(temperature_c, dtype=float)
    if series.size:
        _checked_celsius(float(series.min()), float(series.max()))
    return np.exp(exponent(series))  # type: ignore[no-any-return]


def _checked_celsius(lowest: float, highest: float) -> None:
    # Written so that a nan, which is neither above nor below, is refused too.
    if not (lowest >= COLDEST_C and highest <= HOTTEST_C):
        raise ValueError("The speed of a cure is reckoned from −40 to 100 °C.")


def _checked_energy(kj_mol: float) -> None:
    if not LEAST_ENERGY <= kj_mol <= GREATEST_ENERGY:
        raise ValueError("An activation energy lies from 10 to 200 kJ/mol.")
