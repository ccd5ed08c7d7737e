"""The air that a plan is reckoned with: hour by hour from a forecast, else from day and night."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal
from functools import partial

from properties.models import Property
from repairs.cure_series import AirSeries, daily_cycle
from repairs.forecast import ForecastHour, as_air, from_rows
from repairs.models import Plan
from repairs.plans.reached import reached

HOUR = timedelta(hours=1)
CYCLE_HOURS = 48
TENTH = Decimal("0.1")
NO_WEATHER = "Enter the air by day and by night, or a forecast: cures are told by the sheet alone."


@dataclass(frozen=True)
class PlannedAir:
    """`series` is None where no temperature is known, and cures then go by the sheet alone."""

    hours: tuple[ForecastHour, ...] = ()
    series: AirSeries | None = None
    day_c: Decimal | None = None
    night_c: Decimal | None = None
    humidity_pct: Decimal | None = None
    words: str = ""
    missing: str = ""

    def celsius(self, at: datetime) -> Decimal | None:
        """Of the forecast's hour; without a forecast the warmest of the day, at which work is
        shortest."""
        hour = self._hour(at)
        return self.day_c if hour is None else _decimal(hour.air_c)

    def humidity(self, at: datetime) -> Decimal | None:
        """Of the forecast's hour; else that of the warmest hour."""
        hour = self._hour(at)
        if hour is None:
            return self.humidity_pct
        return None if hour.humidity_pct is None else _decimal(hour.humidity_pct)

    def night_low_c(self, at: datetime) -> Decimal | None:
        """The coldest of the day that follows, by the forecast as far as it reaches."""
        ahead = [hour.air_c for hour in self.hours if at <= hour.at < at + 24 * HOUR]
        return _decimal(min(ahead)) if ahead else self.night_c

    def _hour(self, at: datetime) -> ForecastHour | None:
        return next((hour for hour in self.hours if hour.at <= at < hour.at + HOUR), None)


def air_of(plan: Plan, place: Property) -> PlannedAir:
    hours, why = reached(partial(from_rows, plan.forecast, place.zone))
    known = {
        "day_c": plan.air_day_c,
        "night_c": plan.air_night_c,
        "humidity_pct": plan.humidity_pct,
    }
    if hours:
        series, why = reached(partial(as_air, hours))
        words = "hour by hour from the forecast"
        return PlannedAir(hours, series, words=words, missing=why, **known)
    if plan.air_day_c is None and plan.air_night_c is None:
        return PlannedAir(missing=why or NO_WEATHER, **known)
    series, why = reached(partial(_cycle, plan, place))
    return PlannedAir((), series, words=_cycle_words(plan), missing=why, **known)


def _cycle(plan: Plan, place: Property) -> AirSeries:
    """A day and a night that repeat; one figure alone stands for both."""
    figures = [each for each in (plan.air_day_c, plan.air_night_c) if each is not None]
    midnight = datetime.combine(place.day_of(plan.starts_at), time(), tzinfo=place.zone)
    return daily_cycle(midnight, float(figures[0]), float(figures[-1]), CYCLE_HOURS)


def _cycle_words(plan: Plan) -> str:
    if plan.air_night_c is None:
        return "as warm by night as by day: the night is not entered"
    if plan.air_day_c is None:
        return "as cold by day as by night: the day is not entered"
    return "a steady swing between day and night, the same each day"


def _decimal(celsius: float) -> Decimal:
    return Decimal(str(celsius)).quantize(TENTH)
