"""What the weather page and a member's page tell of the heat of a face, each figure opened."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from config.figures import Figure, Formula, figure
from config.quantities import Quantity, UnitSystem, show
from properties.face_heat import Weather, in_tenths
from properties.heat import STATED, USUAL, ExpectedSurface
from properties.models import Elevation, Property
from properties.surface_heat import (
    ABSORPTANCE,
    ABSORPTANCE_OF,
    HOT_DAY,
    LIMITS_C,
    MONTHS,
    FaceYear,
)

COMPASS = {"North": Decimal(0), "East": Decimal(90), "South": Decimal(180), "West": Decimal(270)}
LEVEL = "Lying flat"
MOST_ROWS, MOST_NAMES = 40, 3
TONES = {"white": "White", "light": "Light", "medium": "Middle", "dark": "Dark"}


@dataclass(frozen=True)
class Face:
    """A bearing and tilt, with the names of what looks that way."""

    name: str
    bearing_deg: Decimal
    tilt_deg: Decimal = Decimal(90)


@dataclass(frozen=True)
class ToneFigure:
    tone: str
    figure: Figure


@dataclass(frozen=True)
class FaceRow:
    """One face, and its highest of the year by tone."""

    name: str
    tones: tuple[ToneFigure, ...]


@dataclass(frozen=True)
class MonthHeat:
    """The highest of a month on each face for a dark finish, None where nothing is known."""

    name: str
    highest_c: tuple[tuple[str, Decimal | None], ...]


@dataclass(frozen=True)
class HoursOver:
    """For how many hours of the year a dark finish is hotter than a limit, on each face; told of a
    weather file only."""

    limit: str
    hours: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class HeatTables:
    rows: tuple[FaceRow, ...]
    months: tuple[MonthHeat, ...]
    faces: tuple[str, ...]
    over: tuple[HoursOver, ...]
    hottest: str


def faces_of(elevations: Iterable[Elevation]) -> list[Face]:
    """The four winds and level ground, then the property's own bearings, each once."""
    named: dict[Decimal, list[str]] = {}
    for elevation in elevations:
        if elevation.bearing_deg is not None:
            named.setdefault(elevation.bearing_deg, []).append(
                f"{elevation.name} of {elevation.building.name}"
            )
    faces = [Face(name, bearing) for name, bearing in COMPASS.items()]
    faces.append(Face(LEVEL, Decimal(180), Decimal(0)))
    own = [Face(f"{_some(names)}, {_degrees(at)}", at) for at, names in sorted(named.items())]
    return [*faces, *own[:MOST_ROWS]]


def elevations_of(of: Property) -> list[Elevation]:
    standing = Elevation.objects.filter(
        building__property=of, building__demolished_on=None, bearing_deg__isnull=False
    )
    return list(standing.select_related("building").order_by("building__name", "name"))


def heat_tables(
    weather: Weather, faces: Sequence[Face], system: UnitSystem | str
) -> HeatTables | None:
    """None where the hours on record cannot be used."""
    try:
        years = {
            (face, tone): weather.year(face.bearing_deg, face.tilt_deg, ABSORPTANCE[tone])
            for face in faces
            for tone in TONES
        }
    except ValueError:
        return None
    top = max(years, key=lambda each: years[each].highest_c)
    dark = {face: years[face, "dark"] for face in faces}
    first = faces[: len(COMPASS) + 1]
    return HeatTables(
        rows=tuple(_row(face, years, weather.formula, system) for face in faces),
        months=tuple(
            MonthHeat(name, tuple((each.name, _month(dark[each], index)) for each in first))
            for index, name in enumerate(MONTHS)
        ),
        faces=tuple(each.name for each in first),
        over=tuple(
            HoursOver(
                _warm(limit, system),
                tuple((each.name, dark[each].hours_over[limit]) for each in first),
            )
            for limit in LIMITS_C
            if weather.formula is not HOT_DAY
        ),
        hottest=f"{_warm(years[top].highest_c, system)}, on a {top[1]} finish {_lies(top[0])}",
    )


def _lies(face: Face) -> str:
    return "lying flat" if face.name == LEVEL else f"facing {_degrees(face.bearing_deg)}"


def _row(
    face: Face,
    years: dict[tuple[Face, str], FaceYear],
    formula: Formula,
    system: UnitSystem | str,
) -> FaceRow:
    return FaceRow(
        name=face.name,
        tones=tuple(
            ToneFigure(words, _opened(face, tone, years[face, tone], formula, system))
            for tone, words in TONES.items()
        ),
    )


def _opened(
    face: Face, tone: str, year: FaceYear, formula: Formula, system: UnitSystem | str
) -> Figure:
    return figure(
        f"Highest of the year, {TONES[tone].lower()} finish, {face.name}",
        _warm(year.highest_c, system),
        formula,
        ("When", _when(year.at, formula)),
        ("Air", _warm(year.air_c, system)),
        ("Sun on the face", f"{year.sun_w_m2:.0f} W/m²"),
        ("Share taken up", f"{ABSORPTANCE[tone]:.2f}, {ABSORPTANCE_OF[tone]}"),
        ("Bearing and tilt", f"{_degrees(face.bearing_deg)}, {_degrees(face.tilt_deg)}"),
        ("Highest of each month", _by_month(year, system)),
        *(
            (f"Hours over {_warm(limit, system)}", str(hours))
            for limit, hours in year.hours_over.items()
            if formula is not HOT_DAY
        ),
    )


def _by_month(year: FaceYear, system: UnitSystem | str) -> str:
    known = zip(MONTHS, year.monthly_highest_c, strict=True)
    return ", ".join(
        f"{month[:3]} {_warm(highest, system)}" for month, highest in known if highest is not None
    )


def _when(at: str, formula: Formula) -> str:
    """A cloudless hot day goes by the sun, and is no year of which hours could be counted."""
    return f"{at}, by the sun" if formula is HOT_DAY else f"{at}, standard time"


def surface_figure(expected: ExpectedSurface, system: UnitSystem | str) -> Figure:
    """The expected surface of a member, opened to what it follows from."""
    value, name = _warm(expected.celsius, system), "Expected surface on a hot day"
    basis = ("Known from", expected.basis)
    known = expected.reckoned
    if known is None:
        return figure(name, value, STATED if expected.stated else USUAL, basis)
    return figure(
        name,
        value,
        known.formula,
        basis,
        ("When", _when(known.at, known.formula)),
        ("Air", _warm(known.air_c, system)),
        ("Sun on the face", f"{known.sun_w_m2} W/m²"),
        ("Share taken up", f"{known.absorptance}"),
        ("Bearing and tilt", f"{_degrees(known.bearing_deg)}, {_degrees(known.tilt_deg)}"),
    )


def _month(year: FaceYear, index: int) -> Decimal | None:
    highest = year.monthly_highest_c[index]
    return None if highest is None else in_tenths(highest)


def _warm(celsius: float | Decimal, system: UnitSystem | str) -> str:
    return show(in_tenths(float(celsius)), Quantity.TEMPERATURE, system, 1)


def _degrees(value: Decimal) -> str:
    return f"{value.normalize():f}°"


def _some(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMES
    return ", ".join(names[:MOST_NAMES]) + (f" and {more} more" if more > 0 else "")
