"""How hot a face gets in the sun: its surface through a year of hourly weather, by its colour."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from config.figures import Formula
from properties.sun import (
    FIRST_DAY,
    USUAL_ALBEDO,
    Irradiance,
    SunPosition,
    clear_sky,
    extraterrestrial,
    on_face,
    sun_position,
)
from properties.weather_file import DAYS, WeatherYear

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Hours = NDArray[np.float64]

# Each tone takes the darkest of the table's colours that it covers, so as to err to the hot side.
ABSORPTANCE = {"white": 0.35, "light": 0.45, "medium": 0.60, "dark": 0.90}
ABSORPTANCE_OF = {
    "white": "off-white (light cream is 0.30)",
    "light": "light grey",
    "medium": "yellow or buff",
    "dark": "slate or dark grey (red and green are 0.75)",
}
ABSORPTANCE_SOURCE = (
    "Building Code of Australia 2019, Vol. 2, 3.12.1.2, table of colours by ASTM E903, written "
    "for roofs (secondary)"
)
FILM_W_M2K = 17.0
# 4 K at the usual film, of which a face sees as much as it looks up.
SKY_LOSS_W_M2 = 4.0 * FILM_W_M2K
LIMITS_C = (50, 60)
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
# A year put together of many has none of its own; the sun of these serves.
YEAR_BEGINS = {8760: -3652.5, 8784: -2922.5}  # 1 January 1990 and 1992, 00:00 UT

SOL_AIR = Formula(
    words="The air, warmed by the sun that the face takes up and cooled by what it gives off to "
    "a clear sky: the temperature of a surface that passes no heat inward. The highest hour of "
    "the year counts.",
    symbols="T = T air + α I / h − 4 K · max(cos β, 0); h = 17 W/m²K",
    source="ASHRAE Fundamentals, sol-air temperature, h = 3.0 Btu/h·ft²·°F (secondary). Colour: "
    f"{ABSORPTANCE_SOURCE}",
    holds="for hourly means and a light wind (17 W/m²K is 2 m/s by ISO 6946); a board that passes "
    "heat inward is cooler, one in calm air can be hotter",
)
HOT_DAY = Formula(
    words="As from a weather file, but with a cloudless sky all day and the air held at the "
    "stated figure, over the half of the year in which the sun stands high.",
    symbols="T = T hot day + α I / h − 4 K · max(cos β, 0); h = 17 W/m²K",
    source="Sky: Ineichen & Perez 2002 with a Linke turbidity of 3. Sol-air temperature: ASHRAE "
    f"Fundamentals (secondary). Colour: {ABSORPTANCE_SOURCE}",
    holds="as a guide; a weather file of the place is better",
)

Film = float | None


@dataclass(frozen=True)
class FaceYear:
    """A face through a year: °C, W/m² and hours. A month is None where no hour of it is known."""

    highest_c: float
    at: str
    air_c: float
    sun_w_m2: float
    monthly_highest_c: tuple[float | None, ...]
    hours_over: Mapping[int, int]


@dataclass(frozen=True)
class _Sun:
    position: SunPosition
    extra: Hours


def sol_air_c(
    air_c: Any,
    sun_w_m2: Any,
    absorptance: float,
    film_w_m2k: Any = FILM_W_M2K,
    sky_loss_w_m2: float = 0.0,
) -> Any:
    """Sol-air temperature in °C: of floats a float, of arrays an array of their shape.

    Absorptance 0 to 1, film above 0 W/m²K, else ValueError. Source: ASHRAE, te = to + αI/h − ΔR/h.
    """
    if not 0 <= absorptance <= 1:
        raise ValueError("an absorptance from 0 to 1")
    if not _above_zero(film_w_m2k):
        raise ValueError("a film coefficient above 0 W/m²K")
    return air_c + (absorptance * sun_w_m2 - sky_loss_w_m2) / film_w_m2k


def _sky_loss(tilt_deg: float) -> float:
    """In W/m²: none upright, where the warm ground makes up for the cold sky, nor below."""
    return SKY_LOSS_W_M2 * max(math.cos(math.radians(tilt_deg)), 0.0)


def _above_zero(value: Any) -> bool:
    above = value > 0
    return bool(above if isinstance(above, bool) else above.all())


def film_by_wind(wind_m_s: Any) -> Any:
    """Outside film in W/m²K by wind: 4 + 4v and 5 of long-wave radiation; 17 is 2 m/s.

    Rounds to the resistances of ISO 6946, Table A.2 (secondary): 0.08 at 1 m/s, 0.04 at 4 m/s."""
    return 9.0 + 4.0 * wind_m_s


def face_year(
    year: WeatherYear,
    *,
    bearing_deg: float,
    tilt_deg: float,
    absorptance: float,
    film_w_m2k: Film = FILM_W_M2K,
    albedo: float = USUAL_ALBEDO,
    isotropic: bool = False,
    limits_c: Sequence[int] = LIMITS_C,
) -> FaceYear:
    """The surface of a face through a year of weather.

    Bearing 0 to 360, tilt 0 to 180, absorptance 0 to 1, film above 0 W/m²K or None for that of
    each hour's wind (17 where it is not known; in calm hours an upper bound, since it leaves out
    that a hot surface gives off more), else ValueError; also where no hour is known. The
    sun stands where it does in the middle of the hour. Some 3 ms. Source: `SOL_AIR`."""
    import numpy as np

    sun = _sun_of(year.latitude, year.longitude, year.utc_offset_h, len(year.air_c))
    sky = Irradiance(*(np.asarray(each, float) for each in (year.ghi, year.dni, year.dhi)))
    on = on_face(
        sun.position,
        sky,
        sun.extra,
        bearing_deg=bearing_deg,
        tilt_deg=tilt_deg,
        albedo=albedo,
        isotropic=isotropic,
    )
    air = np.asarray(year.air_c, float)
    film: Any = film_w_m2k
    if film is None:
        wind = np.asarray(year.wind_m_s, float)
        film = np.where(np.isnan(wind), FILM_W_M2K, film_by_wind(wind))
    surface = sol_air_c(air, on, absorptance, film, _sky_loss(tilt_deg))
    return _told(surface, air, on, limits_c)


def hot_day_year(
    latitude: float,
    hot_day_c: float,
    *,
    bearing_deg: float,
    tilt_deg: float,
    absorptance: float,
    altitude_m: float = 0.0,
    limits_c: Sequence[int] = LIMITS_C,
) -> FaceYear:
    """The surface of a face under cloudless skies, the air held at the hottest to reckon with.

    Of the year, the half in which the sun stands on the place's side of the equator. Hours are
    by the sun: at 12 it stands highest. Latitude −90 to 90, air −60 to 60 °C, altitude −500 to
    6000 m, else ValueError; the rest as `face_year`. Source: `HOT_DAY`."""
    import numpy as np

    if not -60 <= hot_day_c <= 60:
        raise ValueError("air on a hot day from -60 to 60 °C")
    sun = _sun_of(latitude, 0.0, 0.0, 8760)
    sky = clear_sky(sun.position.apparent_zenith, sun.extra, altitude_m)
    on = on_face(sun.position, sky, sun.extra, bearing_deg=bearing_deg, tilt_deg=tilt_deg)
    day = np.arange(8760) // 24
    high = (day >= 79) & (day < 266)  # from 21 March to 23 September
    air = np.where(high if latitude >= 0 else ~high, float(hot_day_c), np.nan)
    surface = sol_air_c(air, on, absorptance, FILM_W_M2K, _sky_loss(tilt_deg))
    return _told(surface, air, on, limits_c)


@lru_cache(maxsize=16)
def _sun_of(latitude: float, longitude: float, utc_offset_h: float, hours: int) -> _Sun:
    """The sun in the middle of each hour of a year; some 1 MB."""
    import numpy as np

    hour = np.arange(hours)
    days = YEAR_BEGINS[hours] + (hour + 0.5 - utc_offset_h) / 24
    assert days[0] > FIRST_DAY
    return _Sun(
        sun_position(days, latitude, longitude),
        extraterrestrial(np.asarray(hour // 24 + 1, np.float64)),
    )


def _told(surface: Hours, air: Hours, on: Hours, limits_c: Sequence[int]) -> FaceYear:
    import numpy as np

    if np.isnan(surface).all():
        raise ValueError("no hour of the year is known")
    top = int(np.nanargmax(surface))
    months = np.split(surface, np.cumsum(_days_of(len(surface)))[:-1] * 24)
    return FaceYear(
        highest_c=float(surface[top]),
        at=_hour_in_words(top, len(surface)),
        air_c=float(air[top]),
        sun_w_m2=float(on[top]),
        monthly_highest_c=tuple(
            None if np.isnan(each).all() else float(np.nanmax(each)) for each in months
        ),
        hours_over={limit: int((surface > limit).sum()) for limit in limits_c},
    )


def _days_of(hours: int) -> list[int]:
    return [29 if month == 1 and hours == 8784 else days for month, days in enumerate(DAYS)]


def _hour_in_words(index: int, hours: int) -> str:
    """`15 July, 16:00 to 17:00`."""
    day, hour = divmod(index, 24)
    for month, days in zip(MONTHS, _days_of(hours), strict=True):
        if day < days:
            return f"{day + 1} {month}, {hour}:00 to {hour + 1}:00"
        day -= days
    raise ValueError("an hour within the year")
