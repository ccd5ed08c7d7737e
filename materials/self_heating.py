"""Whether a mass of mixed resin can give off its own heat, and how hot it gets if it cannot.

The Frank-Kamenetskii criterion for a slab, a long cylinder and a sphere. Sizes are half the
thickness, or the radius, in mm; temperatures in °C, energies in kJ/mol, rates per hour."""

from __future__ import annotations

from decimal import Decimal
from math import isfinite, sqrt

from config.figures import Formula

from .rates import GAS_CONSTANT, ZERO_C

Number = float | Decimal

# Solved numerically; published as 0.88, 2 and 3.32.
CRITICAL = {"slab": 0.8785, "cylinder": 2.0, "sphere": 3.322}
HEAT_CAPACITY_J_GK = 1.5

ADIABATIC_RISE = Formula(
    "If no heat gets out, all of the reaction's heat warms the resin itself: no layer can get "
    "warmer than that.",
    "ΔT = H / c_p",
    "Energy balance; specific heat 1.5 J/(g K) of epoxy from a materials database (MakeItFrom); "
    "real rises are far lower because of what is lost and of the filler",
    "heat of reaction 1 to 1000 J/g",
)
SELF_HEATING = Formula(
    "How fast heat is made against how fast it gets out to walls that stay cool. Above the "
    "critical value of its form the mass goes on warming itself, faster and faster. Twice the rate "
    "divides the size by 1.41. That the resin is used up meanwhile is left out, the cautious way; "
    "but wood and still air cool less than such walls, so a smaller mass can get hot as well.",
    "δ = E/(R T₀²) × r² q ρ k(T₀) / λ; critical 0.88 slab, 2.00 cylinder, 3.32 sphere",
    "Frank-Kamenetskii 1938, as given in a Proceedings of the Royal Society abstract (Thermal "
    "explosions and the disappearance of criticality)",
    "walls at the temperature of the start, a reaction not yet used up",
)


def adiabatic_rise_k(heat_j_g: Number, cp_j_gk: Number = HEAT_CAPACITY_J_GK) -> float:
    """How much warmer the resin gets in K when no heat gets out. See `ADIABATIC_RISE`.

    `heat_j_g` 0 to 1000 J per gram mixed, `cp_j_gk` 0.5 to 5 J/(g K), else ValueError."""
    heat, capacity = float(heat_j_g), float(cp_j_gk)
    within("A heat of reaction", heat, 0, 1000, "J/g")
    within("A specific heat", capacity, 0.5, 5, "J/(g K)")
    return heat / capacity


def delta(
    half_size_mm: Number,
    *,
    heat_j_g: Number,
    density_g_ml: Number,
    rate_per_h: Number,
    activation_kj_mol: Number,
    at_c: Number,
    conductivity_w_mk: Number = 0.2,
) -> float:
    """The Frank-Kamenetskii parameter, without unit. See `SELF_HEATING`.

    `rate_per_h` is that at `at_c`, the temperature of the walls. Sizes up to 1 m, heat up to
    1000 J/g, density 0.1 to 5 g/ml, rate up to 1e9 per hour, energy 10 to 200 kJ/mol, walls −40 to
    100 °C, conductivity 0.01 to 10 W/(m K), else ValueError."""
    half = float(half_size_mm)
    within("Half a thickness, or a radius,", half, 0, 1000, "mm")
    per_mm2 = _per_mm2(
        heat_j_g, density_g_ml, rate_per_h, activation_kj_mol, at_c, conductivity_w_mk
    )
    return half**2 * per_mm2


def critical_half_size_mm(
    shape: str,
    *,
    heat_j_g: Number,
    density_g_ml: Number,
    rate_per_h: Number,
    activation_kj_mol: Number,
    at_c: Number,
    conductivity_w_mk: Number = 0.2,
) -> float:
    """Half the thickness of a slab, or the radius of a cylinder or sphere, in mm, from which the
    mass warms itself. Same ranges as `delta`; infinite where no heat is made; ValueError for a
    form that is none of the three."""
    if shape not in CRITICAL:
        raise ValueError(f"The form is one of {', '.join(CRITICAL)}, and not “{shape}”.")
    per_mm2 = _per_mm2(
        heat_j_g, density_g_ml, rate_per_h, activation_kj_mol, at_c, conductivity_w_mk
    )
    return sqrt(CRITICAL[shape] / per_mm2) if per_mm2 else float("inf")


def within(name: str, value: float, least: float, most: float, unit: str) -> None:
    """ValueError with a sentence that names the range, for a figure out of it."""
    if not isfinite(value) or not least <= value <= most:
        raise ValueError(f"{name} is from {least:g} to {most:g} {unit}, and not {value:g}.")


def _per_mm2(
    heat_j_g: Number,
    density_g_ml: Number,
    rate_per_h: Number,
    activation_kj_mol: Number,
    at_c: Number,
    conductivity_w_mk: Number,
) -> float:
    """δ for half a thickness of 1 mm."""
    heat, density, rate = float(heat_j_g), float(density_g_ml), float(rate_per_h)
    energy, walls, conductivity = float(activation_kj_mol), float(at_c), float(conductivity_w_mk)
    within("A heat of reaction", heat, 0, 1000, "J/g")
    within("A density", density, 0.1, 5, "g/ml")
    within("A rate", rate, 0, 1e9, "per hour")
    within("An activation energy", energy, 10, 200, "kJ/mol")
    within("The temperature of the walls", walls, -40, 100, "°C")
    within("A conductivity", conductivity, 0.01, 10, "W/(m K)")
    steepness = energy * 1000 / (GAS_CONSTANT * (walls + ZERO_C) ** 2)
    watts_per_m3 = heat * density * 1e6 * rate / 3600
    return steepness * watts_per_m3 / conductivity * 1e-6
