"""Heat conducted through a curing layer, in one dimension, while its reaction sets heat free.

Thicknesses in mm, temperatures in °C, heat in J per gram mixed, rates per hour."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .gelling import STILL_AIR_W_M2K, arrhenius_at
from .rates import GAS_CONSTANT, ZERO_C
from .self_heating import adiabatic_rise_k, within

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy import float64
    from numpy.typing import NDArray

    Series = NDArray[float64]
    Slope = Callable[[float, Series], Series]

THINNEST_MM, THICKEST_MM = 0.5, 200.0
AT_ONCE = 36_000.0  # per hour, a tenth of a second: much faster than heat moves
A_YEAR_H = 8766.0


@dataclass(frozen=True)
class Resin:
    """What decides how warm a layer gets. `rate_per_h` is that of the reaction at `at_c`;
    `basis` names what was taken as typical."""

    heat_j_g: float
    density_g_ml: float
    rate_per_h: float
    at_c: float
    activation_kj_mol: float
    cp_j_gk: float = 1.5
    conductivity_w_mk: float = 0.2
    basis: str = ""


@dataclass(frozen=True)
class Surroundings:
    """What the layer lies between. None is the temperature of the start. The far side of the wood
    keeps its heat unless `wood_held`: it then stays at its temperature."""

    air_c: float | None = None
    wood_c: float | None = None
    film_w_m2k: float = STILL_AIR_W_M2K
    wood_mm: float = 50.0
    wood_conductivity_w_mk: float = 0.12
    wood_heat_j_mlk: float = 0.8
    wood_held: bool = False


IN_A_MEMBER = Surroundings()


@dataclass(frozen=True)
class History:
    """Temperatures of the middle of each slice of the layer, by time: hours of shape (t,), °C and
    share reacted of shape (slices, t)."""

    hours: Series
    celsius: Series
    reacted: Series


def rate_of(resin: Resin, celsius: float) -> float:
    """Per hour, at a temperature."""
    return resin.rate_per_h * arrhenius_at(celsius, resin.at_c, resin.activation_kj_mol)


def conduct(
    thickness_mm: float,
    resin: Resin,
    start_c: float,
    around: Surroundings = IN_A_MEMBER,
    *,
    slices: int = 30,
    hours: float | None = None,
) -> History:
    """The layer from mixing until it has reacted, or for so many hours.

    Slices of equal thickness in the layer, and of growing thickness in the wood; solved by the
    method of lines with a stiff solver. Same ranges as `layer_heat`, 5 to 500 slices."""
    import numpy as np
    from scipy.integrate import solve_ivp

    within("A layer", float(thickness_mm), THINNEST_MM, THICKEST_MM, "mm")
    within("The temperature of the start", float(start_c), -10, 60, "°C")
    within("The number of slices", slices, 5, 500, "slices")
    n, wood = slices, 20
    slope, begin = _rates_of_change(thickness_mm, resin, start_c, around, n, wood)

    # By then a layer at the temperature of the start has long reacted, and a warmer one earlier.
    longest = hours or min(40 / max(rate_of(resin, start_c), 1e-6), A_YEAR_H)
    solved = solve_ivp(
        slope,
        (0, longest),
        begin,
        method="LSODA",
        lband=2,
        uband=2,
        rtol=1e-5,
        atol=1e-6,
    )
    if not solved.success:
        raise ValueError("The heat of this layer cannot be reckoned; look at its figures.")
    return History(
        np.asarray(solved.t), np.asarray(solved.y[: 2 * n : 2]), np.asarray(solved.y[1 : 2 * n : 2])
    )


@dataclass(frozen=True)
class _Conduction:
    """What the slices take up, in J/(m² K), and what passes between them and to either side, in
    J/(m² K) an hour."""

    capacity: Series
    between: Series
    to_air: float
    to_far: float


def _conduction(
    thickness_mm: float, resin: Resin, around: Surroundings, n: int, wood: int
) -> _Conduction:
    import numpy as np

    grown = 1.15 ** np.arange(wood)
    width = (
        np.concatenate([np.full(n, thickness_mm / n), around.wood_mm * grown / grown.sum()]) / 1000
    )
    conductivity = np.repeat([resin.conductivity_w_mk, around.wood_conductivity_w_mk], [n, wood])
    half = width / 2 / np.maximum(conductivity, 1e-12)
    held = np.repeat(
        [resin.density_g_ml * resin.cp_j_gk * 1e6, around.wood_heat_j_mlk * 1e6], [n, wood]
    )
    return _Conduction(
        capacity=width * held,
        between=3600 / (half[:-1] + half[1:]),
        to_air=3600 / (half[0] + 1 / max(around.film_w_m2k, 1e-12)),
        to_far=3600 / half[-1] if around.wood_held else 0.0,
    )


def _rates_of_change(
    thickness_mm: float, resin: Resin, start_c: float, around: Surroundings, n: int, wood: int
) -> tuple[Slope, Series]:
    """The slope of a state, per hour, and the state to begin with.

    A state is the temperature and the share reacted of each slice by turns, the air's side first,
    then the temperatures of the wood: what touches stands near, so that the solver's matrix has
    but two bands each side."""
    import numpy as np

    parts = _conduction(thickness_mm, resin, around, n, wood)
    capacity, between, to_air, to_far = parts.capacity, parts.between, parts.to_air, parts.to_far
    air = start_c if around.air_c is None else around.air_c
    wood_c = start_c if around.wood_c is None else around.wood_c
    rise = adiabatic_rise_k(resin.heat_j_g, resin.cp_j_gk)
    steep = resin.activation_kj_mol * 1000 / GAS_CONSTANT
    reference = 1 / (resin.at_c + ZERO_C)

    def speed(celsius: Series) -> Series:
        """Bounded to what is over at once, and above what a solver only tries on its way."""
        kelvin = np.maximum(celsius + ZERO_C, 73)
        return np.minimum(resin.rate_per_h * np.exp(-steep * (1 / kelvin - reference)), AT_ONCE)

    def slope(_: float, state: Series) -> Series:
        celsius = np.concatenate([state[: 2 * n : 2], state[2 * n :]])
        flow = between * (celsius[1:] - celsius[:-1])
        warming = np.empty_like(celsius)
        warming[0] = to_air * (air - celsius[0])
        warming[1:] = -flow
        warming[:-1] += flow
        warming[-1] += to_far * (wood_c - celsius[-1])
        warming /= capacity
        reacting = speed(celsius[:n]) * (1 - state[1 : 2 * n : 2])
        change = np.empty_like(state)
        change[: 2 * n : 2] = warming[:n] + rise * reacting
        change[1 : 2 * n : 2] = reacting
        change[2 * n :] = warming[n:]
        return change

    begin = np.zeros(2 * n + wood)
    begin[: 2 * n : 2] = start_c
    begin[2 * n :] = wood_c
    return slope, begin
