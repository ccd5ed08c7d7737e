"""A year of hourly weather out of a file in an open format: EPW or TMY3."""

from __future__ import annotations

import csv
import io
import json
import math
import tokenize
import zipfile
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Hours = NDArray[np.float64]

LARGEST_BYTES = 6 * 1024 * 1024
MOST_LINES = 10_000
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
# With more of its hours unknown than this, a column tells too little of a year.
MOST_UNKNOWN = 0.05


class WeatherFileError(ValueError):
    """Why a file cannot be used, as a sentence for the reader."""


@dataclass(frozen=True)
class Column:
    """What a column is called, what it can hold, and from which figure on it means "missing"."""

    words: str
    low: float
    high: float
    missing: float
    wanted: bool = False


# Missing is 99.9, 999 or 9999 in an EPW and -9900 in a TMY3: below or far above what can be.
COLUMNS: Mapping[str, Column] = {
    "air_c": Column("air temperature", -70, 70, 99.9, True),
    "dew_c": Column("dew point", -90, 70, 99.9),
    "humidity_pct": Column("relative humidity", 0, 110, 999),
    "ghi": Column("sun on level ground", 0, 1600, 9999, True),
    "dni": Column("sun straight on", 0, 1500, 9999, True),
    "dhi": Column("light of the sky", 0, 1200, 9999, True),
    "wind_m_s": Column("wind", 0, 90, 999),
    "rain_mm": Column("rain", 0, 500, 999),
}
EPW_PLACES = {
    "air_c": 6,
    "dew_c": 7,
    "humidity_pct": 8,
    "ghi": 13,
    "dni": 14,
    "dhi": 15,
    "wind_m_s": 21,
    "rain_mm": 33,
}
TMY3_HEADS = {
    "air_c": "Dry-bulb (C)",
    "dew_c": "Dew-point (C)",
    "humidity_pct": "RHum (%)",
    "ghi": "GHI (W/m^2)",
    "dni": "DNI (W/m^2)",
    "dhi": "DHI (W/m^2)",
    "wind_m_s": "Wspd (m/s)",
    "rain_mm": "Lprecip depth (mm)",
}
DATE_HEAD, TIME_HEAD = "Date (MM/DD/YYYY)", "Time (HH:MM)"
EPW_HEADER_LINES = 8
# What reading an archive with damaged bytes has been seen to raise.
UNREADABLE = (
    ValueError, KeyError, TypeError, AttributeError, OSError, EOFError, RuntimeError, MemoryError,
    SyntaxError, tokenize.TokenError, zipfile.BadZipFile, zlib.error,
)  # fmt: skip


@dataclass(frozen=True)
class WeatherYear:
    """8760 hours from 1 January, 00:00 to 01:00, in local standard time, or 8784 of a leap year.
    Each value is the mean or sum of the hour, nan where it is not known."""

    kind: str
    place: str
    latitude: float
    longitude: float
    altitude_m: float
    utc_offset_h: float
    years: str
    rain_is_known: bool
    air_c: Hours
    dew_c: Hours
    humidity_pct: Hours
    ghi: Hours
    dni: Hours
    dhi: Hours
    wind_m_s: Hours
    rain_mm: Hours


@dataclass(frozen=True)
class _Station:
    kind: str
    place: str
    latitude: float
    longitude: float
    altitude_m: float
    utc_offset_h: float


Moment = tuple[int, int, int, int]  # year, month, day, hour that ends


