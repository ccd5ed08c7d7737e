"""Where the sun stands, how strong a clear sky is, and what of it falls on a face."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from config.figures import Formula

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Hours = NDArray[np.float64]

SOLAR_CONSTANT = 1366.1  # W/m², ASTM E490
# How hazy a clear sky is: 2 very clean cold air, 3 clean warm air, 4 to 6 moist or stagnant air.
USUAL_TURBIDITY = 3.0
USUAL_ALBEDO = 0.2
# The almanac's formula holds from 1950 to 2050.
FIRST_DAY, LAST_DAY = -18263.0, 18628.0

SUN_POSITION = Formula(
    words="The sun's ecliptic longitude from its mean longitude and anomaly, turned to the "
    "equator, to the hour angle of the place, and to height and bearing; lifted by refraction.",
    symbols="g = 357.528 + 0.9856003n; L = 280.460 + 0.9856474n; "
    "λ = L + 1.915 sin g + 0.020 sin 2g; ε = 23.439 − 4·10⁻⁷n; "
    "cos Z = sin φ sin δ + cos φ cos δ cos H",
    source="Michalsky 1988, Solar Energy 40(3) 227–235, the Astronomical Almanac's low-precision "
    "formula; refraction as in Reda & Andreas, NREL/TP-560-34302 (both from memory, checked "
    "against an independent library)",
    holds="from 1950 to 2050 to about 0.01°",
)
CLEAR_SKY = Formula(
    words="What falls on level ground and straight from the sun under a cloudless sky, by its "
    "height, the altitude of the place and a Linke turbidity of 3 (clean warm air).",
    symbols="GHI = c₁ I₀ cos Z exp(−c₂ m (e^(−h/8000) + e^(−h/1250) (TL − 1))); "
    "DNI = b I₀ exp(−0.09 m (TL − 1)), at most what GHI leaves for it",
    source="Ineichen & Perez 2002, Solar Energy 73(3) 151–157; air mass: Kasten & Young 1989 "
    "(both from memory, checked against an independent library)",
    holds="under a cloudless sky, to some 5 to 10 %; the turbidity is a choice",
)
ON_A_FACE = Formula(
    words="The beam by the angle at which it meets the face; sky light, part of it from around "
    "the sun and the rest even over the sky; and light from the ground.",
    symbols="I = DNI cos θ + DHI [A cos θ / cos Z + (1 − A)(1 + cos β)/2] + ρ GHI (1 − cos β)/2; "
    "A = DNI / I₀",
    source="Hay & Davies 1980 (from memory, checked against an independent library)",
    holds="for a face that nothing shades; ground albedo 0.2",
)


@dataclass(frozen=True)
class SunPosition:
    """In degrees, one array element per instant: zenith without and with refraction, azimuth
    clockwise from north."""

    zenith: Hours
    apparent_zenith: Hours
    azimuth: Hours


@dataclass(frozen=True)
class Irradiance:
    """In W/m²: on level ground, straight from the sun, and from the sky; arrays of one shape."""

    ghi: Hours
    dni: Hours
    dhi: Hours


def sun_position(
    days: Hours,
    latitude: float,
    longitude: float,
    *,
    pressure_hpa: float = 1013.25,
    air_c: float = 12.0,
) -> SunPosition:
    """The sun above a place at instants given as days (UT) since 1 January 2000, 12:00.

    Days from 1950 to 2050, latitude −90 to 90, longitude −180 to 180 (east positive), else
    ValueError. Within 0.02° of the published example of NREL's SPA (zenith 50.11162°, azimuth
    194.34024°). Source: `SUN_POSITION`."""
    import numpy as np

    _within(latitude, 90, "a latitude runs from -90 to 90 degrees")
    _within(longitude, 180, "a longitude runs from -180 to 180 degrees")
    n = np.asarray(days, dtype=float)
    if not ((n >= FIRST_DAY) & (n <= LAST_DAY)).all():
        raise ValueError("the sun is reckoned from 1950 to 2050")
    right_ascension, declination = _on_the_sky(n)
    sidereal = np.radians(15 * (6.697375 + 0.0657098242 * n + 24 * ((n + 0.5) % 1)) + longitude)
    hour = sidereal - right_ascension
    phi = math.radians(latitude)
    sine = math.sin(phi) * np.sin(declination) + math.cos(phi) * np.cos(declination) * np.cos(hour)
    height = np.degrees(np.arcsin(np.clip(sine, -1, 1)))
    azimuth = np.degrees(
        np.arctan2(
            -np.sin(hour) * np.cos(declination),
            np.sin(declination) * math.cos(phi)
            - np.cos(declination) * math.sin(phi) * np.cos(hour),
        )
    )
    lifted = height + _refraction(height, pressure_hpa, air_c)
    return SunPosition(90 - height, 90 - lifted, azimuth % 360)


def _on_the_sky(n: Hours) -> tuple[Hours, Hours]:
    """Right ascension and declination in radians."""
    import numpy as np

    mean = 280.460 + 0.9856474 * n
    anomaly = np.radians(357.528 + 0.9856003 * n)
    ecliptic = np.radians(mean + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly))
    obliquity = np.radians(23.439 - 0.0000004 * n)
    along = np.arctan2(np.cos(obliquity) * np.sin(ecliptic), np.cos(ecliptic))
    return along, np.arcsin(np.sin(obliquity) * np.sin(ecliptic))


def _refraction(height: Hours, pressure_hpa: float, air_c: float) -> Hours:
    """How far the air lifts the sun, in degrees; nothing once it is fully set."""
    import numpy as np

    seen = np.maximum(height, -0.8)
    bent = 1.02 / (60 * np.tan(np.radians(seen + 10.3 / (seen + 5.11))))
    lifted = pressure_hpa / 1010 * 283 / (273 + air_c) * bent
    return np.where(height >= -0.8, lifted, 0.0)


def extraterrestrial(day_of_year: Hours) -> Hours:
    """What reaches the top of the air, in W/m², by the day of the year (1 to 366); Spencer 1971."""
    import numpy as np

    b = 2 * np.pi * (np.asarray(day_of_year, dtype=float) - 1) / 365
    near = 1.00011 + 0.034221 * np.cos(b) + 0.00128 * np.sin(b)
    near = near + 0.000719 * np.cos(2 * b) + 0.000077 * np.sin(2 * b)
    return np.asarray(SOLAR_CONSTANT * near)


def clear_sky(
    apparent_zenith: Hours,
    extra: Hours,
    altitude_m: float = 0.0,
    turbidity: float = USUAL_TURBIDITY,
) -> Irradiance:
    """A cloudless sky by the sun's height, in W/m²; nothing while the sun is down.

    Altitude −500 to 6000 m, Linke turbidity 1 to 10, else ValueError. Source: `CLEAR_SKY`."""
    import numpy as np

    if not -500 <= altitude_m <= 6000:
        raise ValueError("an altitude from -500 to 6000 m")
    if not 1 <= turbidity <= 10:
        raise ValueError("a Linke turbidity from 1 to 10")
    up = np.maximum(np.cos(np.radians(apparent_zenith)), 0.0)
    mass = _air_mass(apparent_zenith, altitude_m)
    low, high = math.exp(-altitude_m / 8000), math.exp(-altitude_m / 1250)
    c1, c2 = 5.09e-5 * altitude_m + 0.868, 3.92e-5 * altitude_m + 0.0387
    ghi = c1 * extra * up * np.exp(-c2 * mass * (low + high * (turbidity - 1)))
    beam = (0.664 + 0.163 / low) * extra * np.exp(-0.09 * mass * (turbidity - 1))
    left = 1 - (0.1 - 0.2 * math.exp(-turbidity)) / (0.1 + 0.882 / low)
    most = np.divide(ghi * left, up, out=np.zeros_like(ghi), where=up > 0)
    # Thin air high up would take the formula past the sun itself.
    dni = np.clip(np.minimum(beam, most), 0.0, extra)
    return Irradiance(ghi, dni, ghi - dni * up)


def _air_mass(apparent_zenith: Hours, altitude_m: float) -> Hours:
    """Air on the way of the beam against the air straight up at sea level (Kasten & Young 1989,
    pressure of the standard atmosphere)."""
    import numpy as np

    z = np.minimum(apparent_zenith, 90.0)
    mass = 1 / (np.cos(np.radians(z)) + 0.50572 * (96.07995 - z) ** -1.6364)
    pressure = ((44331.514 - altitude_m) / 11880.516) ** (1 / 0.1902632) / 1013.25
    return np.asarray(mass * pressure)


def incidence_cosine(sun: SunPosition, bearing_deg: float, tilt_deg: float) -> Hours:
    """The cosine of the angle between the beam and the straight line out of the face; below zero
    the sun stands behind it. Bearing 0 to 360, tilt 0 (looks up) to 180 (looks down)."""
    import numpy as np

    if not 0 <= bearing_deg <= 360:
        raise ValueError("a bearing runs from 0 to 360 degrees")
    if not 0 <= tilt_deg <= 180:
        raise ValueError("a tilt runs from 0 to 180 degrees")
    zenith, tilt = np.radians(sun.apparent_zenith), math.radians(tilt_deg)
    turned = np.radians(sun.azimuth - bearing_deg)
    return np.asarray(
        np.cos(zenith) * math.cos(tilt) + np.sin(zenith) * math.sin(tilt) * np.cos(turned)
    )


def on_face(
    sun: SunPosition,
    sky: Irradiance,
    extra: Hours,
    *,
    bearing_deg: float,
    tilt_deg: float,
    albedo: float = USUAL_ALBEDO,
    isotropic: bool = False,
) -> Hours:
    """What falls on a face, in W/m²; nan where the sky is not known.

    `isotropic` spreads all sky light evenly, as the plain model does. Albedo 0 to 1, bearing and
    tilt as `incidence_cosine`, else ValueError. Source: `ON_A_FACE`."""
    import numpy as np

    if not 0 <= albedo <= 1:
        raise ValueError("a ground albedo from 0 to 1")
    meets = np.maximum(incidence_cosine(sun, bearing_deg, tilt_deg), 0.0)
    tilt = math.cos(math.radians(tilt_deg))
    even = (1 + tilt) / 2
    # Near the horizon the quotient has no end: no lower than 1° counts.
    up = np.maximum(np.cos(np.radians(sun.apparent_zenith)), math.cos(math.radians(89)))
    around = 0.0 if isotropic else sky.dni / extra
    of_sky = sky.dhi * (around * meets / up + (1 - around) * even)
    total: Any = sky.dni * meets + of_sky + sky.ghi * albedo * (1 - tilt) / 2
    return np.asarray(np.where(total < 0, 0.0, total))


def _within(value: float, most: float, sentence: str) -> None:
    if not -most <= value <= most:  # nan fails it too
        raise ValueError(sentence)
