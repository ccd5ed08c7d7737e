"""How long the repair must last."""

from dataclasses import replace

import numpy_financial as npf
import pytest
from hypothesis import given

from repairs.life_cycle.break_even import BreakEven
from repairs.life_cycle.compare import Option
from tests.repairs.life_cycle.made import (
    REPAIR,
    REPLACE,
    SPLICE,
    WATCH,
    compared,
    lasting,
    real_rates,
    sets_of_options,
    studies,
)


def found(*options: Option, **changes: float) -> BreakEven:
    known = compared(*options, **changes).break_even
    assert known is not None
    return known


def test_the_worked_example_breaks_even_between_seven_and_eight_years() -> None:
    known = found()
    assert known.life_years == pytest.approx(7.06, abs=0.01)
    assert known.words == (
        "The repair costs less each year than a new member if it lasts at least 7.1 years."
    )


@pytest.mark.parametrize("life", [5, 10, 15, 30])
def test_a_plain_repair_breaks_even_where_an_annuity_does(life: int) -> None:
    """Checked with numpy-financial: the other costs each year just what 720 do over that life,
    and whole lives fit the study."""
    yearly = -npf.pmt(0.035, life, 720)
    other = Option("replace", "Replace", -npf.pv(0.035, 30, yearly), 0, 30)
    known = found(Option("repair", "Repair", 720, 0, 10), other)
    assert known.life_years == pytest.approx(life, abs=1e-6)


def test_a_life_longer_than_that_wins_and_a_shorter_one_loses() -> None:
    known = found()
    assert known.life_years
    assert compared(lasting(known.life_years + 0.01), REPLACE).cheapest == "repair"
    assert compared(lasting(known.life_years - 0.01), REPLACE).cheapest == "replace"


def test_it_is_held_against_the_cheapest_other() -> None:
    assert found(REPAIR, REPLACE, WATCH).against == "watch"
    assert found(REPAIR, SPLICE, REPLACE, WATCH).against == "splice"


def test_a_repair_dearer_than_all_the_years_of_another_never_wins() -> None:
    known = found(replace(REPAIR, first=50_000), REPLACE)
    assert known.life_years is None
    assert known.words == (
        "The repair never costs less each year than a new member, even if it lasts 100 years."
    )


def test_a_repair_for_nothing_always_wins() -> None:
    known = found(Option("repair", "Repair", 0, 0, 10), REPLACE)
    assert known.life_years == 0.1
    assert known.words == (
        "The repair costs less each year than a new member, however short it lasts."
    )


@pytest.mark.parametrize("options", [(REPLACE, SPLICE), (REPAIR,)])
def test_there_is_none_without_a_repair_and_another(options: tuple[Option, ...]) -> None:
    assert compared(*options).break_even is None


@given(sets_of_options, studies, real_rates)
def test_the_repair_wins_from_there_on(
    options: tuple[Option, ...], years: int, rate: float
) -> None:
    known = compared(*options, study_years=years, real_rate=rate).break_even
    if known is None or known.life_years is None:
        return
    for life in (known.life_years + 0.001, known.life_years + 5, 100):
        again = [
            replace(each, life_years=life, life_low=None, life_high=None)
            if each.kind == "repair"
            else each
            for each in options
        ]
        costs = {
            each.option.kind: each.equivalent_annual
            for each in compared(*again, study_years=years, real_rate=rate).results
        }
        assert costs["repair"] <= min(costs.values()) + 1e-6
