"""A forecast typed or pasted as rows: time, air temperature, and if known humidity and rain.

`14:00 18 65`, or `2026-05-04 14:00; 18,5 °C; 65 %; 0,2 mm`. Times are those of the property's
clock, or carry their own offset; instants come out aware, in that zone."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import pairwise
from zoneinfo import ZoneInfo

from repairs.cure_series import AirSeries
from repairs.remarks.words import day, instant

HOUR = timedelta(hours=1)
MOST_DAYS, MOST_ROWS, LONGEST_ROW = 14, 400, 200
FILLED_GAP = timedelta(hours=6)
COLDEST_C, HOTTEST_C = -40.0, 60.0
MOST_RAIN_MM = 200.0
MM_PER_INCH = 25.4
EXAMPLE = "14:00 18 65 0"

MONTHS = {
    name: number
    for number, name in enumerate(
        ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"), 1
    )
}
SAME_SIGN = str.maketrans({"−": "-", "–": "-", "º": "°", "\u00a0": " ", "\u202f": " "})
DAY = re.compile(
    r"(?P<year>\d{4})-(?P<month>\d\d?)-(?P<day>\d\d?)(?:t|[\s,;]+)"
    r"|(?P<day2>\d\d?)\s+(?P<name>[a-z]{3,9})\.?,?(?:\s+(?P<year2>\d{4}))?[\s,;]+"
)
CLOCK = re.compile(
    r"(?:(?P<hour>\d\d?)[:h](?P<minute>\d\d)(?::\d\d(?:\.0+)?)?\s*(?P<half>am|pm)?"
    r"|(?P<hour2>\d\d?)\s*(?P<half2>am|pm)|(?P<hour3>\d\d?)\s*h)"
    r"\s*(?P<offset>z|[+-]\d\d:?\d\d)?(?=$|[\s,;])"
)
FIGURE = re.compile(r"(?P<number>[+-]?\d+(?:[.,]\d+)?)\s*(?P<unit>°?\s*[cf]|%|mm|in|\")?")


@dataclass(frozen=True)
class ForecastHour:
    """The air from `at` (aware) on; None means not told."""

    at: datetime
    air_c: float
    humidity_pct: float | None = None
    rain_mm: float | None = None


@dataclass(frozen=True)
class ReadForecast:
    """The hours in order, a sentence for each row that could not be taken, and what else to know
    of the rows, such as gaps that were filled."""

    hours: tuple[ForecastHour, ...]
    wrong: tuple[str, ...]
    notes: tuple[str, ...] = ()


class _WrongRow(ValueError):
    """A row that cannot be taken; the text says what to do, without the row's number."""


def read_forecast(
    text: str, zone: ZoneInfo, first_day: date, *, fahrenheit: bool = False
) -> ReadForecast:
    """Read rows, one hour each; a row without its day follows the row above, past midnight too.

    At most 400 rows within 14 days from `first_day`. A bare temperature is °F if `fahrenheit`,
    and bare rain then inches. Holes of up to six hours are filled evenly, and said so."""
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    wrong: list[str] = []
    if lines and _is_header(lines[0][1]):
        lines = lines[1:]
    if len(lines) > MOST_ROWS:
        wrong.append(f"Only the first {MOST_ROWS} rows are read; {len(lines)} were given.")
    hours: dict[datetime, ForecastHour] = {}
    before: datetime | None = None
    for number, line in lines[:MOST_ROWS]:
        try:
            hour = _row(line, zone, first_day, before, fahrenheit=fahrenheit)
        except _WrongRow as error:
            wrong.append(f"Row {number}: {error}")
            continue
        before = hour.at
        if hour.at.astimezone(UTC) in hours:
            wrong.append(f"Row {number}: {instant(hour.at)} was given before; the first is kept.")
            continue
        hours[hour.at.astimezone(UTC)] = hour
    given = [hours[at] for at in sorted(hours)]
    filled, notes = _without_gaps(given)
    return ReadForecast(tuple(filled), tuple(wrong), tuple(notes))


def to_rows(hours: Iterable[ForecastHour]) -> list[list[str | float | None]]:
    """As JSON keeps it: time in UTC, air °C, humidity %, rain mm."""
    return [
        [hour.at.astimezone(UTC).isoformat(), hour.air_c, hour.humidity_pct, hour.rain_mm]
        for hour in hours
    ]


def from_rows(
    rows: Iterable[list[str | float | None]], zone: tzinfo = UTC
) -> tuple[ForecastHour, ...]:
    """The hours that `to_rows` kept, by the clock of `zone`. ValueError for anything else."""
    hours = []
    for row in rows:
        try:
            at, air_c, humidity_pct, rain_mm = row
            hours.append(
                ForecastHour(
                    datetime.fromisoformat(str(at)).astimezone(zone),
                    float(str(air_c)),
                    None if humidity_pct is None else float(humidity_pct),
                    None if rain_mm is None else float(rain_mm),
                )
            )
        except (TypeError, ValueError) as error:
            raise ValueError("a forecast is kept as rows of four") from error
    return tuple(hours)