def read_weather(data: bytes, name: str) -> WeatherYear:
    """The year in a file, told apart by what it holds and not by its name.

    Up to 6 MB, text, hours in order from 1 January; else WeatherFileError with a sentence that
    says what is wrong, and in which line. Figures that stand for "missing" become nan, and so does
    one that cannot be in a column that can be done without; air and the three of the sun may
    miss at most 5 % of their hours. Rain counts as known where 95 % of
    its hours are and at least one is above nought: a column of noughts is one nobody filled.
    Formats: EnergyPlus Weather (open, US DOE), TMY3 (NREL/TP-581-43156)."""
    if len(data) > LARGEST_BYTES:
        raise WeatherFileError("The file is larger than 6 MB; a year of hours takes about 2.")
    if not data.strip():
        raise WeatherFileError("The file is empty.")
    if data[:2] == b"PK":
        raise WeatherFileError("This is a ZIP file: unpack it and attach the EPW or TMY3 in it.")
    try:
        lines = csv.reader(io.StringIO(_text(data, name), newline=""))
        rows = list(islice(lines, MOST_LINES + 1))
    except csv.Error as why:
        raise _neither(name) from why
    if len(rows) > MOST_LINES:
        raise WeatherFileError(
            f"The file has more than {MOST_LINES:,} lines; a year of hours takes about 8,800."
        )
    first = rows[0][0].strip().upper() if rows and rows[0] else ""
    if first == "LOCATION":
        return _epw(rows)
    if len(rows) > 1 and rows[1] and rows[1][0].strip() == DATE_HEAD:
        return _tmy3(rows)
    raise _neither(name)


def _text(data: bytes, name: str) -> str:
    if b"\0" in data:
        raise _neither(name)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _neither(name: str) -> WeatherFileError:
    return WeatherFileError(
        f"“{name[:80]}” is neither an EPW nor a TMY3 file. An EPW begins with the line LOCATION; a "
        "TMY3 has the station in its first line and the names of its columns in the second."
    )


def _epw(rows: list[list[str]]) -> WeatherYear:
    head = [*rows[0], *[""] * 10]
    country = ", ".join(each.strip() for each in head[1:4] if each.strip() not in {"", "-"})
    station = _station("epw", country, *head[6:10])
    hours = [row for row in rows[EPW_HEADER_LINES:] if row]

    def moment(row: Sequence[str]) -> Moment:
        return int(row[0]), int(row[1]), int(row[2]), int(row[3])

    return _year(station, hours, EPW_HEADER_LINES, moment, EPW_PLACES)


def _tmy3(rows: list[list[str]]) -> WeatherYear:
    head = [*(each.strip() for each in rows[0]), *[""] * 7]
    place = ", ".join(each for each in (head[1], head[2]) if each)
    station = _station("tmy3", place, head[4], head[5], head[3], head[6])
    names = [each.strip() for each in rows[1]]
    lacking = [each for each in (DATE_HEAD, TIME_HEAD) if each not in names]
    lacking += [
        each for name, each in TMY3_HEADS.items() if COLUMNS[name].wanted and each not in names
    ]
    if lacking:
        raise WeatherFileError(f"The TMY3 file has no column “{lacking[0]}”.")
    day, time = names.index(DATE_HEAD), names.index(TIME_HEAD)
    places = {name: names.index(each) for name, each in TMY3_HEADS.items() if each in names}

    def moment(row: Sequence[str]) -> Moment:
        month, day_of_month, year = row[day].split("/")
        return int(year), int(month), int(day_of_month), int(row[time].split(":")[0])

    return _year(station, [row for row in rows[2:] if row], 2, moment, places)


def _station(
    kind: str, place: str, latitude: str, longitude: str, offset: str, altitude: str
) -> _Station:
    return _Station(
        kind=kind,
        place=" ".join(place.split())[:200] or "station not named",
        latitude=_of_station(latitude, "latitude", -90, 90),
        longitude=_of_station(longitude, "longitude", -180, 180),
        altitude_m=_of_station(altitude, "altitude", -500, 6000),
        utc_offset_h=_of_station(offset, "time zone", -12, 14),
    )


def _of_station(text: str, words: str, low: float, high: float) -> float:
    value = _number(text)
    if value is None or not low <= value <= high:
        raise WeatherFileError(
            f"The first line of the file gives no {words} of the station from {low:g} to {high:g}."
        )
    return value


