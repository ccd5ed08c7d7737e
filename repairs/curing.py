"""When a layer has cured, and when the next may go on, by the sheet and one temperature or several.

Instants are aware datetimes; arithmetic is done in UTC, so that a night in which the clocks change
does not lengthen or shorten a cure. Results keep the time zone of the start."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

Number = float | Decimal
LONGEST = timedelta(days=366 * 10_000)

TEN_DEGREE_SOURCE = "ten-degree rule (a rule of thumb: 10 °C colder, twice as long)"


@dataclass(frozen=True)
class Segment:
    """Some hours at one temperature of the material, in °C."""

    hours: float
    temperature_c: Number


@dataclass(frozen=True)
class CureEstimate:
    """`ready_at` is None where the sheet is silent, or where it stands still. `factor` is the
    speed against the sheet's own, at most 1; None where no temperature is known."""

    ready_at: datetime | None
    factor: float | None
    basis: str

    def ready(self, at: datetime) -> bool:
        return self.ready_at is not None and at >= self.ready_at


@dataclass(frozen=True)
class RecoatWindow:
    """When the next layer may go on without washing and abrading; None for an end that the
    sheet does not give, or that does not come while it is too cold."""

    opens_at: datetime | None
    closes_at: datetime | None
    basis: str


def rate(temperature_c: Number, reference_c: Number, minimum_c: Number | None = None) -> float:
    """Speed of cure against that at the reference, 2^((T − T_ref)/10); 0 below the minimum.

    Temperatures of the material, −40 to 100 °C, else ValueError. A rule of thumb (maturity
    guidance text, secondary): within 20 % of activation energies of 50 to 60 kJ/mol from 10 to
    30 °C, too fast in the cold. Cure stalls near 0 °C (Moussa, Vassilopoulos & Keller 2012)."""
    temperature, reference = float(temperature_c), float(reference_c)
    if not (-40 <= temperature <= 100 and -40 <= reference <= 100):
        raise ValueError("temperatures from -40 to 100 °C")
    if _too_cold(temperature, minimum_c):
        return 0.0
    return float(2 ** ((temperature - reference) / 10))


def equivalent_hours(
    segments: Sequence[Segment], reference_c: Number, minimum_c: Number | None = None
) -> float:
    """Hours at the reference temperature that a history is worth: the sum of hours × rate.

    Not capped: for looking back over logged temperatures. Same source and errors as `rate`."""
    if any(segment.hours < 0 for segment in segments):
        raise ValueError("hours are not below zero")
    return sum(
        segment.hours * rate(segment.temperature_c, reference_c, minimum_c) for segment in segments
    )


def cure_ready_at(
    start: datetime,
    cure_time: timedelta | None,
    reference_c: Number | None,
    temperature_c: Number | None,
    minimum_c: Number | None = None,
) -> CureEstimate:
    """When a cure begun at `start` is reached at one temperature; never before the sheet's time.

    Warmth does not shorten it: the cautious way, since a warm hour is seldom a warm night. With
    no temperature the sheet's time alone is taken. `start` aware, `cure_time` not negative, else
    ValueError."""
    _checked(start, cure_time)
    if cure_time is None:
        return CureEstimate(None, None, "The sheet gives no cure time.")
    if temperature_c is not None and _too_cold(temperature_c, minimum_c):
        return CureEstimate(
            None,
            0.0,
            f"Stands still at {_degrees(temperature_c)}, below the sheet's lowest "
            f"{_degrees(minimum_c or 0)}.",
        )
    if temperature_c is None or reference_c is None:
        return CureEstimate(
            _later(start, cure_time),
            None,
            f"The sheet's {_hours(cure_time)} alone: no temperature to reckon with is recorded.",
        )
    speed = min(rate(temperature_c, reference_c), 1.0)
    taken = min(min(cure_time, LONGEST) / speed, LONGEST)
    if speed < 1:
        return CureEstimate(
            _later(start, taken),
            speed,
            f"{_hours(cure_time)} at {_degrees(reference_c)} by the sheet, {_hours(taken)} at "
            f"{_degrees(temperature_c)} by the {TEN_DEGREE_SOURCE}.",
        )
    warm = float(temperature_c) > float(reference_c)
    warmer = f"; not shortened for {_degrees(temperature_c)}" if warm else ""
    return CureEstimate(
        _later(start, taken),
        speed,
        f"The sheet's {_hours(cure_time)} at {_degrees(reference_c)}{warmer}.",
    )


def ready_after_segments(
    start: datetime,
    cure_time: timedelta,
    reference_c: Number,
    segments: Sequence[Segment],
    minimum_c: Number | None = None,
) -> CureEstimate:
    """As `cure_ready_at`, over temperatures one after the other; the last one is held on.

    Each hour counts for at most one hour of the sheet's. Raises ValueError for no segments."""
    _checked(start, cure_time)
    if not segments or any(segment.hours < 0 for segment in segments):
        raise ValueError("at least one segment, of hours not below zero")
    wanted, passed, speed = cure_time / timedelta(hours=1), 0.0, 0.0
    for index, segment in enumerate(segments):
        speed = min(rate(segment.temperature_c, reference_c, minimum_c), 1.0)
        last = index == len(segments) - 1
        gained = segment.hours * speed
        if speed > 0 and (last or gained >= wanted):
            passed += wanted / speed
            ready_at = _later(start, max(timedelta(hours=passed), cure_time))
            basis = f"By logged temperatures and the {TEN_DEGREE_SOURCE}."
            return CureEstimate(ready_at, speed, basis)
        wanted -= gained
        passed += segment.hours
    return CureEstimate(None, speed, "Stands still: the last temperature is below the lowest.")


def recoat_window(
    applied_at: datetime,
    recoat_from: timedelta | None,
    recoat_to: timedelta | None,
    *,
    reference_c: Number | None = None,
    temperature_c: Number | None = None,
    minimum_c: Number | None = None,
) -> RecoatWindow:
    """The sheet's recoat window as instants: it opens later in the cold, and closes no later.

    Cautious both ways; `applied_at` aware, times not negative, else ValueError."""
    _checked(applied_at, recoat_from)
    _checked(applied_at, recoat_to)
    opening = cure_ready_at(applied_at, recoat_from, reference_c, temperature_c, minimum_c)
    closes_at = None if recoat_to is None else _later(applied_at, recoat_to)
    return RecoatWindow(opening.ready_at, closes_at, opening.basis if recoat_from else "")


def _too_cold(temperature_c: Number, minimum_c: Number | None) -> bool:
    return minimum_c is not None and float(temperature_c) < float(minimum_c)


def _checked(start: datetime, span: timedelta | None) -> None:
    if start.tzinfo is None:
        raise ValueError("an instant needs its time zone")
    if span is not None and span < timedelta(0):
        raise ValueError("a time is not negative")


def _later(start: datetime, span: timedelta) -> datetime | None:
    """None past the end of the calendar."""
    try:
        return (start.astimezone(UTC) + span).astimezone(start.tzinfo)
    except OverflowError:
        return None


def _hours(span: timedelta) -> str:
    hours = round(span / timedelta(hours=1), 1)
    return f"{hours:g} h"


def _degrees(celsius: Number) -> str:
    return f"{float(celsius):.3g} °C".replace("-", "−")
