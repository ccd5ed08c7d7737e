"""Batches that can be weighed and used in time. Worked out by hand, and by properties."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from materials.batches import BY_POT_LIFE, BY_SHEET, BY_TIME, Batches, into_batches
from materials.mixing import MixRatio, deviation, measured
from materials.working_time import PotLife, working_time

D = Decimal
MINUTE = timedelta(minutes=1)
RATIO = MixRatio(D(100), D(33), "weight")
POT = PotLife(30 * MINUTE, 20, 100, 15 * MINUTE, 400)
BAD = [D(0), D(-1), D("1e30"), D("NaN"), D("Infinity")]

parts = st.decimals(D(1), D(100), places=1)
ratios = st.none() | st.builds(MixRatio, parts, parts, st.just("weight"))
steps = st.sampled_from([D("0.1"), D(1), D(2), D(5)])
pots = st.none() | st.builds(
    lambda time, mass, share, times: PotLife(time, 20, mass, time * share, mass * times),
    st.timedeltas(5 * MINUTE, timedelta(hours=3)),
    st.floats(20, 500),
    st.floats(0.1, 1),
    st.floats(1, 10),
)
cases = st.fixed_dictionaries(
    {
        "total": st.decimals(D(20), D(5000), places=1),
        "ratio": ratios,
        "mass_limit": st.none() | st.decimals(D(50), D(2000), places=1),
        "pot": pots,
        "temperature_c": st.none() | st.floats(0, 40),
        "pace_g_min": st.none() | st.decimals(D(5), D(100), places=1),
        "step": steps,
    }
)


def batches(total: Any, ratio: MixRatio | None = RATIO, **changes: Any) -> Batches:
    given_ = {
        "mass_limit": None, "pot": None, "temperature_c": None, "pace_g_min": None, "step": D(1),
    } | changes  # fmt: skip
    return into_batches(D(total), ratio, **given_)


def test_what_fits_is_one_batch() -> None:
    found = batches(133)
    [batch] = found.batches
    assert (batch.total, batch.a, batch.b, batch.working) == (133, 100, 33, None)
    assert (found.most, found.bound_by, found.remark) == (None, "", "")


def test_the_sheets_largest_batch_is_kept() -> None:
    found = batches(1000, mass_limit=D(400))
    assert [batch.total for batch in found.batches] == [334, 334, 334]
    assert [batch.number for batch in found.batches] == [1, 2, 3]
    assert (found.most, found.bound_by) == (400, BY_SHEET)


def test_a_batch_is_laid_within_its_working_time() -> None:
    """By hand: an hour's pot life of any mass at 10 g a minute is 600 g."""
    found = batches(1500, pot=PotLife(60 * MINUTE, 20), temperature_c=20, pace_g_min=D(10))
    assert (found.most, found.bound_by) == (600, BY_TIME)
    assert [batch.total for batch in found.batches] == [500, 500, 500]


def test_a_warm_day_makes_batches_smaller_and_a_cold_one_no_larger() -> None:
    def most(celsius: float) -> Decimal | None:
        pot = PotLife(60 * MINUTE, 20)
        return batches(1500, pot=pot, temperature_c=celsius, pace_g_min=D(10)).most

    assert most(30) == 285  # 600 / 2.1051, the computed rate factor
    assert most(5) == most(20) == 600


def test_the_working_time_is_that_of_the_batchs_own_mass() -> None:
    found = batches(900, pot=POT, temperature_c=20, pace_g_min=D(10), mass_limit=D(500))
    assert found.bound_by == BY_TIME
    [*_, last] = found.batches
    assert last.working == working_time(POT, 20, last.total)
    assert found.most == 208  # 10 g/min × 30 min × (m/100)^−½: m³ = 9,000,000


def test_without_a_largest_batch_the_mass_of_the_pot_life_is_kept() -> None:
    found = batches(900, pot=PotLife(30 * MINUTE, 20, 150), pace_g_min=D(100), temperature_c=20)
    assert (found.most, found.bound_by) == (150, BY_POT_LIFE)
    assert found.remark == ""


def test_a_largest_batch_past_what_the_pot_life_tells_is_remarked_on() -> None:
    found = batches(900, pot=PotLife(300 * MINUTE, 20, 150), mass_limit=D(500), pace_g_min=D(50))
    assert "150 g at most" in found.remark


def test_without_a_pace_it_says_that_the_working_time_was_not_held_to() -> None:
    assert "enter a pace" in batches(900, pot=POT).remark


def test_a_ratio_by_volume_gives_no_grams_of_a_and_b() -> None:
    found = batches(300, MixRatio(D(2), D(1), "volume"))
    assert (found.batches[0].total, found.batches[0].a) == (300, None)
    assert "measure them 2 : 1 by volume" in found.remark