def as_air(hours: Iterable[ForecastHour]) -> AirSeries | None:
    """The air hour by hour from the first row on, evenly between rows; None without a row."""
    given = list(hours)
    if not given:
        return None
    begins = given[0].at
    count = int((given[-1].at.astimezone(UTC) - begins.astimezone(UTC)) / HOUR) + 1
    figures, index = [], 0
    for hour in range(count):
        at = begins.astimezone(UTC) + hour * HOUR
        while index + 1 < len(given) and given[index + 1].at <= at:
            index += 1
        after = given[min(index + 1, len(given) - 1)]
        figures.append(_between(given[index], after, at).air_c)
    return AirSeries(begins, tuple(figures))


# One row


def _is_header(line: str) -> bool:
    """Words, and no time that could be read."""
    plain = line.translate(SAME_SIGN).strip().lower()
    return bool(re.search(r"[a-z]{3}", plain)) and _clock(plain) is None


def _row(
    line: str, zone: ZoneInfo, first_day: date, before: datetime | None, *, fahrenheit: bool
) -> ForecastHour:
    if len(line) > LONGEST_ROW:
        raise _WrongRow(f"too long for one hour. Type it like {EXAMPLE}.")
    plain = line.translate(SAME_SIGN).strip().lower()
    found = _clock(plain)
    if found is None:
        raise _WrongRow(f"no time could be read. Begin with it, like {EXAMPLE}.")
    on, clock, rest = found
    at = _instant(on, clock, zone, first_day, before)
    begins = datetime.combine(first_day, time(), zone).astimezone(UTC)
    if not begins - 24 * HOUR <= at.astimezone(UTC) < begins + MOST_DAYS * 24 * HOUR:
        raise _WrongRow(
            f"{instant(at)} is not within {MOST_DAYS} days from {day(first_day)}. Leave it out."
        )
    return _figures(rest, at, fahrenheit=fahrenheit)


def _clock(plain: str) -> tuple[re.Match[str] | None, re.Match[str], str] | None:
    """The day, if there is one, the time, and what follows them."""
    on = DAY.match(plain)
    clock = CLOCK.match(plain, on.end() if on else 0)
    if clock is None:
        return None
    return on, clock, plain[clock.end() :]


def _instant(
    on: re.Match[str] | None,
    clock: re.Match[str],
    zone: ZoneInfo,
    first_day: date,
    before: datetime | None,
) -> datetime:
    minutes = _minutes(clock)
    day_of = first_day
    if on is not None:
        day_of = _day(on, first_day)
    elif before is not None:
        day_of = before.date()
        over = minutes < before.hour * 60 + before.minute
        if over and not _comes_twice(_wall(day_of, minutes, zone)):
            day_of += timedelta(days=1)
    at = _wall(day_of, minutes, zone)
    if clock["offset"]:
        offset = clock["offset"].upper().replace("Z", "+00:00")
        return datetime.fromisoformat(f"{at.replace(tzinfo=None)}{offset}").astimezone(zone)
    if at.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != at.replace(tzinfo=None):
        raise _WrongRow(f"{at:%H:%M} does not exist on {day(day_of)}: the clocks go forward.")
    if before is not None and _comes_twice(at):
        second = at.replace(fold=1)
        if at.astimezone(UTC) <= before.astimezone(UTC) < second.astimezone(UTC):
            return second
    return at


def _minutes(clock: re.Match[str]) -> int:
    """Minutes after midnight; 24:00 ends the day."""
    hour = int(clock["hour"] or clock["hour2"] or clock["hour3"])
    minute = int(clock["minute"] or 0)
    half = clock["half"] or clock["half2"]
    if half and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "pm" else 0)
    elif half:
        hour = 99
    if hour * 60 + minute > 24 * 60 or minute > 59:
        raise _WrongRow(f"{clock[0].strip()} is not a time. Type it like {EXAMPLE}.")
    return hour * 60 + minute


