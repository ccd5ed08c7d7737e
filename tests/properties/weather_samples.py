"""The real weather files that pvlib carries, and an EPW written from one of them."""

import csv
import io
from functools import cache
from importlib import resources

from properties.weather_file import WeatherYear, read_weather

GREENSBORO, SAND_POINT = "723170TYA.CSV", "703165TY.csv"


@cache
def tmy3(name: str = GREENSBORO) -> bytes:
    return (resources.files("pvlib") / "data" / name).read_bytes()


@cache
def year_of(name: str = GREENSBORO) -> WeatherYear:
    return read_weather(tmy3(name), name)


@cache
def epw(name: str = GREENSBORO) -> bytes:
    """The hours of a TMY3 file in the open format EPW, with its codes for what is missing."""
    year, rows = year_of(name), list(csv.reader(io.StringIO(tmy3(name).decode())))[2:]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    place, state = year.place.rsplit(", ", 1)
    where = [year.latitude, year.longitude, year.utc_offset_h, year.altitude_m]
    writer.writerow(["LOCATION", place, state, "USA", "TMY3", "723170", *where])
    for head in (
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,written by a test",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ):
        out.write(f"{head}\r\n")
    for index, row in enumerate(rows):
        month, day, its_year = row[0].split("/")
        cells = ["0"] * 35
        cells[:6] = [its_year, month, day, row[1].split(":")[0], "60", "?9"]
        for place_in, values in {
            6: year.air_c,
            7: year.dew_c,
            8: year.humidity_pct,
            13: year.ghi,
            14: year.dni,
            15: year.dhi,
            21: year.wind_m_s,
            33: year.rain_mm,
        }.items():
            value = values[index]
            cells[place_in] = "999" if value != value else f"{value:g}"
        writer.writerow(cells)
    return out.getvalue().encode()
