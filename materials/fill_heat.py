"""How warm a layer of resin gets while it cures: an estimate, between wood and air.

Heat is conducted through the layer in one dimension while a first-order reaction sets it free.
Thicknesses in mm, temperatures in °C, heat in J per gram mixed, rates per hour."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import lru_cache
from math import sqrt

from config.figures import Formula

from .conduction import THICKEST_MM, Resin, conduct, rate_of
from .gelling import Cup, rate_of_cup
from .rates import energy_of
from .self_heating import CRITICAL, HEAT_CAPACITY_J_GK, adiabatic_rise_k, delta, within

Number = float | Decimal

TYPICAL_HEAT_J_G = 400.0
TYPICAL_DENSITY_G_ML = 1.3
TYPICAL_CUP_G = 100.0
HEAT_WORDS = (
    f"heat of reaction {TYPICAL_HEAT_J_G:g} J/g, of an unfilled epoxy (from memory: about 100 kJ "
    "for each epoxide, 250 g; a filled one gives less)"
)
LIMIT_C = 60.0
LIMIT_SOURCE = (
    "60 °C: about where usual room-temperature epoxies begin to soften and a layer is too hot to "
    "touch; common practice, no source"
)
# First order knows neither that a glassy resin slows down nor that a hot one chars.
TOLD_UP_TO_C = 150.0
WHY_LINING = (
    "A thin shell gives its heat off to wood and air sooner than a thick one. One solid plug keeps "
    "it: the thicker it is, the hotter and faster it cures, until it smokes, shrinks and cracks "
    "away from the wood. A lined cavity, hollow or with a timber block in the core, has less resin "
    "to heat itself, and takes less."
)
FILL_HEAT = Formula(
    "Heat flows through the layer, into the wood behind it and into still air before it, while "
    "the reaction sets heat free, the faster the warmer it is. Its rate is the one at which a cup "
    "of the sheet's mass, which warms itself, gels within the pot life; it gels when 1/√3, or "
    "58 %, has reacted.",
    "ρ c_p ∂T/∂t = ∂/∂x(λ ∂T/∂x) + ρ H ∂c/∂t; ∂c/∂t = k exp(−E/R (1/T − 1/T_ref)) (1 − c); "
    "k so that c(pot life) = 1/√3 in the cup",
    "Fourier; Arrhenius; gel by the theory of Flory and Stockmayer for an amine of four and an "
    "epoxy of two functions. Epoxy 0.2 W/(m K), 1.5 J/(g K) from a materials database "
    "(MakeItFrom); wood across the grain 0.12 W/(m K) and 0.5 g/ml, and still air 8 W/(m² K), "
    "common practice, no source",
    "an estimate of the first order, on the hot side, told up to 150 °C; the data sheet's "
    "greatest layer rules. Layers of 0.5 to 200 mm, begun at −10 to 60 °C",
)
THICKEST_LAYER = Formula(
    "The thickest layer whose warmest place stays below the limit, found by halving the span.",
    "the largest t with T_peak(t) < T_limit",
    FILL_HEAT.source,
    FILL_HEAT.holds,
)


@dataclass(frozen=True)
class LayerHeat:
    """An estimate. `peak_c` is never above `adiabatic_c`, where no heat gets out; `critical` is
    the criterion of self-heating for a slab of this thickness between cool walls."""

    thickness_mm: float
    peak_c: float
    peak_after: timedelta
    adiabatic_c: float
    start_c: float
    basis: str
    critical: bool

    @property
    def beyond_telling(self) -> bool:
        """Hotter than an estimate of the first order can tell."""
        return self.peak_c > TOLD_UP_TO_C


def resin_from(
    *,
    pot_life: timedelta,
    pot_life_at_c: Number,
    activation_kj_mol: Number | None = None,
    heat_j_g: Number | None = None,
    density_g_ml: Number | None = None,
    mass_g: Number | None = None,
) -> Resin:
    """A resin by the figures of its data sheet, and typical ones where it is silent; see `basis`.

    `mass_g` is that of the pot life. Pot life 1 minute to 7 days at −10 to 60 °C, heat 1 to
    1000 J/g, density 0.1 to 5 g/ml, energy 10 to 200 kJ/mol, mass 1 g to 50 kg, else ValueError."""
    hours = pot_life / timedelta(hours=1)
    within("A pot life", hours * 60, 1, 7 * 24 * 60, "minutes")
    within("The temperature of a pot life", float(pot_life_at_c), -10, 60, "°C")
    energy = energy_of(activation_kj_mol)
    heat = TYPICAL_HEAT_J_G if heat_j_g is None else float(heat_j_g)
    density = TYPICAL_DENSITY_G_ML if density_g_ml is None else float(density_g_ml)
    within("A heat of reaction", heat, 1, 1000, "J/g")
    within("A density", density, 0.1, 5, "g/ml")
    mass = TYPICAL_CUP_G if mass_g is None else float(mass_g)
    within("The mass of a pot life", mass, 1, 50_000, "g")
    silent = (
        (heat_j_g is None, HEAT_WORDS),
        (density_g_ml is None, f"density {TYPICAL_DENSITY_G_ML:g} g/ml (MakeItFrom)"),
        (activation_kj_mol is None, "activation energy 55 kJ/mol (Thermochimica Acta 447, 2006)"),
        (mass_g is None, f"pot life of {TYPICAL_CUP_G:g} g (common practice, no source)"),
    )
    words = "; ".join(word for is_silent, word in silent if is_silent)
    at_c = float(pot_life_at_c)
    cup = Cup(mass, at_c, adiabatic_rise_k(heat), HEAT_CAPACITY_J_GK, density, energy.middle)
    return Resin(
        heat,
        density,
        rate_of_cup(hours, cup),
        at_c,
        energy.middle,
        basis=f" The sheet is silent, so taken as typical: {words}." if words else "",
    )


@lru_cache(maxsize=512)
def layer_heat(thickness_mm: float, resin: Resin, start_c: float) -> LayerHeat:
    """The warmest place of one layer, and when. See `FILL_HEAT`.

    Begun with everything at `start_c`, −10 to 60 °C; 0.5 to 200 mm thick, else ValueError."""
    history = conduct(thickness_mm, resin, start_c)
    warmest = history.celsius.max(axis=0)
    when = int(warmest.argmax())
    adiabatic = start_c + adiabatic_rise_k(resin.heat_j_g, resin.cp_j_gk)
    return LayerHeat(
        float(thickness_mm),
        min(float(warmest[when]), adiabatic),
        timedelta(minutes=round(float(history.hours[when]) * 60)),
        adiabatic,
        float(start_c),
        f"Estimate. The data sheet's greatest layer rules.{resin.basis}",
        _is_critical(thickness_mm, resin, start_c),
    )


def thickest_mm(limit_c: float, resin: Resin, start_c: float) -> float | None:
    """The thickest layer that stays below a limit, down to half a millimetre. See `THICKEST_LAYER`.

    None when even 200 mm does; 0 when not even 1 mm does. Same ranges as `layer_heat`; a limit
    from −10 to 400 °C, else ValueError."""
    within("A limit", float(limit_c), -10, 400, "°C")
    if start_c + adiabatic_rise_k(resin.heat_j_g, resin.cp_j_gk) < limit_c:
        return None
    return _thickest_below(float(limit_c), resin, float(start_c))


@lru_cache(maxsize=512)
def _thickest_below(limit_c: float, resin: Resin, start_c: float) -> float | None:
    low, high = 1.0, THICKEST_MM
    if layer_heat(high, resin, start_c).peak_c < limit_c:
        return None
    if layer_heat(low, resin, start_c).peak_c >= limit_c:
        return 0.0
    while high - low > 0.5:
        middle = round(sqrt(low * high) * 2) / 2
        if middle in (low, high):
            middle = low + 0.5
        if layer_heat(middle, resin, start_c).peak_c < limit_c:
            low = middle
        else:
            high = middle
    return low


def _is_critical(thickness_mm: float, resin: Resin, start_c: float) -> bool:
    return CRITICAL["slab"] < delta(
        thickness_mm / 2,
        heat_j_g=resin.heat_j_g,
        density_g_ml=resin.density_g_ml,
        rate_per_h=rate_of(resin, start_c),
        activation_kj_mol=resin.activation_kj_mol,
        at_c=start_c,
        conductivity_w_mk=resin.conductivity_w_mk,
    )
