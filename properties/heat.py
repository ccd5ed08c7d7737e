"""How hot a face gets: a stated figure by colour and bearing, until it is calculated."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

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


@dataclass(frozen=True)
class ExpectedSurface:
    """In °C on a hot day, with the words that say where the figure comes from."""

    celsius: Decimal
    basis: str


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
