"""How far the climate of a place favours decay above ground: the index of Scheffer."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from config.figures import Formula

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Hours = NDArray[np.floating[Any]]

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
LOW_BELOW, HIGH_ABOVE = 35.0, 65.0
RAIN_DAY_MM = 0.25
# A month with more of its rain unknown than this has no count of days.
MOST_UNKNOWN = 0.05
COLDEST_C, HOTTEST_C = -60.0, 50.0

ONE_YEAR_IS_NOT_A_CLIMATE = (
    "Never quote one year as the climate: from year to year the index varies more than most "
    "figures of the weather (Lebow & Carll 2010)."
)
_SOURCE = (
    "Scheffer 1971, as given in Carll, FPL-GTR-179 (2009) (secondary); classes: Whole Building "
    "Design Guide, wood decay hazard index user guide"
)
DECAY_HAZARD = Formula(
    words="For each month, how far its mean is above 2 °C (colder counts as nothing) times the "
    "days with 0.25 mm of rain or more, less three; the sum divided by 16.7. The class is low "
    "below 35, moderate to 65, high above. Wood on the ground or in sea water counts as high "
    "whatever the index.",
    symbols="Σ max(T − 2, 0) · (D − 3) / 16.7",
    source=_SOURCE,
    holds="for means over many years, above ground; in °F the form is Σ (T − 35)(D − 3)/30, which "
    "gives 3 to 6 % more, because 35 °F is 1.67 °C",
)
WORDS = {
    "low": "Low: wood above ground seldom stays wet and warm enough to decay",
    "moderate": "Moderate: wood decays where water is held, at joints, ends and under failed paint",
    "high": "High: wood that stays wet decays soon; keep water out and look often",
}


@dataclass(frozen=True)
class DecayHazard:
    """The index has no unit and may pass 100; `form` says by which of its two forms."""

    index: float
    level: Literal["low", "moderate", "high"]
    words: str
    basis: str
    form: Literal["°C", "°F"] = "°C"


@dataclass(frozen=True)
class MonthNormals:
    """Twelve months from January: mean air in °C, days with 0.25 mm of rain or more, None where
    the rain is not known, and mean relative humidity in %, None where it is not known."""

    mean_c: tuple[float, ...]
    rain_days: tuple[float | None, ...]
    humidity_pct: tuple[float | None, ...]


def decay_hazard(mean_c: Sequence[float], rain_days: Sequence[float | None]) -> DecayHazard:
    """The index by its °C form from twelve monthly means and twelve counts of days with rain.

    Means from −60 to 50 °C, days from 0 to 31; a month that is missing, or twelve that are not
    twelve, raise ValueError with a sentence. Only the bracket of the temperature stops at zero: a
    dry warm month counts against the others. Source: Scheffer 1971 after FPL-GTR-179 (2009)."""
    _checked(mean_c, rain_days, COLDEST_C, HOTTEST_C, "°C")
    return _judged(_sum(mean_c, rain_days, 2.0) / 16.7, "°C")


def decay_hazard_f(mean_f: Sequence[float], rain_days: Sequence[float | None]) -> DecayHazard:
    """As `decay_hazard` from means in °F, by the first form: some 3 to 6 % more, since 35 °F is
    1.67 °C. To be used only beside an index that was published in it."""
    _checked(mean_f, rain_days, -76, 122, "°F")
    return _judged(_sum(mean_f, rain_days, 35.0) / 30, "°F")


def level_of(index: float) -> Literal["low", "moderate", "high"]:
    if not math.isfinite(index):
        raise ValueError("an index is a figure")
    return "low" if index < LOW_BELOW else "high" if index > HIGH_ABOVE else "moderate"


def normals_from_hours(
    air_c: Hours, rain_mm: Hours | None, humidity_pct: Hours | None = None
) -> MonthNormals:
    """The months of a year of hours that begins on 1 January at midnight, in local standard time.

    Arrays of 8760 hours, or 8784 of a leap year; nan is a gap. A month with more than 5 % of its
    hours unknown has no figure: rain and humidity None, air ValueError. A day of rain is one with
    0.25 mm or more in its 24 hours."""
    import numpy as np

    if len(air_c) not in (8760, 8784):
        raise ValueError("a year has 8760 hours, or 8784 where it is a leap year")
    if any(each is not None and len(each) != len(air_c) for each in (rain_mm, humidity_pct)):
        raise ValueError("each column of a year has as many hours as the others")
    lengths = [31, 29 if len(air_c) == 8784 else 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    ends = np.cumsum(lengths)[:-1] * 24
    mean = [_mean(each) for each in np.split(air_c, ends)]
    if None in mean:
        raise ValueError(f"the air temperature of {MONTHS[mean.index(None)]} is not known")
    known = (each for each in mean if each is not None)
    rain = _monthly(rain_mm, ends, _rain_days)
    return MonthNormals(tuple(known), rain, _monthly(humidity_pct, ends, _mean))


def _monthly(
    hours: Hours | None, ends: NDArray[np.int64], figure: Callable[[Hours], float | None]
) -> tuple[float | None, ...]:
    import numpy as np

    return (None,) * 12 if hours is None else tuple(map(figure, np.split(hours, ends)))


def _mean(hours: Hours) -> float | None:
    import numpy as np

    return None if _gaps(hours) > MOST_UNKNOWN else float(np.nanmean(hours, dtype=np.float64))


def _rain_days(hours: Hours) -> float | None:
    import numpy as np

    if _gaps(hours) > MOST_UNKNOWN:
        return None
    daily = np.nansum(hours.reshape(-1, 24), axis=1, dtype=np.float64)
    # Tenths and hundredths of millimetres add up a hair below what they stand for.
    return float((daily.round(3) >= RAIN_DAY_MM).sum())


def _gaps(hours: Hours) -> float:
    import numpy as np

    return float(np.isnan(hours).mean())


def _sum(mean: Sequence[float], rain_days: Sequence[float | None], zero: float) -> float:
    return sum(
        max(float(air) - zero, 0.0) * (float(days) - 3)
        for air, days in zip(mean, rain_days, strict=True)
        if days is not None
    )


def _judged(index: float, form: Literal["°C", "°F"]) -> DecayHazard:
    level = level_of(index)
    basis = f"By the form in {form}: low below 35, moderate to 65, high above. {_SOURCE}."
    return DecayHazard(index, level, f"{WORDS[level]}.", basis, form)


def _checked(
    mean: Sequence[float], rain_days: Sequence[float | None], low: float, high: float, unit: str
) -> None:
    if len(mean) != 12 or len(rain_days) != 12:
        raise ValueError("the index needs all twelve months")
    for name, air, days in zip(MONTHS, mean, rain_days, strict=True):
        if days is None or math.isnan(days):
            raise ValueError(f"the rain of {name} is not known, so there is no index")
        if not 0 <= days <= 31:
            raise ValueError(f"{name}: days with rain from 0 to 31")
        if not low <= air <= high:
            raise ValueError(f"{name}: a mean from {low:g} to {high:g} {unit}")
