"""One way to deal with a defect, and what it costs in which year of the study."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from config.figures import Formula

from .discounting import checked_rate

WATCH = "watch"
# What follows once watching ends, the first of these that is among the options: damage that is
# left alone grows, so that the small repair of today can no longer be counted on.
AFTER_WATCHING = ("replace", "splice", "repair")
LEAST_YEARS, MOST_YEARS = 0.1, 1000.0
MOST_MONEY = 1e12
# Lives are typed to a tenth of a year: what is nearer than this is the same day.
SAME_DAY = 1e-9

RESIDUAL = Formula(
    "What is left of the life of the work at the end of the study counts back, in a straight "
    "line, as a share of what doing it last cost, access included.",
    "R = C · (k·L − N) / L, at the end of year N",
    "NIST Handbook 135 (2022), 4.5.3: linear in the unused life of the last replacement",
)
CYCLE = Formula(
    "Each option is done again, access included, at the end of its life. Repaints fall in their "
    "cycle, but none in the last year before the work is done again; upkeep at the end of each "
    "year. What is watched is dealt with at the end of that time: replaced where that is among "
    "the options, else spliced, else repaired.",
    "done at 0, L, 2L … < N; repainted at c, 2c … ≤ L − 1 within each life",
    "common practice, no source",
)


@dataclass(frozen=True)
class Option:
    """Amounts in major units of one currency at today's prices; years from 0.1 to 1,000.

    `kind` is repair, splice, replace or watch; for watch, `first` is the first look, `upkeep`
    the looks of each year, and the life how long until it must be dealt with. The life at worst
    and at best may be left out. `spread` is a fraction: 0.2 is costs 20 % either way."""

    kind: str
    words: str
    first: float
    access: float
    life_years: float
    life_low: float | None = None
    life_high: float | None = None
    upkeep: float = 0.0
    repaint: float = 0.0
    repaint_years: float | None = None
    spread: float = 0.2

    def __post_init__(self) -> None:
        for amount in (self.first, self.access, self.upkeep, self.repaint):
            if not math.isfinite(amount) or not 0 <= amount <= MOST_MONEY:
                raise ValueError(f"{self.words}: a cost is from 0 to 1,000,000,000,000.")
        for years in (self.life_low, self.life_years, self.life_high, self.repaint_years):
            if years is not None and not LEAST_YEARS <= years <= MOST_YEARS:
                raise ValueError(
                    f"{self.words}: a life or a repaint cycle is from 0.1 to 1,000 years."
                )
        if not self.worst <= self.life_years <= self.best:
            raise ValueError(f"{self.words}: the life lies between its worst and its best.")
        if not 0 <= self.spread <= 1:
            raise ValueError(f"{self.words}: the spread of costs is from 0 to 100 %.")

    @property
    def worst(self) -> float:
        return self.life_years if self.life_low is None else self.life_low

    @property
    def best(self) -> float:
        return self.life_years if self.life_high is None else self.life_high


@dataclass(frozen=True)
class Study:
    """Over how many years, at which real rate, and whether unused life counts back at the end."""

    years: int
    real_rate: float
    residual: bool = True

    def __post_init__(self) -> None:
        checked_rate(self.real_rate)
        if not 1 <= self.years <= 100:
            raise ValueError("A study runs over 1 to 100 years.")


@dataclass(frozen=True)
class Flow:
    """One payment, so many years from now, at today's prices; a credit is below zero."""

    year: float
    amount: float
    what: str


def checked_options(options: Iterable[Option]) -> tuple[Option, ...]:
    """The options as given, at least one and each kind once."""
    known = tuple(options)
    kinds = [option.kind for option in known]
    if not known or len(set(kinds)) != len(kinds):
        raise ValueError("Compare one option or more, each kind of option once.")
    return known


def following(option: Option, options: Sequence[Option]) -> Option | None:
    """What comes once watching ends; None where nothing else is among the options."""
    if option.kind != WATCH:
        return None
    others = {other.kind: other for other in options}
    return next((others[kind] for kind in AFTER_WATCHING if kind in others), None)


def times_done(life: float, horizon: float) -> int:
    """How often something of that life is done within the horizon, the first time included."""
    return max(1, math.ceil(horizon / life - SAME_DAY)) if horizon > SAME_DAY else 0


def repaints(option: Option, served: float) -> int:
    """How often one doing is repainted while it serves, up to the end of its life."""
    if option.repaint_years is None or not option.repaint:
        return 0
    within_life = math.floor((option.life_years - 1) / option.repaint_years + SAME_DAY)
    return max(0, min(within_life, math.ceil(served / option.repaint_years - SAME_DAY) - 1))


def flows(option: Option, study: Study, options: Sequence[Option]) -> tuple[Flow, ...]:
    """What is paid in the years of the study, in order; what counts back is not paid."""
    after = following(option, options)
    if option.kind != WATCH:
        paid = list(_chain(option, 0, study.years))
    else:
        paid = list(_serving(option, 0, min(option.life_years, study.years)))
        paid += _upkeep(option, 0, min(option.life_years, study.years))
        if after is not None:
            paid += _chain(after, option.life_years, study.years - option.life_years)
    return tuple(sorted((flow for flow in paid if flow.amount), key=lambda flow: flow.year))


def _chain(option: Option, begins: float, horizon: float) -> Iterator[Flow]:
    """Done again and again over a horizon that begins so many years from now."""
    for number in range(times_done(option.life_years, horizon)):
        past = number * option.life_years
        yield from _serving(option, begins + past, min(option.life_years, horizon - past))
    yield from _upkeep(option, begins, horizon)


def _serving(option: Option, begins: float, served: float) -> Iterator[Flow]:
    yield Flow(begins, option.first, option.words)
    yield Flow(begins, option.access, "access")
    for number in range(1, repaints(option, served) + 1):
        yield Flow(begins + number * (option.repaint_years or 0), option.repaint, "repaint")


def _upkeep(option: Option, begins: float, served: float) -> Iterator[Flow]:
    what = "looking" if option.kind == WATCH else "upkeep"
    for year in range(1, math.floor(served + SAME_DAY) + 1):
        yield Flow(begins + year, option.upkeep, what)


def unused_worth(option: Option, study: Study, options: Sequence[Option]) -> float:
    """What counts back at the end of the study, at today's prices; 0 where it is not counted."""
    last = option if option.kind != WATCH else following(option, options)
    horizon = study.years - (option.life_years if option.kind == WATCH else 0)
    if last is None or horizon <= SAME_DAY or not study.residual:
        return 0.0
    unused = times_done(last.life_years, horizon) * last.life_years - horizon
    return (last.first + last.access) * max(0.0, unused) / last.life_years
