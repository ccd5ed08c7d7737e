"""How wet wood becomes in air that stays as it is: its equilibrium moisture content."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, overload

from config.figures import Formula

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Hours = NDArray[np.floating[Any]]

LOWEST_C, HIGHEST_C = -10 / 9, 1190 / 9  # 30 to 270 °F, the ends of the published table
TABLE_FROM_PCT, TABLE_TO_PCT = 5.0, 95.0

EMC = Formula(
    words="The moisture that wood takes on and keeps in air of one temperature and one relative "
    "humidity, by the sorption equation of the Wood Handbook (Hailwood and Horrobin).",
    symbols="EMC = 1800/W · [Kh/(1 − Kh) + (K₁Kh + 2K₁K₂K²h²)/(1 + K₁Kh + K₁K₂K²h²)]; "
    "W = 349 + 1.29T + 0.0135T²; K = 0.805 + 0.000736T − 0.00000273T²; "
    "K₁ = 6.27 − 0.00938T − 0.000303T²; K₂ = 1.91 + 0.0407T − 0.000293T²",
    source="Wood Handbook, FPL-GTR-282 (2021), Eq. 4-5 (secondary: two transcriptions agree)",
    holds="from −1.1 to 132 °C and from 5 to 95 % relative humidity; pieces and species differ by "
    "more than a tenth of a percent",
)


@overload
def emc_pct(air_c: float | Decimal, humidity_pct: float | Decimal) -> float: ...
@overload
def emc_pct(air_c: Hours, humidity_pct: Hours) -> Hours: ...
def emc_pct(air_c: Any, humidity_pct: Any) -> Any:
    """Equilibrium moisture content of wood, in % of oven-dry mass: of two figures a float, of two
    arrays of one shape an array of that shape.

    Air from −1.1 to 132.2 °C and relative humidity from 0 to 100 %, else ValueError, also for one
    bad element (or nan) of an array. Below 5 and above 95 % it runs beyond the published table:
    see `beyond_table`. Within 0.06 of the table's printed tenths; it prints 17.9 at 21.1 °C and
    85 %, where the equation gives 17.95. Source: Wood Handbook, FPL-GTR-282, Eq. 4-5."""
    air, humidity = _plain(air_c), _plain(humidity_pct)
    _within(air, LOWEST_C, HIGHEST_C, "air temperature from -1.1 to 132 °C")
    _within(humidity, 0.0, 100.0, "relative humidity from 0 to 100 %")
    h = humidity / 100
    w = 349 + 1.29 * air + 0.0135 * air**2
    k = 0.805 + 0.000736 * air - 0.00000273 * air**2
    k1 = 6.27 - 0.00938 * air - 0.000303 * air**2
    k2 = 1.91 + 0.0407 * air - 0.000293 * air**2
    kh = k * h
    layer, second = k1 * kh, k1 * k2 * kh**2
    return 1800 / w * (kh / (1 - kh) + (layer + 2 * second) / (1 + layer + second))


def beyond_table(humidity_pct: float | Decimal) -> bool:
    """Whether the equation is carried on past the 5 to 95 % that the table covers."""
    return not TABLE_FROM_PCT <= float(humidity_pct) <= TABLE_TO_PCT


def _plain(value: Any) -> Any:
    return float(value) if isinstance(value, int | float | Decimal) else value


def _within(value: Any, low: float, high: float, sentence: str) -> None:
    # Written so that nan fails it too.
    inside = (value >= low) & (value <= high)
    if not (inside if isinstance(inside, bool) else inside.all()):
        raise ValueError(sentence)
