"""Electrical resistance of wood and the moisture that it stands for, by species.

A meter with pins measures resistance and shows the moisture of the species that it is set for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from config.figures import Formula

VTT_420, GTR_6 = "VTT 420, Table 5", "FPL-GTR-6, Table 1"
SOURCE = (
    "Forsén & Tarvainen, VTT Publications 420 (2000), Table 5 (secondary); "
    "James, FPL-GTR-6 (rev. 1988), Table 1, by a third party's fit (secondary)"
)

RESISTANCE = Formula(
    words="The resistance that the meter must have met, by the curve of the species that it is set "
    "for, read again by the curve of the wood that it stood in. Both curves must come from one "
    "series of measurements at one temperature.",
    symbols="oak and beech: log₁₀(log₁₀ R + 1) = a·u + b, R in megohm; Douglas-fir, black ash and "
    "black walnut: u = 10^(A + B·log₁₀ R), R in kilohm",
    source=SOURCE,
    holds="from 6 to 26 %, between oak and beech, or among Douglas-fir, black ash and black walnut",
)


@dataclass(frozen=True)
class ResistanceCurve:
    """`a` and `b` of its form; `at_c` is the temperature of the wood that it was measured at, and
    `series` the table that it comes from."""

    species: str
    form: Literal["double_log", "single_log"]
    a: float
    b: float
    at_c: float
    series: str
    also: tuple[str, ...] = ()

    def same_series(self, other: ResistanceCurve) -> bool:
        return self.series == other.series


CURVES = (
    ResistanceCurve("oak", "double_log", -0.047, 1.079, 20.0, VTT_420, ("european oak",)),
    ResistanceCurve("beech", "double_log", -0.046, 1.119, 20.0, VTT_420, ("european beech",)),
    ResistanceCurve(
        "Douglas-fir",
        "single_log",
        1.7003,
        -0.12007,
        26.7,
        GTR_6,
        ("douglas fir", "coast douglas-fir", "douglas-fir (north america)"),
    ),
    ResistanceCurve("black ash", "single_log", 1.6213, -0.11454, 26.7, GTR_6),
    ResistanceCurve("black walnut", "single_log", 1.6676, -0.11069, 26.7, GTR_6),
)
# The tables run from 6 to 26 %; a percent beyond is within the error of the curves.
FROM_PCT, TO_PCT = 6.0, 26.0


def curve_for(species: str) -> ResistanceCurve | None:
    """By the name as people write it, whatever its case; None where no curve is known. Red oak is
    not oak: a name that only contains another is another species."""
    wanted = species.strip().casefold()
    return next(
        (curve for curve in CURVES if wanted in {curve.species.casefold(), *curve.also}), None
    )


def moisture_pct(megohm: float, curve: ResistanceCurve) -> float:
    """Moisture in % of oven-dry mass that a resistance stands for, at the curve's temperature.

    Resistance such that the result lies from 6 to 26 %, else ValueError. Errors: the fits of
    FPL-GTR-6 are within 2 % of moisture; single pieces of a species spread as far."""
    least = 0.1 if curve.form == "double_log" else 0.0  # where the logarithm ends
    if not least < megohm < math.inf:
        raise ValueError(f"resistance above {least:g} megohm")
    if curve.form == "double_log":
        pct = (math.log10(math.log10(megohm) + 1) - curve.b) / curve.a
    else:
        pct = 10 ** (curve.a + curve.b * math.log10(megohm * 1000))
    return _in_range(pct)


def resistance_megohm(pct: float, curve: ResistanceCurve) -> float:
    """The resistance in megohm at a moisture from 6 to 26 %, else ValueError; the inverse of
    `moisture_pct`."""
    _in_range(pct)
    if curve.form == "double_log":
        return float(10 ** (10 ** (curve.a * pct + curve.b) - 1))
    return float(10 ** ((math.log10(pct) - curve.a) / curve.b) / 1000)


def as_species(pct: float, set_for: ResistanceCurve, wood: ResistanceCurve) -> float:
    """What a reading stands for in wood of another species than the meter is set for.

    From 6 to 26 % before and after, and both curves of one series, else ValueError."""
    if not set_for.same_series(wood):
        raise ValueError(f"no curve joins {set_for.species} and {wood.species}")
    return moisture_pct(resistance_megohm(pct, set_for), wood)


def _in_range(pct: float) -> float:
    if not FROM_PCT - 1e-9 <= pct <= TO_PCT + 1e-9:
        raise ValueError(f"moisture from {FROM_PCT:g} to {TO_PCT:g} %")
    return pct
