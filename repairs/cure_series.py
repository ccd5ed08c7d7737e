"""Cure over hours that are not equally warm, as equivalent age: hours at the sheet's temperature.

A cold night slows it, below the sheet's lowest temperature it stands still. Instants are aware
datetimes and arithmetic is done in UTC; results keep the time zone of the start."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from config.figures import Formula
from materials.rates import ActivationEnergy, arrhenius, energy_of, ten_degree
from repairs.curing import RecoatWindow, later, stands_still_below

if TYPE_CHECKING:
    from typing import Any

    from numpy import float64, signedinteger
    from numpy.typing import NDArray

    Array = NDArray[float64]

HOUR = timedelta(hours=1)
REPEATED_H = 24
HORIZON = timedelta(days=60)
WARMEST_HOUR = 15
# Air against material: what a thermometer in the shade says of a layer on the wall.
UNCERTAINTY_K = 2.0
UNCERTAINTY_SOURCE = "air against material: common practice, no source"
LOWEST_C, HIGHEST_C = -40.0, 100.0

EQUIVALENT_AGE = Formula(
    words="Each hour counts for as many hours at the sheet's temperature as its own temperature "
    "makes it worth; below the sheet's lowest temperature it counts for nothing.",
    symbols="te = Σ exp(−(E/R)·(1/Ta − 1/Tr))·Δt, temperatures in kelvin",
    source="equivalent age by Arrhenius, as in ASTM C1074 (read second-hand)",
    holds=f"−40 to 100 °C; the hours between two readings as warm as the first of them; "
    f"band from the activation energy and ±{UNCERTAINTY_K:g} °C ({UNCERTAINTY_SOURCE})",
)
READY = Formula(
    words="Ready when the hours that count have added up to the sheet's time; a warm hour counts "
    "for one hour at most, so never sooner than the sheet says.",
    symbols="Σ min(k(Ta), 1)·Δt = cure time of the sheet",
    source="equivalent age; the limit to one is a caution of these records",
    holds=f"up to {HORIZON.days} days beyond the sheet's time; beyond the hours known the last 24 "
    "repeat",
)
DAILY_CYCLE = Formula(
    words=f"The air swings evenly between the night's coldest and the day's warmest, which falls "
    f"at {WARMEST_HOUR}:00.",
    symbols="T = (Td + Tn)/2 + (Td − Tn)/2 · cos(2π(t − 15 h)/24 h)",
    source="an assumption for want of a forecast; common practice, no source",
)


@dataclass(frozen=True)
class AirSeries:
    """Hour after hour from `start` (aware), in °C: each figure holds for the hour it begins.

    From one to 10,000 figures, each from −40 to 100 °C, else ValueError."""

    start: datetime
    celsius: tuple[float, ...]

    def __post_init__(self) -> None:
        if self.start.tzinfo is None:
            raise ValueError("an instant needs its time zone")
        if not 1 <= len(self.celsius) <= 10_000:
            raise ValueError("temperatures of 1 to 10,000 hours")
        if not all(LOWEST_C <= each <= HIGHEST_C for each in self.celsius):
            raise ValueError("temperatures from -40 to 100 °C")

    @property
    def repeats(self) -> str:
        """What stands for the hours that are not known, in words."""
        if len(self.celsius) < REPEATED_H:
            return "the coldest of the hours known is held"
        return f"the last {REPEATED_H} h known are repeated"


@dataclass(frozen=True)
class CureBand:
    """When a cure is reached: `ready_at`, and the band from the activation energy and the
    temperature. None where it stands still, or takes 60 days longer than the sheet says.
    `by_ten_degrees` is the plain rule's answer. `stalled_h` are the hours too cold to count,
    `equivalent_h` what the hours are worth, warm ones in full, until ready or given up."""

    ready_at: datetime | None
    earliest: datetime | None
    latest: datetime | None
    by_ten_degrees: datetime | None
    stalled_h: float
    equivalent_h: float
    basis: str


def daily_cycle(start: datetime, day_c: float, night_c: float, hours: int) -> AirSeries:
    """Air between the day's warmest at 15:00 by the local clock and the night's coldest at 03:00.

    Each hour stands at its middle. Ranges as `AirSeries`; a night warmer than the day is a
    ValueError. An assumption, see DAILY_CYCLE."""
    if night_c > day_c:
        raise ValueError("the night is not warmer than the day")
    middle, half = (day_c + night_c) / 2, (day_c - night_c) / 2
    begun = start.astimezone(UTC)
    figures = []
    for index in range(hours):
        local = (begun + (index + 0.5) * HOUR).astimezone(start.tzinfo)
        clock = local.hour + local.minute / 60 - WARMEST_HOUR
        figures.append(middle + half * math.cos(2 * math.pi * clock / 24))
    return AirSeries(start, tuple(figures))


def equivalent_age_h(
    start: datetime,
    end: datetime,
    reference_c: float,
    air: AirSeries,
    *,
    minimum_c: float | None = None,
    activation_kj_mol: float | None = None,
    by_ten_degrees: bool = False,
) -> float:
    """Hours at `reference_c` that the time from `start` to `end` is worth; not capped, for looking
    back. Instants aware, end not before start, temperatures −40 to 100 °C, else ValueError; at
    most 10,000 hours. Source: EQUIVALENT_AGE, or the ten-degree rule in its place."""
    lasts = _elapsed_h(start, end)
    if not 0 <= lasts <= 10_000:
        raise ValueError("from 0 to 10,000 hours between start and end")
    hours = _Hours.of(start, lasts, air)
    energy = None if by_ten_degrees else energy_of(activation_kj_mol).middle
    return float((hours.width * _speed(hours.celsius, reference_c, minimum_c, energy)).sum())


def cure_over(
    start: datetime,
    cure_time: timedelta,
    reference_c: float,
    air: AirSeries,
    *,
    minimum_c: float | None = None,
    activation_kj_mol: float | None = None,
) -> CureBand:
    """When a cure begun at `start` is reached in that air, never before the sheet's own time.

    `start` aware, `cure_time` not negative, −40 to 100 °C, else ValueError. Beyond the series see
    `AirSeries.repeats`; 60 days after the sheet's time it is given up. Sources: EQUIVALENT_AGE,
    READY."""
    if start.tzinfo is None:
        raise ValueError("an instant needs its time zone")
    if cure_time < timedelta(0):
        raise ValueError("a time is not negative")
    energy, wanted = energy_of(activation_kj_mol), cure_time / HOUR
    horizon_h = HORIZON / HOUR + min(wanted, 10_000.0)
    hours = _Hours.of(start, horizon_h, air)

    def ready(kj_mol: float | None, warmer_k: float = 0.0) -> float | None:
        speeds = _speed(hours.celsius + warmer_k, reference_c, minimum_c, kj_mol)
        return hours.reached(wanted, speeds)

    taken = ready(energy.middle)
    watched = hours.until(horizon_h if taken is None else taken)
    exact = _speed(watched.celsius, reference_c, minimum_c, energy.middle)
    stalled_h = float(watched.width[exact == 0].sum())
    return CureBand(
        ready_at=_at(start, taken),
        earliest=_at(start, ready(energy.low, UNCERTAINTY_K)),
        latest=_at(start, ready(energy.high, -UNCERTAINTY_K)),
        by_ten_degrees=_at(start, ready(None)),
        stalled_h=stalled_h,
        equivalent_h=float((watched.width * exact).sum()),
        basis=_basis(start, wanted, reference_c, air, energy, taken, stalled_h, minimum_c),
    )


def window_over(
    applied_at: datetime,
    recoat_from: timedelta | None,
    recoat_to: timedelta | None,
    reference_c: float,
    air: AirSeries,
    *,
    minimum_c: float | None = None,
    activation_kj_mol: float | None = None,
) -> RecoatWindow:
    """The sheet's recoat window on the same clock: it opens later in the cold, and closes sooner in
    warmth, though not before it opens, and no later than the sheet says. None for an end that the
    sheet does not give. Errors as `cure_over`."""
    if recoat_to is not None and recoat_to < timedelta(0):
        raise ValueError("a time is not negative")
    opening = None
    if recoat_from is not None:
        opening = cure_over(
            applied_at,
            recoat_from,
            reference_c,
            air,
            minimum_c=minimum_c,
            activation_kj_mol=activation_kj_mol,
        )
    closes_at = None
    if recoat_to is not None:
        shortest = min(recoat_from or timedelta(0), recoat_to)
        closes_at = _closes_at(
            applied_at, shortest, recoat_to, reference_c, air, energy_of(activation_kj_mol).middle
        )
    if opening is None:
        return RecoatWindow(None, closes_at, "")
    return RecoatWindow(opening.ready_at, closes_at, opening.basis)


def _closes_at(
    applied_at: datetime,
    shortest: timedelta,
    longest: timedelta,
    reference_c: float,
    air: AirSeries,
    activation_kj_mol: float,
) -> datetime | None:
    """When the hours, warm ones counted in full, have added up to the sheet's latest; between the
    shortest time and that of the sheet."""
    wanted = longest / HOUR
    hours = _Hours.of(applied_at, min(wanted, 10_000.0), air)
    speeds = _speed(hours.celsius, reference_c, None, activation_kj_mol)
    taken = hours.reached(wanted, speeds, most=math.inf)
    sooner = longest if taken is None or taken >= wanted else taken * HOUR
    return later(applied_at, max(shortest, sooner))


@dataclass(frozen=True)
class _Hours:
    """Pieces of time after a start, each of one temperature: when it begins and how wide it is,
    in hours."""

    begin: Array
    width: Array
    celsius: Array

    @classmethod
    def of(cls, start: datetime, lasts_h: float, air: AirSeries) -> _Hours:
        import numpy as np

        offset = _elapsed_h(air.start, start)
        first, last = math.floor(offset), math.ceil(offset + lasts_h)
        edges = np.arange(first, max(last, first + 1) + 1, dtype=float) - offset
        edges = np.clip(edges, 0.0, lasts_h)
        wanted = first + np.arange(len(edges) - 1)
        return cls(edges[:-1], np.diff(edges), _at_hours(air, wanted))

    def reached(self, wanted: float, speeds: Array, most: float = 1.0) -> float | None:
        """Hours until the speeds, at most `most` each, have added up; between two edges evenly."""
        import numpy as np

        counted = self.width * np.minimum(speeds, most)
        total = np.concatenate(([0.0], np.cumsum(counted)))
        # Noise of the sum must not lose a cure that ends on the last edge.
        index = int(np.searchsorted(total, wanted - 1e-9))
        if index >= len(total):
            return None
        if index == 0:
            return 0.0
        speed = min(float(speeds[index - 1]), most)
        taken = float(self.begin[index - 1]) + (wanted - float(total[index - 1])) / speed
        return max(taken, wanted / most)

    def until(self, end_h: float) -> _Hours:
        import numpy as np

        width = np.clip(end_h - self.begin, 0.0, self.width)
        return _Hours(self.begin, width, self.celsius)


def _at_hours(air: AirSeries, wanted: NDArray[signedinteger[Any]]) -> Array:
    """The air at whole hours from its start; outside of what is known, see `AirSeries.repeats`."""
    import numpy as np

    known, count = np.asarray(air.celsius, dtype=float), len(air.celsius)
    inside = np.clip(wanted, 0, count - 1)
    if count < REPEATED_H:
        outside = np.full(len(wanted), known.min())
    else:
        last = count - REPEATED_H
        after = known[last + (wanted - last) % REPEATED_H]
        outside = np.where(wanted < 0, known[wanted % REPEATED_H], after)
    return np.where((wanted < 0) | (wanted >= count), outside, known[inside])


def _speed(
    celsius: Array, reference_c: float, minimum_c: float | None, activation_kj_mol: float | None
) -> Array:
    """Speed of cure against that at the reference, 0 where it stands still; by the ten-degree
    rule where there is no activation energy."""
    import numpy as np

    within = np.clip(celsius, LOWEST_C, HIGHEST_C)
    if activation_kj_mol is None:
        speeds = ten_degree(within, reference_c)
    else:
        speeds = arrhenius(within, reference_c, activation_kj_mol)
    return np.where(celsius < stands_still_below(minimum_c), 0.0, speeds)


def _elapsed_h(begin: datetime, end: datetime) -> float:
    return (end.astimezone(UTC) - begin.astimezone(UTC)) / HOUR


def _at(start: datetime, hours: float | None) -> datetime | None:
    return None if hours is None else later(start, hours * HOUR)


def _basis(
    start: datetime,
    wanted_h: float,
    reference_c: float,
    air: AirSeries,
    energy: ActivationEnergy,
    taken_h: float | None,
    stalled_h: float,
    minimum_c: float | None,
) -> str:
    said = (
        f"{round(wanted_h, 1):g} h at {reference_c:.3g} °C by the sheet, hour by hour by Arrhenius "
        f"with {energy.middle:g} kJ/mol"
    )
    known_h = len(air.celsius) - _elapsed_h(air.start, start)
    if taken_h is None or taken_h > known_h or _elapsed_h(air.start, start) < 0:
        said += f"; beyond the {len(air.celsius)} h known, {air.repeats}"
    if taken_h is None:
        said += f"; it stands still, or takes over {HORIZON.days} days longer than the sheet says"
    elif stalled_h:
        floor = f"{stands_still_below(minimum_c):.3g} °C"
        said += f"; {round(stalled_h, 1):g} h below {floor} do not count"
    return said.replace("-", "−") + "."
