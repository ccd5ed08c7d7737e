"""How fast a resin reacts, from how long a cup of it can be used: the pot life of its data sheet.

A cup warms itself, so its resin gels long before a thin film of the same mix does."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, log, pi, sqrt

from config.figures import Formula

from .rates import GAS_CONSTANT, ZERO_C

GELLED = 1 / sqrt(3)
STILL_AIR_W_M2K = 8.0
STEPS = 200

RATE_OF_CUP = Formula(
    "The rate at which a cup of the sheet's mass, which warms itself and loses heat to still air, "
    "gels within the pot life. It gels when 1/√3, or 58 %, has reacted.",
    "dc/dt = k exp(−E/R (1/T − 1/T_ref)) (1 − c); dT/dt = H/c_p dc/dt − h A/(m c_p) (T − T_air); "
    "k so that c(pot life) = 1/√3",
    "Gel by the theory of Flory and Stockmayer for an amine of four and an epoxy of two functions; "
    "Arrhenius; a cup as wide as it is deep, 8 W/(m² K) to still air (common practice, no source)",
    "an estimate: a reaction of the first order, one temperature throughout the cup",
)


@dataclass(frozen=True)
class Cup:
    """What was mixed for a pot life: its mass, the air around it, and what heat does to it."""

    mass_g: float
    at_c: float
    rise_k: float
    cp_j_gk: float
    density_g_ml: float
    activation_kj_mol: float


def rate_of_film(pot_life_h: float) -> float:
    """The rate per hour at which what stays cool gels in a time above 0 h."""
    return -log(1 - GELLED) / pot_life_h


@lru_cache(maxsize=256)
def rate_of_cup(pot_life_h: float, cup: Cup) -> float:
    """The rate per hour at the temperature of the air at which the cup gels in a time above 0 h.

    See `RATE_OF_CUP`. Between that of a cup that keeps all its heat and that of a cool film."""
    lowest, highest = 0.0, rate_of_film(pot_life_h)
    while highest - lowest > 1e-6 * highest:
        middle = (lowest + highest) / 2
        if hours_to_gel(middle, cup) > pot_life_h:
            lowest = middle
        else:
            highest = middle
    return highest


def hours_to_gel(rate_per_h: float, cup: Cup) -> float:
    """How long the cup takes to gel at a rate above 0.

    The share reacted is the running variable, which goes smoothly where time does not; each step
    is implicit in the loss of heat, as a slow cup follows the air."""
    wide_m = (4 * cup.mass_g / (cup.density_g_ml * 1e6) / pi) ** (1 / 3)
    area_m2 = 1.5 * pi * wide_m**2
    loss_per_h = STILL_AIR_W_M2K * area_m2 / (cup.mass_g * cup.cp_j_gk) * 3600
    step, warmer, hours = GELLED / STEPS, 0.0, 0.0
    for index in range(STEPS):
        left = 1 - (index + 0.5) * step
        guess = step / (rate_per_h * faster(cup, warmer) * left)
        ahead = (warmer + cup.rise_k * step) / (1 + loss_per_h * guess)
        taken = step / (rate_per_h * faster(cup, (warmer + ahead) / 2) * left)
        warmer = (warmer + cup.rise_k * step) / (1 + loss_per_h * taken)
        hours += taken
    return hours


def faster(cup: Cup, warmer_k: float) -> float:
    """The rate of what is so much warmer than the air, against that at the air's temperature."""
    return arrhenius_at(cup.at_c + warmer_k, cup.at_c, cup.activation_kj_mol)


def arrhenius_at(celsius: float, reference_c: float, activation_kj_mol: float) -> float:
    """As `rates.arrhenius`, not bounded to everyday temperatures: what runs away is beyond them."""
    steep = activation_kj_mol * 1000 / GAS_CONSTANT
    return exp(-steep * (1 / (celsius + ZERO_C) - 1 / (reference_c + ZERO_C)))
