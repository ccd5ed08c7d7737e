"""The hours of a forecast in which one may seal, fill or paint, and the first of them.

An hour is allowed when the rules that judge a logged stage have nothing to say of it, when it is
dry before and after, and when no dew or cold night comes too soon. The surface is taken to be as
warm as the air: on a clear night a face is colder than that, and in the sun it is warmer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from config.figures import Formula
from properties.climate import DEW_MARGIN_K, DEW_MARGIN_SOURCE
from repairs.forecast import ForecastHour
from repairs.remarks.facts import SheetFacts
from repairs.remarks.limits import DEFAULT_LIMITS, PRACTICE
from repairs.remarks.weather_rules import (
    LAID_ON,
    lowest_c,
    near_dew_point,
    night_least_c,
    too_cold,
    too_cold_a_night,
    too_hot,
    too_humid,
)

HOUR = timedelta(hours=1)
NIGHT_H = 24
WORKS_FROM, WORKS_TO = 7, 19

WORK_HOURS = Formula(
    words="An hour is good for the work when it is neither too cold, too hot nor too humid, the "
    "surface stands clear of the dew then and for two hours after, no rain falls from some hours "
    "before until the work is dry, and no night within a day is too cold for a paint.",
    symbols="Tmin ≤ T ≤ Tmax; T − Td ≥ 3 K; RH ≤ 85 % (paint); T ≥ Tmin for 24 h (paint)",
    source=f"data sheet; {DEW_MARGIN_SOURCE}; 85 %: ISO 8502-4 practice; 24 h: Wood Handbook "
    f"FPL-GTR-190 (2010), chapter 16; hours of the day, rain and dew ahead: {PRACTICE}",
    holds="a surface as warm as the air; a face under a clear night sky is colder",
)


@dataclass(frozen=True)
class Span:
    begins: datetime
    ends: datetime


@dataclass(frozen=True)
class WorkLimits:
    """What the weather must keep for one stage; None where there is no such limit. The figures of
    temperature are shown; it is the rules that hold `sheets` to them. `works_from` and
    `works_to` are hours of the clock that the forecast carries."""

    kind: str
    sheets: tuple[SheetFacts, ...] = ()
    min_c: Decimal | None = None
    max_c: Decimal | None = None
    humidity_max_pct: Decimal | None = None
    dew_margin_k: float | None = None
    dew_free_h: float = 0
    dry_before_h: float = 0
    dry_after_h: float = 0
    night_low_c: Decimal | None = None
    works_from: int = WORKS_FROM
    works_to: int = WORKS_TO
    surface_below_air_k: float = 0


@dataclass(frozen=True)
class Allowed:
    """The spans allowed, when the first begins, and for each reason the hours that it refused (an
    hour can have several). `notes` say what could not be judged."""

    spans: tuple[Span, ...]
    first: datetime | None
    refused: Mapping[str, int]
    notes: tuple[str, ...] = ()


def limits_for(kind: str, *sheets: SheetFacts) -> WorkLimits:
    """The limits of a stage: the strictest of the sheets, else the usual ones. A stage in which
    nothing is laid on has none but the hours of work."""
    if kind not in LAID_ON:
        return WorkLimits(kind)
    coats = any(sheet.is_coating for sheet in sheets)
    lows = [low for sheet in sheets if (low := lowest_c(sheet)[0]) is not None]
    highs = [sheet.apply_max_c for sheet in sheets if sheet.apply_max_c is not None]
    nights = [least for sheet in sheets if (least := night_least_c(sheet)[0]) is not None]
    return WorkLimits(
        kind=kind,
        sheets=tuple(dict.fromkeys(sheets)),
        min_c=max(lows, default=None),
        max_c=min(highs, default=None),
        humidity_max_pct=DEFAULT_LIMITS["coating_humidity_max_pct"].value if coats else None,
        dew_margin_k=DEW_MARGIN_K,
        dew_free_h=float(DEFAULT_LIMITS["dew_free_after_h"].value),
        dry_before_h=float(DEFAULT_LIMITS["dry_before_h"].value),
        dry_after_h=max((_drying_h(sheet) for sheet in sheets), default=_usual_drying_h()),
        night_low_c=max(nights, default=None),
    )


def allowed(hours: Sequence[ForecastHour], limits: WorkLimits) -> Allowed:
    """The hours of a forecast, in order and by its clock, in which the limits hold.

    A row holds for an hour, or until the next row if that is sooner; what lies past the last row
    is not judged, and said so."""
    spans: list[Span] = []
    refused: Counter[str] = Counter()
    for index, hour in enumerate(hours):
        reasons = set(_reasons(hours, index, limits))
        refused.update(reasons)
        if reasons:
            continue
        ends = _ends(hours, index)
        if spans and _utc(spans[-1].ends) == _utc(hour.at):
            spans[-1] = Span(spans[-1].begins, ends)
        else:
            spans.append(Span(hour.at, ends))
    first = spans[0].begins if spans else None
    return Allowed(tuple(spans), first, dict(refused.most_common()), tuple(_notes(hours, limits)))


def _reasons(hours: Sequence[ForecastHour], index: int, limits: WorkLimits) -> Iterator[str]:
    hour, ends = hours[index], _ends(hours, index)
    if not limits.works_from <= hour.at.hour < limits.works_to:
        yield f"outside of {limits.works_from}:00 to {limits.works_to}:00"
    if limits.kind not in LAID_ON:
        return
    air, humidity = _decimal(hour.air_c), _decimal(hour.humidity_pct)
    surface = _surface(hour, limits)
    if too_cold(limits.sheets, air, surface):
        yield "too cold"
    if too_hot(limits.sheets, air, surface):
        yield "too hot"
    if too_humid(limits.sheets, humidity):
        yield "too humid"
    if near_dew_point(air, humidity, surface):
        yield "too near the dew point"
    elif any(_dewy(each, limits) for each in _within(hours, index + 1, limits.dew_free_h, ends)):
        yield "dew before it has set"
    if hour.rain_mm:
        yield "rain"
    elif any(each.rain_mm for each in _before(hours, index, limits.dry_before_h)):
        yield "wet from rain before"
    if any(each.rain_mm for each in _within(hours, index + 1, limits.dry_after_h, ends)):
        yield "rain before it is dry"
    coldest = min(each.air_c for each in _within(hours, index, NIGHT_H))
    if too_cold_a_night(limits.sheets, _decimal(coldest)):
        yield "too cold a night after it"


def _dewy(hour: ForecastHour, limits: WorkLimits) -> bool:
    air, humidity = _decimal(hour.air_c), _decimal(hour.humidity_pct)
    return bool(near_dew_point(air, humidity, _surface(hour, limits)))


def _surface(hour: ForecastHour, limits: WorkLimits) -> Decimal | None:
    return _decimal(hour.air_c - limits.surface_below_air_k)


def _within(
    hours: Sequence[ForecastHour], index: int, within_h: float, since: datetime | None = None
) -> Iterator[ForecastHour]:
    """The rows from an index on that begin less than some hours after it, or after an instant."""
    start = _utc(since or hours[index].at)
    for each in hours[index:]:
        if _utc(each.at) - start >= within_h * HOUR:
            return
        yield each


def _before(hours: Sequence[ForecastHour], index: int, within_h: float) -> Iterator[ForecastHour]:
    start = _utc(hours[index].at)
    for each in reversed(hours[:index]):
        if start - _utc(each.at) > within_h * HOUR:
            return
        yield each


def _ends(hours: Sequence[ForecastHour], index: int) -> datetime:
    hour = hours[index]
    ends = _utc(hour.at) + HOUR
    if index + 1 < len(hours):
        ends = min(ends, _utc(hours[index + 1].at))
    return ends.astimezone(hour.at.tzinfo)


def _notes(hours: Sequence[ForecastHour], limits: WorkLimits) -> Iterator[str]:
    if not hours or limits.kind not in LAID_ON:
        return
    if any(hour.humidity_pct is None for hour in hours):
        yield "Where the humidity is not given, dew is not judged."
    if any(hour.rain_mm is None for hour in hours):
        yield "Where rain is not given, it is not judged."
    yield "The surface is taken as warm as the air; under a clear night sky it is colder."
    yield "What comes after the last hour of the forecast is not judged."


def _drying_h(sheet: SheetFacts) -> float:
    """Until rain does no harm: when the next coat may go on, else the cure, at most a day."""
    if sheet.recoat_from is not None:
        return sheet.recoat_from / HOUR
    if sheet.cure_time is not None:
        return min(sheet.cure_time / HOUR, 24.0)
    return _usual_drying_h()


def _usual_drying_h() -> float:
    return float(DEFAULT_LIMITS["dry_after_h"].value)


def _decimal(figure: float | None) -> Decimal | None:
    return None if figure is None else Decimal(str(round(figure, 2)))


def _utc(at: datetime) -> datetime:
    return at.astimezone(UTC)