def _year(
    station: _Station,
    rows: list[list[str]],
    header: int,
    moment: Callable[[Sequence[str]], Moment],
    places: Mapping[str, int],
) -> WeatherYear:
    import numpy as np

    if len(rows) not in (8760, 8784):
        raise WeatherFileError(
            f"The file holds {len(rows)} hours; a year has 8760, or 8784 where it is a leap year."
        )
    years = _in_order(rows, header, moment)
    columns = {
        name: np.array(_values(rows, header, COLUMNS[name], places.get(name))) for name in COLUMNS
    }
    for name, column in COLUMNS.items():
        unknown = int(np.isnan(columns[name]).sum())
        if column.wanted and unknown > MOST_UNKNOWN * len(rows):
            raise WeatherFileError(
                f"The {column.words} is missing in {unknown} hours of the file; 438 may be."
            )
    rain = columns["rain_mm"]
    known = bool(np.isnan(rain).mean() <= MOST_UNKNOWN and np.nansum(rain) > 0)
    told: dict[str, Any] = {**vars(station), **columns}
    return WeatherYear(years=years, rain_is_known=known, **told)


def _in_order(rows: list[list[str]], header: int, moment: Callable[[Sequence[str]], Moment]) -> str:
    """Holds each line to the hour that it must be of; the years that the lines are from."""
    months = [29 if number == 1 and len(rows) == 8784 else days for number, days in enumerate(DAYS)]
    due = (
        (month, day, hour)
        for month, days in enumerate(months, start=1)
        for day in range(1, days + 1)
        for hour in range(1, 25)
    )
    years = set()
    for line, (row, wanted) in enumerate(zip(rows, due, strict=True), start=header + 1):
        try:
            year, *found = moment(row)
        except (ValueError, IndexError) as why:
            raise WeatherFileError(f"Line {line} has no date and hour that can be read.") from why
        if tuple(found) != wanted:
            month, day, hour = wanted
            raise WeatherFileError(
                f"Line {line} should be the hour to {hour}:00 of day {day} of month {month}. "
                "The hours must run from 1 January to 31 December, none missing and none twice."
            )
        years.add(year)
    first, last = min(years), max(years)
    return str(first) if first == last else f"{first} to {last}"


def _values(rows: list[list[str]], header: int, column: Column, place: int | None) -> list[float]:
    if place is None:
        return [math.nan] * len(rows)
    return [
        _value(row[place] if place < len(row) else "", line, column)
        for line, row in enumerate(rows, start=header + 1)
    ]


def _value(text: str, line: int, column: Column) -> float:
    value = _number(text)
    if value is None:
        if text.strip() and column.wanted:
            raise WeatherFileError(f"Line {line}: the {column.words} is not a figure.")
        return math.nan
    if value <= -999 or value >= column.missing:
        return math.nan
    if column.low <= value <= column.high:
        return value
    if column.wanted:
        raise WeatherFileError(
            f"Line {line}: the {column.words} is {value:g}, and can be from {column.low:g} to "
            f"{column.high:g}."
        )
    return math.nan


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


# Kept in the database


def pack(year: WeatherYear) -> bytes:
    """The year as bytes, a compressed archive of plain arrays, some 200 kB."""
    import numpy as np

    told = {name: value for name, value in vars(year).items() if name not in COLUMNS}
    into = io.BytesIO()
    about = np.frombuffer(json.dumps(told).encode(), dtype=np.uint8)
    hours: dict[str, Any] = {name: getattr(year, name).astype(np.float32) for name in COLUMNS}
    np.savez_compressed(into, about=about, **hours)
    return into.getvalue()


def unpack(packed: bytes) -> WeatherYear:
    """The year that was packed; WeatherFileError where the bytes are none. Never runs pickles."""
    import numpy as np

    try:
        with np.load(io.BytesIO(packed), allow_pickle=False) as archive:
            # Rounded back to what the file said: nothing in it is finer than a thousandth.
            columns = {name: archive[name].astype(float).round(3) for name in COLUMNS}
            told = json.loads(archive["about"].tobytes())
        if {each.shape for each in columns.values()} not in ({(8760,)}, {(8784,)}):
            raise ValueError("not the hours of a year")
        return WeatherYear(**told, **columns)
    except UNREADABLE as why:
        raise WeatherFileError("The hours cannot be read: attach the file again.") from why
