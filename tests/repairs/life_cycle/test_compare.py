"""Repair, splice, replace or watch over the same years."""

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.life_cycle.annual import annual_costs, figures_of
from repairs.life_cycle.compare import Flow, Option, own_life_annual
from repairs.life_cycle.discounting import nominal_rate, present_value, upv
from tests.published import published
from tests.repairs.life_cycle.made import (
    RATE,
    REPAIR,
    REPLACE,
    RISE,
    SPLICE,
    WATCH,
    YEARS,
    compared,
    lasting,
    real_rates,
    sets_of_options,
    studies,
)

POINT = 0.005  # a figure given to two digits


def worked(quantity: str) -> list[float]:
    """The figures of the worked example; its amounts are ours, each sum was done by hand."""
    return [float(row["value"]) for row in published("life_cycle", quantity)]


# The worked example


@pytest.mark.parametrize("residual", [True, False])
def test_the_worked_example_over_thirty_years(residual: bool) -> None:
    """Whole lives fit the study, so that nothing is left to count back."""
    results = compared(residual=residual).results
    for name, quantity, near in [
        ("todays_money", "Study, today's money", POINT),
        ("nominal", "Study, nominal", 0.5),
        ("present_value", "Study, present value", 0.5),
        ("equivalent_annual", "One life, equivalent annual cost", POINT),
    ]:
        assert [getattr(each, name) for each in results] == pytest.approx(
            worked(quantity), abs=near
        )


def test_the_worked_example_over_one_life_of_each() -> None:
    ours = [own_life_annual(option, RATE) for option in (REPAIR, REPLACE)]
    assert ours == pytest.approx(worked("One life, equivalent annual cost"), abs=POINT)
    values = [upv(RATE, option.life_years) * annual
              for option, annual in zip((REPAIR, REPLACE), ours, strict=True)]  # fmt: skip
    assert values == pytest.approx(worked("One life, present value"), abs=POINT)


def test_a_study_of_one_life_is_that_life() -> None:
    [result] = compared(REPAIR, study_years=10).results
    assert result.present_value == pytest.approx(worked("One life, present value")[0], abs=POINT)


def test_a_shorter_life_of_the_worked_example() -> None:
    ours = [own_life_annual(lasting(years), RATE) for years in (6, 7, 8)]
    assert ours == pytest.approx(worked("Break-even, equivalent annual cost"), abs=POINT)


def test_the_ranking_flips_between_nominal_money_and_present_value() -> None:
    repair, other = compared().results
    assert repair.nominal > other.nominal
    assert repair.present_value < other.present_value
    assert compared().cheapest == "repair"


# What is paid when


def test_the_payments_of_the_repair_fall_in_their_years() -> None:
    assert compared().results[0].by_year(YEARS) == (
        720, *[0] * 4, 180, *[0] * 4, 720, *[0] * 4, 180, *[0] * 4, 720, *[0] * 4, 180, *[0] * 5,
    )  # fmt: skip


def test_access_is_paid_each_time_it_is_done() -> None:
    paid = compared().results[0].flows
    assert [flow.year for flow in paid if flow.what == "access"] == [0, 10, 20]
    assert Flow(0, 420, "Repair") in paid


@pytest.mark.parametrize(("life", "years"), [(10, [5]), (10.9, [5]), (11, [5, 10]), (5.9, [])])
def test_none_repaints_in_the_year_before_it_is_done_again(life: float, years: list[int]) -> None:
    paid = compared(lasting(life), study_years=9 if life < 10 else 11).results[0].flows
    repaints = [flow.year for flow in paid if flow.what == "repaint" and flow.year < life]
    assert repaints == years


def test_nothing_is_done_in_the_last_hour_of_the_study() -> None:
    paid = compared(lasting(15)).results[0].flows
    assert max(flow.year for flow in paid) == 25  # neither done again nor repainted in year 30


def test_upkeep_is_paid_at_the_end_of_each_year() -> None:
    kept = Option("splice", "Splice", 0, 0, 30, upkeep=10)
    [result] = compared(kept).results
    assert result.todays_money == 300
    assert result.present_value == pytest.approx(10 * upv(RATE, 30))


def test_the_life_that_is_left_counts_back_in_a_straight_line() -> None:
    """NIST Handbook 135, 4.5.3: half of the second life is left after thirty years."""
    plain = Option("splice", "Splice", 900, 100, 20)
    [result] = compared(plain).results
    assert result.unused_worth == 500
    assert result.present_value == pytest.approx(
        1000 + 1000 / 1.035**20 - 500 / 1.035**30, abs=POINT
    )
    assert (result.todays_money, result.nominal) == pytest.approx(
        (2000, 1000 + 1000 * 1.03**20), abs=POINT
    )
    assert compared(plain, residual=False).results[0].unused_worth == 0


# Watching


def test_what_is_watched_is_replaced_in_the_end() -> None:
    repair, other, watch = compared(REPAIR, REPLACE, WATCH).results
    assert watch.then == "Replace"
    assert [flow.year for flow in watch.flows if flow.what == "looking"] == [1, 2, 3, 4]
    assert Flow(4, 1850, "Replace") in watch.flows
    assert watch.unused_worth == pytest.approx(2150 * 4 / 30)
    assert repair.present_value < watch.present_value < other.present_value


