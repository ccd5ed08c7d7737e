"""Which input the answer hangs on most, and how sure the answer is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from config.figures import Formula

from .annual import Figures, annual_costs, figures_of
from .discounting import LEAST_RATE, MOST_RATE
from .options import Option, Study, following

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE_SWING = 0.01
MOST_DRAWS = 100_000

SWINGS = Formula(
    "One input at a time is put at its lowest and at its highest, all others kept: costs by their "
    "spread, lives at worst and at best, the real rate by one percentage point. The widest swing "
    "of the yearly difference between the two cheapest options comes first.",
    "swing = |Δ(high) − Δ(low)|, Δ = EAC of the second − EAC of the cheapest",
    "one-at-a-time sensitivity: NIST Handbook 135, chapter 7; one percentage point: common "
    "practice, no source",
)
SPREAD = Formula(
    "All inputs are drawn by chance, many times, each from a triangle between its lowest and its "
    "highest with its peak at the figure typed; each time the cheapest option is counted. The "
    "same seed gives the same answer.",
    "10 %, 50 % and 90 % points of EAC; share of draws in which each is the cheapest",
    "Monte Carlo simulation: NIST Handbook 135, chapter 7; the triangle: common practice, no "
    "source",
)


@dataclass(frozen=True)
class Swing:
    """What one input does to the yearly difference between the second and the cheapest option.
    Below zero the second is the cheaper. `option` is a kind, empty for the rate; `low` and
    `high` are money, years or a rate, as `unit` says."""

    option: str
    words: str
    unit: str
    low: float
    high: float
    at_low: float
    at_high: float

    @property
    def width(self) -> float:
        return abs(self.at_high - self.at_low)

    @property
    def turns(self) -> bool:
        """Whether it turns the answer round."""
        return min(self.at_low, self.at_high) < 0


@dataclass(frozen=True)
class Band:
    """Equivalent annual cost of one option that so many percent of the draws stay under."""

    p10: float
    p50: float
    p90: float


@dataclass(frozen=True)
class Spread:
    """`shares` are fractions of the draws in which each kind is the cheapest; they add up to 1."""

    draws: int
    seed: int
    shares: Mapping[str, float]
    annual: Mapping[str, Band]


def swings(options: Sequence[Option], study: Study) -> tuple[Swing, ...]:
    """The widest first; none where there are not two options, or where nothing varies."""
    figures = figures_of(options)
    costs = _annual(figures, study, study.real_rate)
    if len(costs) < 2:
        return ()
    best, second = sorted(costs, key=lambda kind: costs[kind])[:2]

    def difference(changed: Mapping[str, Figures], rate: float) -> float:
        now = _annual(changed, study, rate)
        return now[second] - now[best]

    found = []
    for option in _concerned(options, best, second):
        for name, words, unit, low, high in _ranges(option):
            at = [
                difference(
                    {**figures, option.kind: replace(figures[option.kind], **{name: value})},
                    study.real_rate,
                )
                for value in (low, high)
            ]
            found.append(
                Swing(option.kind, f"{option.words}: {words}", unit, low, high, at[0], at[1])
            )
    low = max(LEAST_RATE, study.real_rate - RATE_SWING)
    high = min(MOST_RATE, study.real_rate + RATE_SWING)
    rates = difference(figures, low), difference(figures, high)
    found.append(Swing("", "real rate", "rate", low, high, *rates))
    return tuple(sorted(found, key=lambda swing: -swing.width))


def _annual(figures: Mapping[str, Figures], study: Study, rate: float) -> dict[str, float]:
    costs = annual_costs(figures, years=study.years, real_rate=rate, residual=study.residual)
    return {kind: float(cost) for kind, cost in costs.items()}


def _concerned(options: Sequence[Option], *kinds: str) -> list[Option]:
    """The options of those kinds, and what follows one of them."""
    named = [option for option in options if option.kind in kinds]
    later = [following(option, options) for option in named]
    return named + [each for each in later if each is not None and each not in named]


def _ranges(option: Option) -> Iterator[tuple[str, str, str, float, float]]:
    """Each input of an option that varies: its field, words, unit, lowest and highest."""
    costs = {
        "first": "first cost", "access": "access", "repaint": "a repaint", "upkeep": "upkeep",
    }  # fmt: skip
    for name, words in costs.items():
        amount = getattr(option, name)
        unheeded = name == "repaint" and option.repaint_years is None
        if amount and option.spread and not unheeded:
            spread = amount * option.spread
            yield name, words, "money", amount - spread, amount + spread
    if option.worst < option.best:
        yield "life", "life", "years", option.worst, option.best


def draw_spread(options: Sequence[Option], study: Study, seed: int, draws: int = 4000) -> Spread:
    """Draw every input of every option, and count. `draws` is from 1 to 100,000."""
    import numpy as np

    if not 1 <= draws <= MOST_DRAWS:
        raise ValueError("Draw from 1 to 100,000 times.")
    chance = np.random.default_rng(seed)
    figures = {option.kind: _drawn(option, chance, draws) for option in options}
    costs = annual_costs(
        figures, years=study.years, real_rate=study.real_rate, residual=study.residual
    )
    table = np.stack([np.broadcast_to(costs[option.kind], draws) for option in options])
    won = np.bincount(table.argmin(axis=0), minlength=len(options)) / draws
    points = np.percentile(table, [10, 50, 90], axis=1)
    return Spread(
        draws=draws,
        seed=seed,
        shares={option.kind: float(share) for option, share in zip(options, won, strict=True)},
        annual={
            option.kind: Band(*(float(point) for point in points[:, row]))
            for row, option in enumerate(options)
        },
    )


def _drawn(option: Option, chance: np.random.Generator, draws: int) -> Figures:
    low, high = 1 - option.spread, 1 + option.spread
    factors = [_triangle(chance, draws, low, 1.0, high) for _ in range(4)]
    return Figures(
        first=option.first * factors[0],
        access=option.access * factors[1],
        life=_triangle(chance, draws, option.worst, option.life_years, option.best),
        upkeep=option.upkeep * factors[2],
        repaint=option.repaint * factors[3],
        repaint_years=option.repaint_years,
    )


def _triangle(
    chance: np.random.Generator, draws: int, low: float, mode: float, high: float
) -> NDArray[np.float64]:
    """By its inverse, since numpy's own refuses a triangle without width."""
    import numpy as np

    share = chance.random(draws)
    if low == high:
        return np.full(draws, mode)
    rising = low + np.sqrt(share * (high - low) * (mode - low))
    falling = high - np.sqrt((1 - share) * (high - low) * (high - mode))
    return np.where(share * (high - low) < mode - low, rising, falling)
