"""Dew point, and how far a surface stands above it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from config.figures import Formula

# Magnus form with the constants of Alduchov & Eskridge 1996 (as quoted in public sources).
A = 17.625
B_C = 243.04

DEW_MARGIN_K = 3.0
DEW_MARGIN_SOURCE = (
    "coating practice after ISO 8502-4 and ISO 12944-7, written for steel: surface at least "
    "3 K (5.4 °F) above the dew point"
)
LOWEST_C, HIGHEST_C = -40.0, 60.0

DEW_POINT = Formula(
    words="The temperature at which the water in the air would begin to settle, by Magnus.",
    symbols="g = ln(RH) + 17.625·T/(243.04 + T); Td = 243.04·g/(17.625 − g)",
    source="Alduchov & Eskridge 1996 (constants as quoted in public sources)",
    holds="from −40 to 60 °C over water; below 0 °C frost settles up to half a degree warmer",
)
DEW_MARGIN = Formula(
    words="How far the surface stands above the dew point of the air; at least 3 K are wanted.",
    symbols="margin = T surface − Td",
    source=DEW_MARGIN_SOURCE,
    holds="for a surface that is no wetter than the air makes it",
)

Number = float | Decimal


@dataclass(frozen=True)
class DewMargin:
    """In °C and K."""

    dew_point_c: float
    margin_k: float

    @property
    def least_surface_c(self) -> float:
        return self.dew_point_c + DEW_MARGIN_K

    @property
    def enough(self) -> bool:
        # A reading is a tenth of a degree at best; noise of the arithmetic must not decide.
        return self.margin_k >= DEW_MARGIN_K - 1e-9


def dew_point_c(air_c: Number, humidity_pct: Number) -> float:
    """Dew point over water in °C, by Magnus: g = ln(RH) + aT/(b + T); Td = bg/(a − g).

    Air from −40 to 60 °C, relative humidity above 0 to 100 %, else ValueError. Within 0.03 K of
    psychrolib from 0.5 to 40 °C and 30 to 95 % where the result is above 0 °C; below that a frost
    point over ice lies higher (−1.96 against −2.22 at 0 °C, 85 %). Source: constants of Alduchov
    & Eskridge 1996."""
    air, humidity = float(air_c), float(humidity_pct)
    if not LOWEST_C <= air <= HIGHEST_C:
        raise ValueError(f"air temperature from {LOWEST_C:.0f} to {HIGHEST_C:.0f} °C")
    if not 0 < humidity <= 100:
        raise ValueError("relative humidity above 0 and up to 100 %")
    g = math.log(humidity / 100) + A * air / (B_C + air)
    return B_C * g / (A - g)


def dew_margin(air_c: Number, humidity_pct: Number, surface_c: Number) -> DewMargin:
    """How far a surface stands above the dew point of the air; ranges as `dew_point_c`."""
    dew = dew_point_c(air_c, humidity_pct)
    return DewMargin(dew, float(surface_c) - dew)
