"""How long repairs last: against a published data set, the lifelines package, and itself."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter
from lifelines.datasets import load_leukemia
from lifelines.statistics import logrank_test
from lifelines.utils import qth_survival_times

from repairs.survival import FEWEST_FAILURES, FEWEST_REPAIRS, log_rank, survival
from tests.published import published

FREIREICH = {"placebo": 1, "6-MP": 0}


def lives_of(group: str) -> tuple[list[float], list[bool]]:
    """The lives as the reference writes them: `6*3 6+` is three failures at 6 and one left then."""
    (row,) = published("remission_times", f"lives under {group}")
    years, failed = [], []
    for word in row["inputs"].split():
        time, _, often = word.removesuffix("+").partition("*")
        years += [float(time)] * int(often or 1)
        failed += [not word.endswith("+")] * int(often or 1)
    return years, failed


@pytest.mark.parametrize("group", FREIREICH)
def test_the_lives_written_down_are_those_that_are_shipped(group):
    data = load_leukemia()
    shipped = data[data.Rx == FREIREICH[group]]
    years, failed = lives_of(group)
    assert sorted(zip(years, failed, strict=True)) == sorted(
        zip(shipped.t, shipped.status == 1, strict=True)
    )


@pytest.mark.parametrize(
    "row", published("remission_times", "share, 6-MP"), ids=lambda r: r["quantity"]
)
def test_the_published_shares_are_met(row):
    step = survival(*lives_of("6-MP")).at(float(row["quantity"].split()[-1]))
    assert step is not None
    assert step.share == pytest.approx(float(row["value"]), abs=0.0006)


@pytest.mark.parametrize("group", FREIREICH)
def test_the_published_median_is_met(group):
    (row,) = published("remission_times", f"median, {group}")
    assert survival(*lives_of(group)).median == float(row["value"])


def test_the_published_log_rank_is_met():
    (row,) = published("remission_times", "log-rank")
    found = log_rank(*lives_of("placebo"), *lives_of("6-MP"))
    assert found is not None
    assert found.chi_square == pytest.approx(float(row["value"]), abs=0.006)
    assert found.z > 0


lives = st.lists(
    st.tuples(st.integers(0, 40).map(lambda n: n / 4), st.booleans()), min_size=10, max_size=60
)
enough = lives.filter(lambda rows: sum(failed for _, failed in rows) >= FEWEST_FAILURES)


def split(rows) -> tuple[list[float], list[bool]]:
    return [years for years, _ in rows], [failed for _, failed in rows]


@given(enough)
def test_the_curve_and_its_band_are_those_of_lifelines(rows):
    found, other = survival(*split(rows)), KaplanMeierFitter().fit(*split(rows))
    share, band = other.survival_function_, other.confidence_interval_
    table = other.event_table
    for step in found.steps:
        assert step.share == pytest.approx(share.loc[step.years].iloc[0], abs=1e-9)
        if step.low is not None:
            edges = band.loc[step.years].tolist()
            assert [step.low, step.high] == pytest.approx(edges, abs=1e-6)
        # Times of nought stand in lifelines' own first row with all that enter.
        counts = table.loc[step.years]
        assert (step.at_risk, step.failed, step.censored) == (
            counts.at_risk, counts.observed, counts.censored,
        )  # fmt: skip


@given(enough)
def test_the_median_is_that_of_lifelines(rows):
    found, other = survival(*split(rows)), KaplanMeierFitter().fit(*split(rows))
    # A share of exactly one half is a matter of the last digit.
    if any(abs(step.share - 0.5) < 1e-9 for step in found.steps):
        return
    assert (found.median if found.median is not None else np.inf) == other.median_survival_time_
    low, high = (
        found.median_low if found.median_low is not None else np.inf,
        found.median_high if found.median_high is not None else np.inf,
    )
    assert low <= other.median_survival_time_ <= high


def test_the_band_of_a_median_is_where_the_band_of_the_curve_reaches_one_half():
    years, failed = lives_of("placebo")
    found, other = survival(years, failed), KaplanMeierFitter().fit(years, failed)
    edges = qth_survival_times(0.5, other.confidence_interval_)
    assert sorted(edges.iloc[0]) == [found.median_low, found.median_high]


@given(enough, enough)
def test_the_log_rank_is_that_of_lifelines(first, second):
    found = log_rank(*split(first), *split(second))
    if found is None:
        return
    a, b = split(first), split(second)
    other = logrank_test(a[0], b[0], a[1], b[1])
    assert found.chi_square == pytest.approx(other.test_statistic, rel=1e-6, abs=1e-9)
    assert found.p == pytest.approx(other.p_value, rel=1e-6, abs=1e-9)


@given(enough)
def test_the_curve_never_rises_and_stays_between_nought_and_one(rows):
    steps = survival(*split(rows)).steps
    assert all(after.share <= before.share for before, after in pairwise(steps))
    for step in steps:
        assert 0 <= step.share <= 1
        if step.low is not None:
            assert 0 <= step.low <= step.share + 1e-12 <= step.high + 2e-12 <= 1 + 3e-12
    assert sum(step.failed + step.censored for step in steps) == len(rows)


@given(enough)
def test_without_censoring_it_is_what_the_counting_says(rows):
    years, _ = split(rows)
    for step in survival(years, [True] * len(years)).steps:
        lasted_longer = sum(life > step.years for life in years)
        assert step.share == pytest.approx(lasted_longer / len(years))


@given(enough, st.randoms())
def test_the_order_of_the_repairs_makes_no_difference(rows, random):
    shuffled = list(rows)
    random.shuffle(shuffled)
    assert survival(*split(shuffled)) == survival(*split(rows))


@given(enough, enough)
def test_two_groups_the_other_way_round_turn_the_sign(first, second):
    one, other = (
        log_rank(*split(first), *split(second)),
        log_rank(*split(second), *split(first)),
    )
    assert (one is None) == (other is None)
    if one and other:
        assert (one.z, one.p) == (pytest.approx(-other.z, abs=1e-9), pytest.approx(other.p))


@given(enough)
def test_a_group_against_itself_does_not_differ(rows):
    found = log_rank(*split(rows), *split(rows))
    assert found is None or found.p == pytest.approx(1)


@given(enough)
def test_every_life_twice_gives_the_same_curve_with_a_narrower_band(rows):
    once, twice = survival(*split(rows)), survival(*split(rows + rows))
    for one, two in zip(once.steps, twice.steps, strict=True):
        assert two.share == pytest.approx(one.share)
        if one.low is not None:
            assert two.low >= one.low - 1e-12
            assert two.high <= one.high + 1e-12


# Few, none, and nonsense


@pytest.mark.parametrize(
    ("count", "failures"), [(0, 0), (9, 9), (200, 0), (200, FEWEST_FAILURES - 1)]
)
def test_too_few_have_counts_and_no_curve(count, failures):
    failed = [number < failures for number in range(count)]
    found = survival([float(number) for number in range(count)], failed)
    assert (found.count, found.failed, found.is_enough) == (count, failures, False)
    assert (found.median, found.at(1), found.at_risk(1)) == (None, None, 0)


def test_the_fewest_repairs_with_the_fewest_failures_have_a_curve():
    years = [float(number) for number in range(FEWEST_REPAIRS)]
    failed = [number < FEWEST_FAILURES for number in range(FEWEST_REPAIRS)]
    found = survival(years, failed)
    assert found.steps[-1].share == pytest.approx(0.7)
    assert found.median is None
    assert found.longest == 9


def test_before_the_first_failure_all_are_sound_and_there_is_no_band():
    years = [1.0, 2.0] + [float(number) for number in range(3, 13)]
    found = survival(years, [False, False] + [True] * 10)
    assert [(s.share, s.low, s.high) for s in found.steps[:2]] == [(1, None, None)] * 2
    assert (found.steps[-1].share, found.steps[-1].low) == (0, None)


def test_what_holds_in_a_year_is_the_last_step_before_it():
    found = survival(*lives_of("6-MP"))
    assert found.at(5.9) is None
    assert found.at(6.5).years == 6
    assert found.at(35.1) is None
    assert [found.at_risk(week) for week in (0, 6, 6.5, 35, 36)] == [21, 21, 17, 1, 0]


def test_groups_never_at_risk_together_are_not_compared():
    early, late = [1.0] * 12, [2.0] * 12
    assert log_rank(early, [False] * 12, late, [True] * 12) is None
    assert log_rank(early, [True] * 12, early, [True] * 12) is None


@pytest.mark.parametrize(
    ("years", "failed"),
    [([-1.0], [True]), ([float("nan")], [True]), ([float("inf")], [True]), ([1.0], [])],
)
def test_what_is_no_life_is_refused(years, failed):
    with pytest.raises(ValueError, match="life"):
        survival(years, failed)
