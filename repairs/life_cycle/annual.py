"""The equivalent annual cost of every option in closed form, for one case or thousands at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from .discounting import NO_RATE, uniform_recovery
from .options import AFTER_WATCHING, SAME_DAY, WATCH, Option

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = float | NDArray[np.float64]


@dataclass(frozen=True)
class Figures:
    """What an option's cost hangs on: each a number, or an array with one for each case.
    Arrays of one length go together."""

    first: Numbers
    access: Numbers
    life: Numbers
    upkeep: Numbers
    repaint: Numbers
    repaint_years: float | None

    @classmethod
    def of(cls, option: Option) -> Figures:
        return cls(
            option.first, option.access, option.life_years, option.upkeep, option.repaint,
            option.repaint_years,
        )  # fmt: skip


def figures_of(options: Iterable[Option]) -> dict[str, Figures]:
    return {option.kind: Figures.of(option) for option in options}


def annual_costs(
    figures: Mapping[str, Figures], *, years: float, real_rate: float, residual: bool
) -> dict[str, NDArray[np.float64]]:
    """For each kind of option its equivalent annual cost over the study, at today's prices, in
    the shape of its figures. The sums are those of `options.flows`, as geometric series."""
    after = next((figures[kind] for kind in AFTER_WATCHING if kind in figures), None)
    spread_over = uniform_recovery(real_rate, years)
    return {
        kind: spread_over
        * (
            _watched(each, after, years, real_rate, residual)
            if kind == WATCH
            else _chain(each, years, real_rate, residual)
        )
        for kind, each in figures.items()
    }


def _watched(
    looks: Figures, after: Figures | None, years: float, rate: float, residual: bool
) -> NDArray[np.float64]:
    import numpy as np

    served = np.minimum(looks.life, years)
    value = looks.first + looks.access + _repainted(looks, served, rate)
    value = value + looks.upkeep * _yearly(served, rate)
    if after is None:
        return np.asarray(value)
    later = _chain(after, np.maximum(years - np.asarray(looks.life), 0.0), rate, residual)
    return np.asarray(value + _worth(looks.life, rate) * later)


def _chain(each: Figures, horizon: Numbers, rate: float, residual: bool) -> NDArray[np.float64]:
    """Present value of doing it, and doing it again, over a horizon."""
    import numpy as np

    life = np.asarray(each.life, dtype=float)
    horizon = np.asarray(horizon, dtype=float)
    times = np.maximum(np.ceil(horizon / life - SAME_DAY), 1)
    last_begins = (times - 1) * life
    done = np.asarray(each.first + each.access)
    value = done * _series(life, times, rate)
    value = value + _repainted(each, life, rate) * _series(life, times - 1, rate)
    value = value + _repainted(each, horizon - last_begins, rate) * _worth(last_begins, rate)
    value = value + each.upkeep * _yearly(horizon, rate)
    if residual:
        unused = np.maximum(times * life - horizon, 0.0) / life
        value = value - done * unused * _worth(horizon, rate)
    return np.where(horizon > SAME_DAY, value, 0.0)


def _repainted(each: Figures, served: Numbers, rate: float) -> Any:
    """The repaints of one doing, worth at its beginning."""
    import numpy as np

    cycle = each.repaint_years
    if cycle is None:
        return np.zeros(())
    within_life = np.floor((np.asarray(each.life) - 1) / cycle + SAME_DAY)
    before_end = np.ceil(np.asarray(served) / cycle - SAME_DAY) - 1
    count = np.maximum(np.minimum(within_life, before_end), 0.0)
    return each.repaint * _worth(cycle, rate) * _series(cycle, count, rate)


def _yearly(served: Numbers, rate: float) -> NDArray[np.float64]:
    """1 at the end of each whole year."""
    import numpy as np

    return _worth(1.0, rate) * _series(1.0, np.floor(np.asarray(served) + SAME_DAY), rate)


def _worth(years: Numbers, rate: float) -> NDArray[np.float64]:
    import numpy as np

    return np.asarray(np.exp(-np.asarray(years) * np.log1p(rate)))


def _series(step: Numbers, count: Numbers, rate: float) -> NDArray[np.float64]:
    """1 now and again every `step` years, `count` times in all."""
    import numpy as np

    if abs(rate) < NO_RATE:
        return np.asarray(count, dtype=float)
    growth = np.log1p(rate)
    every = np.asarray(step) * growth
    return np.asarray(np.expm1(-np.asarray(count) * every) / np.expm1(-every))