def test_a_one_part_product_is_only_weighed_out() -> None:
    [batch] = batches(250, None).batches
    assert (batch.total, batch.a, batch.b) == (250, None, None)


def test_a_step_more_is_mixed_where_that_brings_the_ratio_right() -> None:
    """By hand: 50 g in whole grams is 38 : 12, 4.3 % off, and 52 g is 39 : 13, 1 % off."""
    [batch] = batches(50).batches
    assert (batch.a, batch.b) == (39, 13)


def test_a_scale_that_misses_the_ratio_says_so() -> None:
    assert "use a finer scale or a larger batch" in batches(10, step=D(5), mass_limit=D(15)).remark


def test_a_batch_too_small_for_the_scale_is_refused() -> None:
    with pytest.raises(ValueError, match="too coarse"):
        batches(5, step=D(5), mass_limit=D(5))


def test_a_crew_too_slow_for_the_pot_life_is_told() -> None:
    with pytest.raises(ValueError, match=BY_TIME):
        batches(900, pot=PotLife(MINUTE, 20), temperature_c=20, pace_g_min=D("0.5"))
    with pytest.raises(ValueError, match=BY_TIME):
        batches(900, pot=PotLife(MINUTE, 20), temperature_c=20, pace_g_min=D("1e-20"))


def test_more_than_five_hundred_batches_are_refused() -> None:
    assert len(batches(500, None, mass_limit=D(1)).batches) == 500
    with pytest.raises(ValueError, match="More than 500 batches"):
        batches(501, None, mass_limit=D(1))


def test_a_temperature_out_of_range_is_refused() -> None:
    with pytest.raises(ValueError, match="−40 to 100 °C"):
        batches(100, pot=POT, temperature_c=200, pace_g_min=D(10))


@pytest.mark.parametrize("bad", BAD)
def test_nothing_and_less_is_refused(bad: Decimal) -> None:
    for call in (
        lambda: batches(bad),
        lambda: batches(100, mass_limit=bad),
        lambda: batches(100, pace_g_min=bad),
    ):
        with pytest.raises(ValueError, match="above zero"):
            call()


@pytest.mark.parametrize("bad", [D(0), D(-1), D("NaN"), D("Infinity")])
def test_a_scale_without_a_step_is_refused(bad: Decimal) -> None:
    with pytest.raises(ValueError, match="step of a scale is above zero"):
        batches(100, step=bad)


def planned(case: dict[str, Any]) -> Batches:
    """The batches of a case; one that cannot be planned says so, and is left out here."""
    try:
        return into_batches(**case)
    except ValueError as refused:
        assume("scale" not in str(refused))
        raise


@given(cases)
def test_batches_are_enough_and_equal_and_weighed_in_whole_steps(case: dict[str, Any]) -> None:
    found = planned(case)
    totals = {batch.total for batch in found.batches}
    assert len(totals) == 1
    assert sum(batch.total for batch in found.batches) >= case["total"]
    for batch in found.batches:
        weighed = (batch.total, batch.a or D(0), batch.b or D(0))
        assert all(amount % case["step"] == 0 for amount in weighed)
        assert case["ratio"] is None or (batch.a or 0) + (batch.b or 0) == batch.total


@given(cases)
def test_no_batch_is_above_what_bounds_it_and_none_too_many(case: dict[str, Any]) -> None:
    found = planned(case)
    if found.most is None:
        assert len(found.batches) == 1
        return
    assert all(batch.total <= found.most for batch in found.batches)
    assert case["mass_limit"] is None or found.most <= case["mass_limit"]
    assert (len(found.batches) - 1) * found.most < case["total"]


@given(cases)
def test_each_batch_is_laid_before_its_time_is_over(case: dict[str, Any]) -> None:
    found = planned(case)
    for batch in found.batches[:1]:
        assert (batch.working is None) == (case["pot"] is None)
        if batch.working is not None and case["pace_g_min"] is not None:
            laid = timedelta(minutes=float(batch.total / case["pace_g_min"]))
            assert laid <= batch.working.to_use_within


@given(cases)
def test_the_ratio_of_a_batch_is_within_tolerance_or_remarked_on(case: dict[str, Any]) -> None:
    found = planned(case)
    batch = found.batches[0]
    if batch.a is None or batch.b is None:
        return
    off = abs(deviation(measured(batch.a, batch.b, "weight"), case["ratio"]))
    assert off <= D("0.05") or "finer scale" in found.remark


@given(cases, st.decimals(D("1.1"), D(4), places=1))
def test_a_slower_crew_never_gets_larger_batches(case: dict[str, Any], slower: Decimal) -> None:
    assume(case["pace_g_min"] is not None)
    slow = planned(case | {"pace_g_min": case["pace_g_min"] / slower})
    fast = planned(case)
    assert slow.most is None or fast.most is None or slow.most <= fast.most
