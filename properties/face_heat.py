"""How hot the face of a member is expected to get, by the best that is known of its place."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from properties.heat import ExpectedSurface, FaceReckoning, expected_surface_c
from properties.models import Member, Property, WeatherFile
from properties.surface_heat import (
    ABSORPTANCE,
    HOT_DAY,
    SOL_AIR,
    FaceYear,
    face_year,
    hot_day_year,
)
from properties.weather_file import unpack

if TYPE_CHECKING:
    from config.figures import Formula
    from properties.weather_file import WeatherYear

TENTH = Decimal("0.1")
UPRIGHT = Decimal(90)
# Common practice, no source: a sill or threshold sheds water at about 10°, a handrail lies flat.
USUAL_TILT: dict[str, Decimal] = {
    Member.Kind.SILL: Decimal(10),
    Member.Kind.THRESHOLD: Decimal(10),
    Member.Kind.HANDRAIL: Decimal(0),
    Member.Kind.SOFFIT: Decimal(180),
}
# Where nobody knows which way a face looks, the hottest of these counts.
ALL_ROUND = tuple(Decimal(each) for each in range(0, 360, 45))


@dataclass(frozen=True)
class Weather:
    """What a face can be reckoned from at a property, with the words that name it: the hours of
    a weather file, else a hot day at a latitude."""

    words: str
    formula: Formula
    file: WeatherFile | None = None
    latitude: float = 0.0
    altitude_m: float = 0.0
    hot_day_c: float = 0.0

    def year(self, bearing_deg: Decimal, tilt_deg: Decimal, absorptance: float) -> FaceYear:
        """ValueError with a sentence where the file or a figure cannot be used."""
        bearing, tilt = float(bearing_deg), float(tilt_deg)
        if self.file is not None:
            key = (self.file.pk, self.file.checksum)
            return _file_year(key, bearing, tilt, absorptance)
        return _hot_day(self.latitude, self.hot_day_c, self.altitude_m, bearing, tilt, absorptance)


def surface_of(member: Member) -> ExpectedSurface | None:
    """The expected surface of a member on a hot day: as stated for it; by the weather file of its
    property; by a cloudless hot day; by the usual figure of its tone and bearing. None where its
    tone is not known. Two queries at most, none where it is stated or the tone is not known."""
    if member.expected_surface_c is not None:
        return ExpectedSurface(member.expected_surface_c, "stated for this member", stated=True)
    if member.finish_tone not in ABSORPTANCE:
        return None
    building = member.building
    weather = weather_of(building.property, building.latitude, building.altitude_m)
    bearing = member.elevation.bearing_deg if member.elevation else None
    found = weather and surface_by(weather, member.finish_tone, bearing, tilt_of(member))
    return found or expected_surface_c(member.finish_tone, bearing, building.latitude)


def tilt_of(member: Member) -> Decimal:
    """As recorded, else the usual of its kind."""
    if member.tilt_deg is not None:
        return member.tilt_deg
    return USUAL_TILT.get(member.kind, UPRIGHT)


def weather_of(
    of: Property, latitude: Decimal | None, altitude_m: Decimal | None = None
) -> Weather | None:
    """The weather file, else the hot day stated for the property at that latitude; one query, and
    none where the property was read with its file."""
    file = _file_of(of)
    if file is not None:
        return Weather(f"by the weather of {file}", SOL_AIR, file)
    if of.hot_day_c is None or latitude is None:
        return None
    return Weather(
        "by a cloudless hot day there",
        HOT_DAY,
        latitude=float(latitude),
        altitude_m=float(altitude_m or 0),
        hot_day_c=float(of.hot_day_c),
    )


def _file_of(of: Property) -> WeatherFile | None:
    if Property.weather_file.is_cached(of):
        return getattr(of, "weather_file", None)
    return WeatherFile.objects.filter(property=of).defer("hours").first()


def surface_by(
    weather: Weather, tone: str, bearing_deg: Decimal | None, tilt_deg: Decimal
) -> ExpectedSurface | None:
    """The highest of the year on one face; None where the hours on record cannot be used."""
    absorptance = ABSORPTANCE[tone]
    bearings = ALL_ROUND if bearing_deg is None else (bearing_deg,)
    try:
        years = {each: weather.year(each, tilt_deg, absorptance) for each in bearings}
    except ValueError:
        return None
    hottest = max(years, key=lambda each: years[each].highest_c)
    year = years[hottest]
    where = f"facing {_plain(hottest)}°"
    if bearing_deg is None:
        where = "bearing not known, the hottest of eight"
    return ExpectedSurface(
        in_tenths(year.highest_c),
        f"{tone} finish, {where}, tilt {_plain(tilt_deg)}°, {weather.words}",
        FaceReckoning(
            formula=weather.formula,
            at=year.at,
            air_c=in_tenths(year.air_c),
            sun_w_m2=Decimal(round(year.sun_w_m2)),
            absorptance=Decimal(str(absorptance)),
            bearing_deg=hottest,
            tilt_deg=tilt_deg,
        ),
    )


def in_tenths(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(TENTH)


def _plain(degrees: Decimal) -> str:
    return f"{degrees.normalize():f}"


@lru_cache(maxsize=16)
def _hours(key: tuple[int, str]) -> WeatherYear:
    """Read once per process; a file that takes another's place has another checksum."""
    kept = WeatherFile.objects.filter(pk=key[0], checksum=key[1])
    packed = kept.values_list("hours", flat=True).first()
    if packed is None:
        raise ValueError("The weather file has been taken away or replaced meanwhile.")
    return unpack(bytes(packed))


@lru_cache(maxsize=2048)
def _file_year(key: tuple[int, str], bearing: float, tilt: float, absorptance: float) -> FaceYear:
    return face_year(_hours(key), bearing_deg=bearing, tilt_deg=tilt, absorptance=absorptance)


@lru_cache(maxsize=512)
def _hot_day(
    latitude: float,
    hot_day_c: float,
    altitude_m: float,
    bearing: float,
    tilt: float,
    absorptance: float,
) -> FaceYear:
    return hot_day_year(
        latitude,
        hot_day_c,
        bearing_deg=bearing,
        tilt_deg=tilt,
        absorptance=absorptance,
        altitude_m=altitude_m,
    )