@pytest.mark.parametrize(
    ("options", "then"), [([WATCH, REPAIR, SPLICE], "Splice"), ([WATCH, REPAIR], "Repair"),
                          ([WATCH], "")],
)  # fmt: skip
def test_what_follows_watching_is_the_larger_work(options: list[Option], then: str) -> None:
    assert compared(*options).results[0].then == then


def test_watching_to_the_end_of_the_study_is_looking_only() -> None:
    watch = compared(lasting(40, WATCH), REPLACE).results[0]
    assert watch.todays_money == 20 + 30 * 25
    assert watch.unused_worth == 0


def test_watching_has_no_life_of_its_own() -> None:
    with pytest.raises(ValueError, match="no life of its own"):
        own_life_annual(WATCH, RATE)


# Properties


@given(sets_of_options, studies, real_rates, st.booleans())
def test_the_closed_form_is_the_sum_of_the_payments(
    options: tuple[Option, ...], years: int, rate: float, residual: bool
) -> None:
    found = compared(*options, study_years=years, real_rate=rate, residual=residual)
    closed = annual_costs(figures_of(options), years=years, real_rate=rate, residual=residual)
    for result in found.results:
        assert float(closed[result.option.kind]) == pytest.approx(
            result.equivalent_annual, rel=1e-6, abs=1e-6
        )


@given(sets_of_options, studies, real_rates)
def test_the_cheapest_is_the_least_and_what_is_left_only_lessens(
    options: tuple[Option, ...], years: int, rate: float
) -> None:
    counted = compared(*options, study_years=years, real_rate=rate)
    bare = compared(*options, study_years=years, real_rate=rate, residual=False)
    costs = {each.option.kind: each.equivalent_annual for each in counted.results}
    assert costs[counted.cheapest] == min(costs.values())
    for with_left, without in zip(counted.results, bare.results, strict=True):
        assert with_left.equivalent_annual <= without.equivalent_annual + 1e-6


@given(sets_of_options, studies)
def test_without_rate_and_rise_all_money_is_alike(options: tuple[Option, ...], years: int) -> None:
    for each in compared(*options, study_years=years, real_rate=0, price_rise=0).results:
        assert each.nominal == pytest.approx(each.todays_money)
        assert each.present_value == pytest.approx(each.todays_money - each.unused_worth, abs=1e-6)
        assert each.equivalent_annual == pytest.approx(each.present_value / years, abs=1e-6)


@given(sets_of_options, studies)
def test_nominal_money_at_the_nominal_rate_is_the_same_present_value(
    options: tuple[Option, ...], years: int
) -> None:
    """The consistency rule of NIST Handbook 135."""
    rate = nominal_rate(RATE, RISE)
    for each in compared(*options, study_years=years, residual=False).results:
        own_money = [(flow.year, flow.amount * (1 + RISE) ** flow.year) for flow in each.flows]
        assert present_value(own_money, rate) == pytest.approx(each.present_value, abs=1e-6)


@given(sets_of_options, studies, real_rates)
def test_every_payment_falls_within_the_study(
    options: tuple[Option, ...], years: int, rate: float
) -> None:
    for each in compared(*options, study_years=years, real_rate=rate).results:
        assert all(0 <= flow.year <= years and flow.amount >= 0 for flow in each.flows)
        assert math.fsum(each.by_year(years)) == pytest.approx(each.todays_money)


# Out of range


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"first": -1.0}, "a cost is from 0"),
        ({"access": math.nan}, "a cost is from 0"),
        ({"upkeep": math.inf}, "a cost is from 0"),
        ({"life_years": 0.0}, "from 0.1 to 1,000 years"),
        ({"life_years": math.nan}, "from 0.1 to 1,000 years"),
        ({"repaint_years": 0.05}, "from 0.1 to 1,000 years"),
        ({"life_low": 11.0}, "between its worst and its best"),
        ({"life_high": 9.0}, "between its worst and its best"),
        ({"spread": 1.1}, "from 0 to 100 %"),
        ({"spread": math.nan}, "from 0 to 100 %"),
    ],
)
def test_an_option_out_of_range_is_refused_by_name(changes: dict[str, Any], said: str) -> None:
    with pytest.raises(ValueError, match=f"Repair: .*{said}"):
        replace(REPAIR, **changes)


@pytest.mark.parametrize("study", [{"study_years": 0}, {"study_years": 101}, {"real_rate": 3.5},
                                   {"price_rise": 3.0}])  # fmt: skip
def test_a_study_out_of_range_is_refused(study: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"A rate is from|A study runs over 1 to 100"):
        compared(**study)


def test_options_are_compared_one_of_each_kind() -> None:
    with pytest.raises(ValueError, match="each kind"):
        compared(REPAIR, REPAIR)


def test_the_basis_says_years_rates_and_what_is_left() -> None:
    assert compared().basis == (
        "Over 30 years at today's prices, real rate 3.5 % a year; in the money of each year with "
        "prices rising 3 % a year; the life left at the end counts back in a straight line."
    )
