"""Weather files: the real ones, what other readers make of them, and nonsense."""

import io
import math
import re

import numpy as np
import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.weather_file import (
    COLUMNS,
    LARGEST_BYTES,
    WeatherFileError,
    pack,
    read_weather,
    unpack,
)
from tests.properties.weather_samples import GREENSBORO, SAND_POINT, epw, tmy3, year_of


def refused(data: bytes, name: str = "any.epw") -> str:
    with pytest.raises(WeatherFileError) as said:
        read_weather(data, name)
    return str(said.value)


def same(ours: np.ndarray, theirs) -> bool:
    wanted = np.asarray(theirs, dtype=float)
    known = ~np.isnan(ours)
    return bool(np.allclose(ours[known], wanted[known], atol=1e-3)) and len(ours) == len(wanted)


# An independent library reads the same file.
@pytest.mark.parametrize("name", [GREENSBORO, SAND_POINT])
def test_a_tmy3_is_read_as_an_independent_library_does(name: str) -> None:
    year = year_of(name)
    theirs, station = pvlib.iotools.read_tmy3(
        io.StringIO(tmy3(name).decode()), coerce_year=1990, map_variables=True
    )
    assert (year.kind, year.latitude, year.longitude) == (
        "tmy3",
        station["latitude"],
        station["longitude"],
    )
    assert (year.altitude_m, year.utc_offset_h) == (station["altitude"], station["TZ"])
    for ours, column in {
        "air_c": "temp_air",
        "ghi": "ghi",
        "dni": "dni",
        "dhi": "dhi",
        "humidity_pct": "relative_humidity",
        "wind_m_s": "wind_speed",
        "rain_mm": "Lprecip depth (mm)",
    }.items():
        assert same(getattr(year, ours), theirs[column])


def test_an_epw_is_read_as_an_independent_library_does() -> None:
    year = read_weather(epw(), "greensboro.epw")
    theirs, station = pvlib.iotools.read_epw(io.StringIO(epw().decode()))
    assert year.kind == "epw"
    assert year.place == "GREENSBORO PIEDMONT TRIAD INT, NC, USA"
    assert (year.latitude, year.longitude) == (station["latitude"], station["longitude"])
    for ours, column in {
        "air_c": "temp_air",
        "dew_c": "temp_dew",
        "ghi": "ghi",
        "dni": "dni",
        "dhi": "dhi",
        "humidity_pct": "relative_humidity",
        "wind_m_s": "wind_speed",
        "rain_mm": "liquid_precipitation_depth",
    }.items():
        assert same(getattr(year, ours), theirs[column])


def test_both_formats_tell_the_same_year() -> None:
    as_epw, as_tmy3 = read_weather(epw(), "a"), year_of()
    for name in COLUMNS:
        assert np.array_equal(getattr(as_epw, name), getattr(as_tmy3, name), equal_nan=True)


def test_rain_that_nobody_measured_is_not_known() -> None:
    assert year_of().rain_is_known
    assert not year_of(SAND_POINT).rain_is_known
    dry = re.sub(rb",[^,\r\n]*,0\r\n", b",0,0\r\n", epw())
    assert not read_weather(dry, "noughts.epw").rain_is_known


def test_what_is_packed_comes_back() -> None:
    year = year_of()
    packed = pack(year)
    assert len(packed) < 200_000
    again = unpack(packed)
    assert again.place == year.place
    assert again.rain_is_known is year.rain_is_known
    for name in COLUMNS:
        assert np.array_equal(getattr(again, name), getattr(year, name), equal_nan=True)


@pytest.mark.parametrize("data", [b"", b"none", b"PK\x03\x04", b"\x80\x04K\x01.", b"\x93NUMPY"])
def test_bytes_that_are_no_year_are_refused(data: bytes) -> None:
    with pytest.raises(WeatherFileError, match="attach the file again"):
        unpack(data)


def test_a_packed_pickle_is_never_run() -> None:
    into = io.BytesIO()
    np.savez(into, about=np.array([{"a": 1}], dtype=object))
    with pytest.raises(WeatherFileError):
        unpack(into.getvalue())


def lines(data: bytes) -> list[bytes]:
    return data.splitlines(keepends=True)


def with_line(number: int, line: bytes, data: bytes | None = None) -> bytes:
    all_lines = lines(data or epw())
    all_lines[number - 1] = line
    return b"".join(all_lines)