def _wall(day_of: date, minutes: int, zone: ZoneInfo) -> datetime:
    days, rest = divmod(minutes, 24 * 60)
    return datetime.combine(day_of + timedelta(days=days), time(rest // 60, rest % 60), zone)


def _comes_twice(at: datetime) -> bool:
    """In the night in which the clocks go back; true too for a time that they leap over."""
    return at.replace(fold=0).utcoffset() != at.replace(fold=1).utcoffset()


def _day(on: re.Match[str], first_day: date) -> date:
    try:
        if on["name"]:
            month = MONTHS[on["name"][:3]]
            year = int(on["year2"] or first_day.year)
            found = date(year, month, int(on["day2"]))
            if on["year2"] is None and found < first_day - timedelta(days=180):
                found = found.replace(year=year + 1)
            return found
        return date(int(on["year"]), int(on["month"]), int(on["day"]))
    except (KeyError, ValueError) as error:
        raise _WrongRow(
            f"{on[0].strip(' ,;t')} is not a day. Type it like 2026-05-04 or 4 May 2026."
        ) from error


def _figures(rest: str, at: datetime, *, fahrenheit: bool) -> ForecastHour:
    fields = _fields(rest)
    if not fields:
        raise _WrongRow(f"no temperature. Type it like {EXAMPLE}.")
    if len(fields) > 3:
        raise _WrongRow(
            "more than temperature, humidity and rain. If decimals have commas, put semicolons "
            "between the figures."
        )
    figures = [_figure(field) for field in fields] + [(None, "")] * (3 - len(fields))
    (air, air_unit), (humidity, humidity_unit), (rain, rain_unit) = figures
    if air is None:
        raise _WrongRow(f"no temperature. Type it like {EXAMPLE}.")
    misplaced = (air_unit not in {"", "c", "f"}, humidity_unit not in {"", "%"},
                 rain_unit not in {"", "mm", "in"})  # fmt: skip
    if any(misplaced):
        raise _WrongRow("the order is temperature, humidity, rain. Leave a dash for one unknown.")
    if air_unit == "f" or (fahrenheit and air_unit != "c"):
        air = (air - 32) / 1.8
    if rain is not None and (rain_unit == "in" or (fahrenheit and rain_unit != "mm")):
        rain *= MM_PER_INCH
    _plausible(air, humidity, rain)
    return ForecastHour(at, air, humidity, rain)


def _fields(rest: str) -> list[str]:
    """The figures apart. A comma parts them where no other sign does; it is a decimal comma where
    tabs, semicolons or spaces stand between the figures."""
    after_comma = rest.startswith(",")
    rest = rest.strip().strip(",;").strip()
    if not rest:
        return []
    if ";" in rest or "\t" in rest:
        return [field.strip() for field in re.split(r"[;\t]", rest)]
    if re.search(r",\s|\s,|,,", rest) or (after_comma and "," in rest):
        return [field.strip() for field in rest.split(",")]
    spaced = re.findall(r"[+-]?\d[\d.,]*\s*(?:°?\s*[cf]\b|%|mm\b|in\b|\")?|-|\S+", rest)
    if len(spaced) == 1 and "," in spaced[0]:
        raise _WrongRow(
            f"{spaced[0]} can be one figure or two. Put a space or a semicolon between figures."
        )
    return [field.strip() for field in spaced]


def _figure(field: str) -> tuple[float | None, str]:
    if field in {"", "-", "--", "n/a"}:
        return None, ""
    found = FIGURE.fullmatch(field)
    if found is None:
        raise _WrongRow(f"“{field[:20]}” is not a figure. Type the row like {EXAMPLE}.")
    unit = (found["unit"] or "").replace("°", "").replace('"', "in").strip()
    return float(found["number"].replace(",", ".")), unit


def _plausible(air: float, humidity: float | None, rain: float | None) -> None:
    if not COLDEST_C <= air <= HOTTEST_C:
        raise _WrongRow(
            f"{air:.3g} °C of air is not believed: from −40 to 60 °C. Was another unit meant?"
        )
    if humidity is not None and not 0 < humidity <= 100:
        raise _WrongRow(f"{humidity:g} % of humidity is not possible: above 0 and up to 100.")
    if rain is not None and not 0 <= rain <= MOST_RAIN_MM:
        raise _WrongRow(f"{rain:.3g} mm of rain in an hour is not believed. Look at it again.")
    if rain and humidity is not None and humidity < 30:
        raise _WrongRow(
            f"rain at {humidity:g} % humidity is not believed. If decimals have commas, put "
            "semicolons between the figures."
        )


# Between rows


def _without_gaps(given: list[ForecastHour]) -> tuple[list[ForecastHour], list[str]]:
    hours, notes, filled = given[:1], [], 0
    for before, after in pairwise(given):
        gap = after.at.astimezone(UTC) - before.at.astimezone(UTC)
        if HOUR < gap <= FILLED_GAP:
            steps = -(-gap // HOUR)
            for step in range(1, steps):
                at = before.at.astimezone(UTC) + step * HOUR
                hours.append(_between(before, after, at))
                filled += 1
        elif gap > FILLED_GAP:
            notes.append(f"Nothing is known from {instant(before.at)} to {instant(after.at)}.")
        hours.append(after)
    if filled:
        what = "1 hour" if filled == 1 else f"{filled} hours"
        notes.insert(0, f"{what} between rows filled in evenly; the wetter row's rain is taken.")
    return hours, notes


def _between(before: ForecastHour, after: ForecastHour, at: datetime) -> ForecastHour:
    """The air on the straight line between two rows; rain as in the wetter of the two."""
    gap = after.at.astimezone(UTC) - before.at.astimezone(UTC)
    part = (at - before.at.astimezone(UTC)) / gap if gap else 0.0

    def even(one: float | None, other: float | None) -> float | None:
        return None if one is None or other is None else one + part * (other - one)

    wet = [rain for rain in (before.rain_mm, after.rain_mm) if rain is not None]
    return replace(
        before,
        at=at.astimezone(before.at.tzinfo),
        air_c=before.air_c + part * (after.air_c - before.air_c),
        humidity_pct=even(before.humidity_pct, after.humidity_pct),
        rain_mm=max(wet) if len(wet) == 2 else None,
    )
