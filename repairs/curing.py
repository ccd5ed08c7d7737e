"""When a layer has cured, and when the next may go on, by the sheet and one temperature; over
changing temperatures see `cure_series`.

Instants are aware datetimes; arithmetic is done in UTC, so that a night in which the clocks change
does not lengthen or shorten a cure. Results keep the time zone of the start."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from materials.rates import arrhenius, energy_of, ten_degree

Number = float | Decimal
LONGEST = timedelta(days=366 * 10_000)
STALLS_BELOW_C = 0.0
STALLS_SOURCE = (
    "structural epoxy hardly cures at 0 °C: Moussa, Vassilopoulos & Keller, Int. J. Adhesion & "
    "Adhesives 35 (2012) 9–16"
)


@dataclass(frozen=True)
class CureEstimate:
    """`ready_at` is None where the sheet is silent, or where it stands still. `factor` is the
    speed against the sheet's own, at most 1; None where no temperature is known.
    `by_ten_degrees` is the answer of the plain rule beside it."""

    ready_at: datetime | None
    factor: float | None
    basis: str
    by_ten_degrees: datetime | None = None

    def ready(self, at: datetime) -> bool:
        return self.ready_at is not None and at >= self.ready_at


@dataclass(frozen=True)
class RecoatWindow:
    """When the next layer may go on without washing and abrading; None for an end that the
    sheet does not give, or that does not come while it is too cold."""

    opens_at: datetime | None
    closes_at: datetime | None
    basis: str


def stands_still_below(minimum_c: Number | None) -> float:
    """The temperature in °C below which no hour counts: the sheet's lowest; where it gives none,
    0 °C (STALLS_SOURCE)."""
    return STALLS_BELOW_C if minimum_c is None else float(minimum_c)


def cure_ready_at(
    start: datetime,
    cure_time: timedelta | None,
    reference_c: Number | None,
    temperature_c: Number | None,
    minimum_c: Number | None = None,
    activation_kj_mol: Number | None = None,
) -> CureEstimate:
    """When a cure begun at `start` is reached at one temperature; never before the sheet's time.

    By Arrhenius with the sheet's activation energy or a typical one. Warmth does not shorten it:
    the cautious way, since a warm hour is seldom a warm night. With no temperature the sheet's
    time alone is taken. `start` aware, `cure_time` not negative, temperatures −40 to 100 °C,
    energy 10 to 200 kJ/mol, else ValueError. Source: materials.rates.ARRHENIUS."""
    _checked(start, cure_time)
    if cure_time is None:
        return CureEstimate(None, None, "The sheet gives no cure time.")
    if temperature_c is not None and float(temperature_c) < stands_still_below(minimum_c):
        return CureEstimate(None, 0.0, _still(temperature_c, minimum_c))
    alone = later(start, cure_time)
    if temperature_c is None or reference_c is None:
        return CureEstimate(
            alone,
            None,
            f"The sheet's {_hours(cure_time)} alone: no temperature to reckon with is recorded.",
        )
    energy = energy_of(activation_kj_mol)
    speed = arrhenius(temperature_c, reference_c, energy.middle)
    if speed >= 1:
        warm = float(temperature_c) > float(reference_c)
        warmer = f"; not shortened for {_degrees(temperature_c)}" if warm else ""
        basis = f"The sheet's {_hours(cure_time)} at {_degrees(reference_c)}{warmer}."
        return CureEstimate(alone, 1.0, basis, alone)
    taken = _slowed(cure_time, speed)
    plain = _slowed(cure_time, ten_degree(temperature_c, reference_c))
    whose = "the sheet's" if activation_kj_mol is not None else "a typical"
    return CureEstimate(
        later(start, taken),
        speed,
        f"{_hours(cure_time)} at {_degrees(reference_c)} by the sheet, {_hours(taken)} at "
        f"{_degrees(temperature_c)} by Arrhenius with {whose} {energy.middle:g} kJ/mol; "
        f"{_hours(plain)} by the ten-degree rule.",
        later(start, plain),
    )


def recoat_window(
    applied_at: datetime,
    recoat_from: timedelta | None,
    recoat_to: timedelta | None,
    *,
    reference_c: Number | None = None,
    temperature_c: Number | None = None,
    minimum_c: Number | None = None,
    activation_kj_mol: Number | None = None,
) -> RecoatWindow:
    """The sheet's recoat window as instants: it opens later in the cold, and closes no later.

    One temperature is not that of the whole time, so warmth shortens neither end; in air known hour
    by hour `cure_series.window_over` closes it sooner. `applied_at` aware, times not negative, else
    ValueError."""
    _checked(applied_at, recoat_from)
    _checked(applied_at, recoat_to)
    opening = cure_ready_at(
        applied_at, recoat_from, reference_c, temperature_c, minimum_c, activation_kj_mol
    )
    closes_at = None if recoat_to is None else later(applied_at, recoat_to)
    return RecoatWindow(opening.ready_at, closes_at, opening.basis if recoat_from else "")


def later(start: datetime, span: timedelta) -> datetime | None:
    """The instant after a span of elapsed time, in the zone of the start; None past the end of
    the calendar."""
    try:
        return (start.astimezone(UTC) + span).astimezone(start.tzinfo)
    except OverflowError:
        return None


def _slowed(cure_time: timedelta, speed: float) -> timedelta:
    longest = LONGEST / timedelta(hours=1)
    hours = min(cure_time, LONGEST) / timedelta(hours=1) / speed
    return timedelta(hours=min(hours, longest))


def _still(temperature_c: Number, minimum_c: Number | None) -> str:
    if minimum_c is None:
        return f"Stands still at {_degrees(temperature_c)}: {STALLS_SOURCE}."
    return (
        f"Stands still at {_degrees(temperature_c)}, below the sheet's lowest "
        f"{_degrees(minimum_c)}."
    )


def _checked(start: datetime, span: timedelta | None) -> None:
    if start.tzinfo is None:
        raise ValueError("an instant needs its time zone")
    if span is not None and span < timedelta(0):
        raise ValueError("a time is not negative")


def _hours(span: timedelta) -> str:
    hours = round(span / timedelta(hours=1), 1)
    return f"{hours:g} h"


def _degrees(celsius: Number) -> str:
    return f"{float(celsius):.3g} °C".replace("-", "−")