def with_cell(number: int, place: int, text: str) -> bytes:
    cells = lines(epw())[number - 1].decode().rstrip().split(",")
    cells[place] = text
    return with_line(number, ",".join(cells).encode() + b"\r\n")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (b"PK\x03\x04 zipped", "ZIP file: unpack it"),
        (b"a,b\n1,2\n", "neither an EPW nor a TMY3"),
        (b"\x00\x01\x02", "neither an EPW nor a TMY3"),
        (b"\xff\xfe\xfa", "neither an EPW nor a TMY3"),
        (b'"' + b"x" * 200_000, "neither an EPW nor a TMY3"),
        (b"LOCATION\n", "no latitude"),
        (b"LOCATION,a,b,c,d,e,91,0,0,0\n", "no latitude"),
        (b"LOCATION,a,b,c,d,e,nan,0,0,0\n", "no latitude"),
        (b"LOCATION,a,b,c,d,e,50,0,99,0\n", "no time zone"),
        (b"LOCATION,a,b,c,d,e,50,0,0,0\n", "holds 0 hours"),
        (b"x" * (LARGEST_BYTES + 1), "larger than 6 MB"),
    ],
)
def test_nonsense_is_refused_with_a_sentence(data: bytes, said: str) -> None:
    assert said in refused(data)


def test_a_file_cut_short_says_how_many_hours_it_holds() -> None:
    assert "holds 5000 hours; a year has 8760" in refused(b"".join(lines(epw())[:5008]))


def test_hours_out_of_order_are_refused_with_their_line() -> None:
    rows = lines(epw())
    rows[100], rows[101] = rows[101], rows[100]
    assert "Line 101 should be the hour to 21:00 of day 4 of month 1" in refused(b"".join(rows))


@pytest.mark.parametrize("text", ["", "warm", "nan", "inf"])
def test_an_hour_without_its_air_is_a_gap_or_an_error(text: str) -> None:
    data = with_cell(500, 6, text)
    if text:
        assert "Line 500: the air temperature is not a figure" in refused(data)
    else:
        assert math.isnan(read_weather(data, "gap.epw").air_c[491])


def test_what_cannot_be_is_refused_with_its_line() -> None:
    assert "Line 500: the air temperature is 80, and can be" in refused(with_cell(500, 6, "80"))
    assert "Line 500: the sun straight on is -5" in refused(with_cell(500, 14, "-5"))


@pytest.mark.parametrize(("place", "code"), [(6, "99.9"), (13, "9999"), (21, "999"), (6, "-9900")])
def test_the_codes_for_missing_are_gaps(place: int, code: str) -> None:
    year = read_weather(with_cell(500, place, code), "gap.epw")
    name = {6: "air_c", 13: "ghi", 21: "wind_m_s"}[place]
    assert math.isnan(getattr(year, name)[491])


def test_too_many_gaps_are_refused() -> None:
    rows = lines(epw())
    for index in range(8, 8 + 500):
        cells = rows[index].split(b",")
        cells[6] = b"99.9"
        rows[index] = b",".join(cells)
    assert "air temperature is missing in 500 hours" in refused(b"".join(rows))


def test_a_tmy3_without_a_column_names_it() -> None:
    data = tmy3().replace(b"Dry-bulb (C)", b"Warmth", 1)
    assert "no column “Dry-bulb (C)”" in refused(data)


def test_a_leap_year_has_its_day() -> None:
    rows = lines(epw())
    cut = 8 + (31 + 28) * 24
    leap = [re.sub(rb"^(\d+),02,28,", rb"\1,02,29,", row) for row in rows[cut - 24 : cut]]
    year = read_weather(b"".join([*rows[:cut], *leap, *rows[cut:]]), "leap.epw")
    assert len(year.air_c) == 8784


def test_an_epw_of_fewer_columns_knows_no_rain() -> None:
    rows = [row.rstrip().rsplit(b",", 6)[0] + b"\n" for row in lines(epw())[8:]]
    year = read_weather(b"".join([*lines(epw())[:8], *rows]), "old.epw")
    assert not year.rain_is_known
    assert np.array_equal(year.air_c, year_of().air_c)


@settings(max_examples=200)
@given(st.binary(max_size=3000), st.sampled_from([b"", b"LOCATION,", b"1,2\nDate (MM/DD/YYYY),"]))
def test_whatever_is_sent_there_is_a_sentence(data: bytes, head: bytes) -> None:
    assert refused(head + data).endswith(".")
