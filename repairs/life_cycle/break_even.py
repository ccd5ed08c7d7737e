"""How long the repair must last to cost no more than the cheapest other way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from config.figures import Formula

from .annual import annual_costs, figures_of
from .options import Option, Study

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

REPAIR = "repair"
OTHERS = {"splice": "a splice", "replace": "a new member", "watch": "watching"}
SHORTEST, LONGEST, STEP = 0.1, 100.0, 0.1

BREAK_EVEN = Formula(
    "The shortest life from which on the repair costs no more each year than the cheapest other "
    "option, found by halving the interval.",
    "EAC of the repair (L) = least EAC of the others",
    "definition; equivalent annual cost: NIST Handbook 135, chapter 5",
    "for lives from 0.1 to 100 years",
)


@dataclass(frozen=True)
class BreakEven:
    """`life_years` is None where no life of 0.1 to 100 years makes the repair the cheaper, and
    0.1 where every such life does; `against` is the kind of the cheapest other option."""

    life_years: float | None
    against: str
    words: str


def break_even(options: Sequence[Option], study: Study) -> BreakEven | None:
    """None where there is no repair among the options, or nothing beside it."""
    import numpy as np

    repair = next((option for option in options if option.kind == REPAIR), None)
    if repair is None or len(options) < 2:
        return None

    def saved(lives: NDArray[np.float64]) -> NDArray[np.float64]:
        figures = figures_of(options)
        figures[REPAIR] = replace(figures[REPAIR], life=lives)
        costs = annual_costs(
            figures, years=study.years, real_rate=study.real_rate, residual=study.residual
        )
        mine = costs.pop(REPAIR)
        least = np.min([np.broadcast_to(cost, lives.shape) for cost in costs.values()], axis=0)
        return np.asarray(least - mine)

    against = _cheapest_other(options, study)
    lives = np.round(np.arange(SHORTEST, LONGEST + STEP / 2, STEP), 1)
    loses = np.flatnonzero(saved(lives) < 0)
    if not loses.size:
        return BreakEven(SHORTEST, against.kind, _words(against, SHORTEST))
    last = int(loses[-1])
    if last == lives.size - 1:
        return BreakEven(None, against.kind, _words(against, None))
    low, high = float(lives[last]), float(lives[last + 1])
    for _ in range(40):
        middle = (low + high) / 2
        wins = bool(saved(np.array([middle]))[0] >= 0)
        low, high = (low, middle) if wins else (middle, high)
    return BreakEven(high, against.kind, _words(against, high))


def _cheapest_other(options: Sequence[Option], study: Study) -> Option:
    costs = annual_costs(
        figures_of(options), years=study.years, real_rate=study.real_rate, residual=study.residual
    )
    others = [option for option in options if option.kind != REPAIR]
    return min(others, key=lambda option: float(costs[option.kind]))


def _words(against: Option, life: float | None) -> str:
    other = OTHERS.get(against.kind, against.words)
    if life is None:
        return (
            f"The repair never costs less each year than {other}, even if it lasts "
            f"{LONGEST:.0f} years."
        )
    if life <= SHORTEST:
        return f"The repair costs less each year than {other}, however short it lasts."
    return f"The repair costs less each year than {other} if it lasts at least {life:.1f} years."
