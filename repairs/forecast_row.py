"""One row of a forecast: a time, the air, and if known humidity and rain.

A day before the time is `2026-05-04` or `4 May`; without one, the row follows the row above. A
comma parts figures or stands for a decimal point, whichever the row makes clear."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from repairs.remarks.words import day

MOST_DAYS, LONGEST_ROW = 14, 200
COLDEST_C, HOTTEST_C = -40.0, 60.0
MOST_RAIN_MM = 200.0
RAINLESS_PCT = 30.0
# Drier than any air outdoors: a share, such as 0.65, given for percent.
DRIEST_PCT = 1.0
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


class WrongRow(ValueError):
    """A row that cannot be taken; the text says what to do, without the row's number."""


def is_header(line: str) -> bool:
    """Words and no figure of its own, such as `time;temperature_2m;humidity`."""
    return bool(re.search(r"[^\W\d_]{3}", line)) and not re.search(r"(?<!\w)\d", line)


def read_row(
    line: str, zone: ZoneInfo, first_day: date, before: datetime | None, *, fahrenheit: bool
) -> ForecastHour:
    """One row by the clock of `zone`; without a day it is that of the row `before`, or the next
    if the clock is past it. WrongRow for what cannot be taken."""
    if len(line) > LONGEST_ROW:
        raise WrongRow(f"too long for one hour. Type it like {EXAMPLE}.")
    plain = line.translate(SAME_SIGN).strip().lower()
    found = _clock(plain)
    if found is None:
        raise WrongRow(f"no time could be read. Begin with it, like {EXAMPLE}.")
    on, clock, rest = found
    at = _instant(on, clock, zone, first_day, before)
    if not -1 <= (at.date() - first_day).days < MOST_DAYS:
        raise _out_of_days(at.date(), first_day)
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
        try:
            return datetime.fromisoformat(f"{at.replace(tzinfo=None)}{offset}").astimezone(zone)
        except ValueError as error:
            raise WrongRow(f"{clock['offset']} is no offset of a clock, such as +01:00.") from error
    if at.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != at.replace(tzinfo=None):
        raise WrongRow(f"{at:%H:%M} does not exist on {day(day_of)}: the clocks go forward.")
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
        raise WrongRow(f"{clock[0].strip()} is not a time. Type it like {EXAMPLE}.")
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
            found = date(int(on["year2"] or first_day.year), month, int(on["day2"]))
            if on["year2"] is None and (first_day - found).days > 180:
                found = found.replace(year=found.year + 1)
        else:
            found = date(int(on["year"]), int(on["month"]), int(on["day"]))
    except (KeyError, ValueError) as error:
        raise WrongRow(
            f"{on[0].strip(' ,;t')} is not a day. Type it like 2026-05-04 or 4 May 2026."
        ) from error
    if abs((found - first_day).days) > MOST_DAYS + 1:
        raise _out_of_days(found, first_day)
    return found


def _out_of_days(found: date, first_day: date) -> WrongRow:
    return WrongRow(
        f"{day(found)} is not within {MOST_DAYS} days from {day(first_day)}. Leave it out."
    )


def _figures(rest: str, at: datetime, *, fahrenheit: bool) -> ForecastHour:
    fields = _fields(rest)
    if not fields:
        raise WrongRow(f"no temperature. Type it like {EXAMPLE}.")
    if len(fields) > 3:
        raise WrongRow(
            "more than temperature, humidity and rain. If decimals have commas, put semicolons "
            "between the figures."
        )
    figures = [_figure(field) for field in fields] + [(None, "")] * (3 - len(fields))
    (air, air_unit), (humidity, humidity_unit), (rain, rain_unit) = figures
    if air is None:
        raise WrongRow(f"no temperature. Type it like {EXAMPLE}.")
    misplaced = (air_unit not in {"", "c", "f"}, humidity_unit not in {"", "%"},
                 rain_unit not in {"", "mm", "in"})  # fmt: skip
    if any(misplaced):
        raise WrongRow("the order is temperature, humidity, rain. Leave a dash for one unknown.")
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
        raise WrongRow(
            f"{spaced[0]} can be one figure or two. Put a space or a semicolon between figures."
        )
    return [field.strip() for field in spaced]


def _figure(field: str) -> tuple[float | None, str]:
    if field in {"", "-", "--", "n/a"}:
        return None, ""
    found = FIGURE.fullmatch(field)
    if found is None:
        raise WrongRow(f"“{field[:20]}” is not a figure. Type the row like {EXAMPLE}.")
    unit = (found["unit"] or "").replace("°", "").replace('"', "in").strip()
    return float(found["number"].replace(",", ".")), unit


def _plausible(air: float, humidity: float | None, rain: float | None) -> None:
    if not COLDEST_C <= air <= HOTTEST_C:
        raise WrongRow(
            f"{_shown(air)} °C of air is not believed: from −40 to 60 °C. Was another unit meant?"
        )
    if humidity is not None and not 0 < humidity <= 100:
        raise WrongRow(f"{_shown(humidity)} % of humidity is not possible: above 0, up to 100.")
    if humidity is not None and humidity <= DRIEST_PCT:
        raise WrongRow(
            f"{_shown(humidity)} % of humidity is not believed: give it in percent, such as 65."
        )
    if rain is not None and not 0 <= rain <= MOST_RAIN_MM:
        raise WrongRow(f"{_shown(rain)} mm of rain in an hour is not believed. Look at it again.")
    if rain and humidity is not None and humidity < RAINLESS_PCT:
        raise WrongRow(
            f"rain at {_shown(humidity)} % humidity is not believed. If decimals have commas, put "
            "semicolons between the figures."
        )


def _shown(figure: float) -> str:
    return f"{figure:.3g}".replace("-", "−")
