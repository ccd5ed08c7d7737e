"""A forecast typed or pasted as rows: time, air temperature, and if known humidity and rain.

`14:00 18 65`, or `2026-05-04 14:00; 18,5 °C; 65 %; 0,2 mm`. Times are those of the property's
clock, or carry their own offset; instants come out aware, in that zone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta, tzinfo
from itertools import pairwise
from zoneinfo import ZoneInfo

from repairs.cure_series import AirSeries
from repairs.forecast_row import MOST_DAYS, ForecastHour, WrongRow, is_header, read_row
from repairs.remarks.words import instant

__all__ = ["ForecastHour", "ReadForecast", "as_air", "from_rows", "read_forecast", "to_rows"]

HOUR = timedelta(hours=1)
MOST_ROWS = 400
FILLED_GAP = timedelta(hours=6)
LONGEST = timedelta(days=MOST_DAYS + 2)


@dataclass(frozen=True)
class ReadForecast:
    """The hours in order, a sentence for each row that could not be taken, and what else to know
    of the rows, such as gaps that were filled."""

    hours: tuple[ForecastHour, ...]
    wrong: tuple[str, ...]
    notes: tuple[str, ...] = ()


def read_forecast(
    text: str, zone: ZoneInfo, first_day: date, *, fahrenheit: bool = False
) -> ReadForecast:
    """Read rows, one hour each; a row without its day follows the row above, past midnight too.

    At most 400 rows within 14 days from `first_day`. A bare temperature is °F if `fahrenheit`,
    and bare rain then inches. Holes of up to six hours are filled evenly, and said so."""
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    wrong: list[str] = []
    if lines and is_header(lines[0][1]):
        lines = lines[1:]
    if len(lines) > MOST_ROWS:
        wrong.append(f"Only the first {MOST_ROWS} rows are read; {len(lines)} were given.")
    hours: dict[datetime, ForecastHour] = {}
    before: datetime | None = None
    for number, line in lines[:MOST_ROWS]:
        try:
            hour = read_row(line, zone, first_day, before, fahrenheit=fahrenheit)
        except WrongRow as error:
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
    try:
        hours = tuple(_kept(row, zone) for row in rows)
    except (TypeError, ValueError, OverflowError) as error:
        raise ValueError("a forecast is kept as rows of four") from error
    if hours and not timedelta(0) <= hours[-1].at - hours[0].at <= LONGEST:
        raise ValueError(f"a forecast is kept in order, at most {LONGEST.days} days of it")
    return hours


def _kept(row: list[str | float | None], zone: tzinfo) -> ForecastHour:
    text, air_c, humidity_pct, rain_mm = row
    at = datetime.fromisoformat(str(text)).astimezone(zone)
    figures = float(str(air_c)), _figure(humidity_pct), _figure(rain_mm)
    if not 1900 < at.year < 2200 or not all(abs(each) < 1000 for each in figures if each):
        raise ValueError("not an hour of weather")
    return ForecastHour(at, *figures)


def _figure(value: str | float | None) -> float | None:
    return None if value is None else float(value)


def as_air(hours: Iterable[ForecastHour]) -> AirSeries | None:
    """The air hour by hour from the first row on, evenly between rows, and in a longer hole as cold
    as the colder of the two; None without a row."""
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
        before, after = given[index], given[min(index + 1, len(given) - 1)]
        if _utc(after) - _utc(before) > FILLED_GAP and at > _utc(before):
            figures.append(min(before.air_c, after.air_c))
        else:
            figures.append(_between(before, after, at).air_c)
    return AirSeries(begins, tuple(figures))


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
            notes.append(
                f"Nothing is known from {instant(before.at)} to {instant(after.at)}; a cure is "
                "reckoned with the colder of those two rows."
            )
        hours.append(after)
    if filled:
        what = "1 hour" if filled == 1 else f"{filled} hours"
        notes.insert(0, f"{what} between rows filled in evenly; the wetter row's rain is taken.")
    return hours, notes


def _utc(hour: ForecastHour) -> datetime:
    return hour.at.astimezone(UTC)


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
