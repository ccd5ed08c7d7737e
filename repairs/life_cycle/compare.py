"""Repair, splice, replace or watch: what each costs over the same years."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from config.figures import Formula

from .break_even import BREAK_EVEN, BreakEven, break_even
from .discounting import (
    EQUIVALENT_ANNUAL,
    PRESENT_VALUE,
    checked_rate,
    equivalent_annual,
    present_value,
    spv,
)
from .options import (
    CYCLE,
    RESIDUAL,
    WATCH,
    Flow,
    Option,
    Study,
    checked_options,
    flows,
    following,
    unused_worth,
)
from .spread import SPREAD, SWINGS, Band, Spread, Swing, draw_spread, swings

__all__ = [
    "BREAK_EVEN", "CYCLE", "EQUIVALENT_ANNUAL", "NOMINAL", "PRESENT_VALUE", "RESIDUAL", "SPREAD",
    "SWINGS", "TODAYS_MONEY", "Band", "BreakEven", "Comparison", "Flow", "Option", "OptionResult",
    "Spread", "Study", "Swing", "compare", "own_life_annual",
]  # fmt: skip

SEED = 2026

NOMINAL = Formula(
    "All that is paid over the years of the study, each payment in the money of its own year.",
    "Σ Fₜ · (1 + g)ᵗ",
    "NIST Handbook 135, chapter 3 (current dollars)",
    "for a steady rise of prices from −10 % to 50 % a year",
)
TODAYS_MONEY = Formula(
    "All that is paid over the years of the study, at today's prices.",
    "Σ Fₜ",
    "NIST Handbook 135, chapter 3 (constant dollars)",
)


@dataclass(frozen=True)
class OptionResult:
    """What one option comes to. `first_cost` is the first doing with its access. `nominal` and
    `todays_money` are what is paid; present value and equivalent annual cost also count back
    `unused_worth`, at the end of the study. `then` says what follows watching."""

    option: Option
    first_cost: float
    nominal: float
    todays_money: float
    present_value: float
    equivalent_annual: float
    flows: tuple[Flow, ...]
    unused_worth: float
    then: str = ""

    def by_year(self, years: int) -> tuple[float, ...]:
        """What is paid in each year of the study at today's prices, now first."""
        paid = [0.0] * (years + 1)
        for flow in self.flows:
            paid[min(years, math.floor(flow.year))] += flow.amount
        return tuple(paid)


@dataclass(frozen=True)
class Comparison:
    """`results` are in the order of the options; `cheapest` is a kind, by equivalent annual
    cost. `basis` says the years, the rates and what is counted back."""

    results: tuple[OptionResult, ...]
    cheapest: str
    break_even: BreakEven | None
    hangs_on: tuple[Swing, ...]
    spread: Spread | None
    study_years: int
    real_rate: float
    price_rise: float
    basis: str


def compare(
    options: Iterable[Option],
    *,
    study_years: int,
    real_rate: float,
    price_rise: float,
    seed: int = SEED,
    residual: bool = True,
) -> Comparison:
    """All options over the same years, 1 to 100. Rates are fractions a year, −0.1 to 0.5;
    ValueError with a sentence for anything out of range. Without `residual` the life that is
    left at the end of the study counts for nothing."""
    known = checked_options(options)
    study = Study(study_years, real_rate, residual)
    checked_rate(price_rise)
    results = tuple(_result(option, study, price_rise, known) for option in known)
    cheapest = min(results, key=lambda result: result.equivalent_annual)
    return Comparison(
        results=results,
        cheapest=cheapest.option.kind,
        break_even=break_even(known, study),
        hangs_on=swings(known, study),
        spread=draw_spread(known, study, seed),
        study_years=study_years,
        real_rate=real_rate,
        price_rise=price_rise,
        basis=_basis(study, price_rise),
    )


def _result(
    option: Option, study: Study, price_rise: float, options: Sequence[Option]
) -> OptionResult:
    paid = flows(option, study, options)
    unused = unused_worth(option, study, options)
    value = present_value([(flow.year, flow.amount) for flow in paid], study.real_rate)
    value -= unused * spv(study.real_rate, study.years)
    after = following(option, options)
    return OptionResult(
        option=option,
        first_cost=option.first + option.access,
        nominal=math.fsum(flow.amount * (1 + price_rise) ** flow.year for flow in paid),
        todays_money=math.fsum(flow.amount for flow in paid),
        present_value=value,
        equivalent_annual=equivalent_annual(value, study.real_rate, study.years),
        flows=paid,
        unused_worth=unused,
        then=after.words if after else "",
    )


def own_life_annual(option: Option, real_rate: float) -> float:
    """Equivalent annual cost over one life of the option itself, with nothing left at its end.
    Over a study of whole lives it is the same as that of the study."""
    from .annual import annual_costs, figures_of

    if option.kind == WATCH:
        raise ValueError("Watching has no life of its own to spread its cost over.")
    costs = annual_costs(
        figures_of([option]), years=option.life_years, real_rate=real_rate, residual=False
    )
    return float(costs[option.kind])


def _basis(study: Study, price_rise: float) -> str:
    unused = (
        "the life left at the end counts back in a straight line"
        if study.residual
        else "the life left at the end counts for nothing"
    )
    real, rise = (f"{100 * rate:.4g} %" for rate in (study.real_rate, price_rise))
    return (
        f"Over {study.years} years at today's prices, real rate {real} a year; in the money of "
        f"each year with prices rising {rise} a year; {unused}."
    )
