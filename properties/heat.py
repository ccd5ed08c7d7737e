"""How hot a face is expected to get, and whether a product stands it; a stated figure by colour
and bearing serves where nothing can be calculated."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from config.figures import Formula

MARGIN_K = Decimal(10)
MARGIN_SOURCE = (
    "margin of 10 K: common practice, no source; a heat deflection temperature is not a service "
    "temperature, says ISO 75-1 in its scope"
)
SOURCE = "common practice, no source"

# The top of what is said of each tone in full sun: white 40 to 50 °C, dark 60 to 80 °C. The two
# tones between are laid between those ends.
FULL_SUN_C = {
    "white": Decimal(50),
    "light": Decimal(60),
    "medium": Decimal(70),
    "dark": Decimal(80),
}
# A face that the midday sun does not reach: warm air and sky light only.
IN_SHADE_C = {
    "white": Decimal(35),
    "light": Decimal(40),
    "medium": Decimal(40),
    "dark": Decimal(45),
}


USUAL = Formula(
    words="The usual figure of a tone on a face in full sun, or on one that the midday sun does "
    "not reach.",
    symbols="",
    source=SOURCE,
    holds="to about 10 K at best",
)
STATED = Formula(
    words="Stated for this member by those who look after it; nothing is reckoned.",
    symbols="",
    source="the member's record",
)


@dataclass(frozen=True)
class FaceReckoning:
    """What a calculated surface follows from: °C, W/m², degrees, and the hour that it is of."""

    formula: Formula
    at: str
    air_c: Decimal
    sun_w_m2: Decimal
    absorptance: Decimal
    bearing_deg: Decimal
    tilt_deg: Decimal


@dataclass(frozen=True)
class ExpectedSurface:
    """In °C on a hot day, with the words that say where the figure comes from."""

    celsius: Decimal
    basis: str
    reckoned: FaceReckoning | None = None
    stated: bool = False


def margin_k(heat_deflection_c: Decimal | None, surface: ExpectedSurface | None) -> Decimal | None:
    """How far a product's heat deflection temperature lies above what the face is expected to
    reach, in K; below zero it lies under it, None where either is not known. At least `MARGIN_K`
    is wanted."""
    if heat_deflection_c is None or surface is None:
        return None
    return heat_deflection_c - surface.celsius


def expected_surface_c(
    tone: str, bearing_deg: Decimal | None, latitude: Decimal | None = None
) -> ExpectedSurface | None:
    """The stated surface temperature of a finish on a hot day; None for a tone not known.

    `tone` is white, light, medium or dark; the bearing that the face looks to in degrees, 0 to
    below 360, north 0, else ValueError. A bearing not known counts as full sun, the cautious way.
    South of the equator the shaded face is the southern one; a latitude not known counts as
    north. Full sun is any face more than 45° off the shaded bearing. Common practice, no source:
    good to about 10 K at best."""
    if bearing_deg is not None and not 0 <= bearing_deg < 360:
        raise ValueError("a bearing runs from 0 to below 360 degrees")
    if tone not in FULL_SUN_C:
        return None
    if bearing_deg is not None and _shaded(bearing_deg, latitude):
        return ExpectedSurface(IN_SHADE_C[tone], f"{tone} finish on a shaded face; {SOURCE}")
    where = "in full sun" if bearing_deg is not None else "taken as in full sun, bearing not known"
    return ExpectedSurface(FULL_SUN_C[tone], f"{tone} finish {where}; {SOURCE}")


def _shaded(bearing_deg: Decimal, latitude: Decimal | None) -> bool:
    away = Decimal(180) if latitude is not None and latitude < 0 else Decimal(0)
    off = abs(bearing_deg - away) % 360
    return min(off, 360 - off) <= 45
