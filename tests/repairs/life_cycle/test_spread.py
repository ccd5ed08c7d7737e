"""What the answer hangs on most, and how sure it is."""

from dataclasses import replace

import pytest
from hypothesis import given

from repairs.life_cycle.compare import Option
from repairs.life_cycle.options import Study
from repairs.life_cycle.spread import draw_spread
from tests.repairs.life_cycle.made import (
    RATE,
    REPAIR,
    REPLACE,
    SPLICE,
    WATCH,
    YEARS,
    compared,
    real_rates,
    sets_of_options,
    studies,
)

UNSURE = replace(REPAIR, life_low=6, life_high=14)
STUDY = Study(YEARS, RATE)


def test_the_life_of_the_repair_matters_most_in_the_worked_example() -> None:
    first = compared(UNSURE, REPLACE).hangs_on[0]
    assert (first.option, first.words, first.unit) == ("repair", "Repair: life", "years")
    assert (first.low, first.high) == (6, 14)
    assert first.turns


def test_a_swing_is_the_difference_worked_out_anew() -> None:
    swing = next(each for each in compared().hangs_on if each.words == "Repair: first cost")
    dear = compared(replace(REPAIR, first=420 * 1.2), REPLACE).results
    assert swing.at_high == pytest.approx(dear[1].equivalent_annual - dear[0].equivalent_annual)
    assert swing.high == pytest.approx(504)


def test_the_rate_swings_by_one_point() -> None:
    swing = next(each for each in compared().hangs_on if each.unit == "rate")
    assert (swing.low, swing.high) == pytest.approx((0.025, 0.045))
    low = compared(real_rate=0.025).results
    assert swing.at_low == pytest.approx(low[1].equivalent_annual - low[0].equivalent_annual)


def test_what_costs_nothing_or_is_certain_does_not_swing() -> None:
    sure = replace(REPAIR, spread=0, repaint=0), replace(REPLACE, spread=0)
    assert [swing.words for swing in compared(*sure).hangs_on] == ["real rate"]
    assert compared(REPAIR).hangs_on == ()


def test_what_follows_watching_swings_too() -> None:
    words = {
        swing.words
        for swing in compared(REPAIR, REPLACE, replace(SPLICE, first=9000), WATCH).hangs_on
    }
    assert {"Repair: first cost", "Watch: upkeep", "Replace: first cost"} <= words
    assert "Splice: first cost" not in words


@given(sets_of_options, studies, real_rates)
def test_the_widest_swing_comes_first(options: tuple[Option, ...], years: int, rate: float) -> None:
    widths = [
        swing.width for swing in compared(*options, study_years=years, real_rate=rate).hangs_on
    ]
    assert widths == sorted(widths, reverse=True)


# Draws by chance


def test_the_same_seed_gives_the_same_answer_and_another_a_near_one() -> None:
    one, same, other = (draw_spread([UNSURE, REPLACE], STUDY, seed) for seed in (7, 7, 8))
    assert one == same
    assert one != other
    assert one.shares["repair"] == pytest.approx(other.shares["repair"], abs=0.03)


def test_inputs_without_spread_give_the_one_answer_in_every_draw() -> None:
    sure = [replace(option, spread=0) for option in (REPAIR, REPLACE)]
    results, spread = compared(*sure).results, draw_spread(sure, STUDY, 1, draws=50)
    assert spread.shares == {"repair": 1, "replace": 0}
    for result in results:
        band = spread.annual[result.option.kind]
        assert (band.p10, band.p50, band.p90) == pytest.approx((result.equivalent_annual,) * 3)


def test_a_triangle_is_drawn_as_its_formula_says() -> None:
    """Limit case: costs alone vary, over one life, so EAC is a triangle of ±20 % with its median
    at its peak and its tenth at 1 − 0.2 · (1 − √0.2)."""
    plain = [Option("repair", "Repair", 1000, 0, 30)]
    middle = compared(*plain).results[0].equivalent_annual
    band = draw_spread(plain, STUDY, 3, draws=100_000).annual["repair"]
    tenth = 0.2 * (1 - 0.2**0.5)
    assert band.p50 == pytest.approx(middle, rel=0.003)
    assert band.p10 == pytest.approx(middle * (1 - tenth), rel=0.003)
    assert band.p90 == pytest.approx(middle * (1 + tenth), rel=0.003)


@given(sets_of_options, studies, real_rates)
def test_the_shares_add_up_and_the_bands_stand_in_order(
    options: tuple[Option, ...], years: int, rate: float
) -> None:
    spread = draw_spread(options, Study(years, rate), seed=1, draws=200)
    assert sum(spread.shares.values()) == pytest.approx(1)
    assert all(band.p10 <= band.p50 <= band.p90 for band in spread.annual.values())


@pytest.mark.parametrize("draws", [0, -1, 100_001])
def test_draws_out_of_range_are_refused(draws: int) -> None:
    with pytest.raises(ValueError, match="1 to 100,000"):
        draw_spread([REPAIR], STUDY, 1, draws)
