"""Working time at a temperature and in a mass. No worked example is published that could be read,
so that limit cases, the computed rate factors and properties are the check."""

import math
import re
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.rates import arrhenius
from materials.working_time import POT_LIFE, PotLife, pot_life_of, working_time
from repairs.remarks import SheetFacts
from tests.published import published

D = Decimal
MINUTE = timedelta(minutes=1)
HOUR = timedelta(hours=1)
TWO_POINTS = PotLife(40 * MINUTE, 20, 100, 20 * MINUTE, 400)

temperatures = st.floats(-40, 100)
masses = st.floats(0.1, 10_000)
pots = st.builds(
    lambda time, share, mass, times, at, energy: PotLife(
        time, at, mass, time * share, mass * times, energy
    ),
    st.timedeltas(MINUTE, timedelta(days=2)),
    st.floats(0.05, 1),
    st.floats(1, 1000),
    st.floats(1, 50),
    temperatures,
    st.none() | st.floats(10, 200),
)


def near(time: timedelta) -> object:
    return pytest.approx(time / MINUTE, abs=1e-4)


def test_a_pot_life_of_the_sheets_own_conditions_is_the_sheets_own() -> None:
    found = working_time(TWO_POINTS, 20, 100)
    assert found.time == found.shortest == found.longest == found.by_ten_degrees == 40 * MINUTE
    assert found.remark == ""


@pytest.mark.parametrize("row", published("cure_rate", "Rate factor relative"))
def test_warmth_shortens_and_cold_lengthens_it_by_the_computed_factor(row: dict[str, str]) -> None:
    energy, celsius = (float(figure) for figure in re.findall(r"\d+", row["inputs"]))
    pot = PotLife(HOUR, 20, activation_kj_mol=energy)
    found = working_time(pot, celsius, None).time
    assert found / HOUR == pytest.approx(1 / float(row["value"]), rel=4e-4)


def test_without_an_energy_on_the_sheet_the_band_is_that_of_the_typical_ones() -> None:
    found = working_time(PotLife(HOUR, 20), 30, None)
    assert (found.shortest / MINUTE, found.time / MINUTE, found.longest / MINUTE) == (
        pytest.approx((60 / 2.2525, 60 / 2.1051, 60 / 1.9674), rel=1e-4)
    )
    assert found.by_ten_degrees == HOUR / 2
    assert "Thermochimica Acta" in found.basis


def test_a_colder_day_is_told_and_not_reckoned_with() -> None:
    found = working_time(PotLife(HOUR, 20), 10, None)
    assert found.time > 2 * HOUR
    assert found.to_use_within == found.by_sheet == HOUR


def test_between_two_masses_the_time_runs_along_the_line() -> None:
    """From 100 g to 400 g it halves, so that each doubling takes a factor of the root of two."""
    assert near(working_time(TWO_POINTS, 20, 200).time) == 40 / math.sqrt(2)
    assert near(working_time(TWO_POINTS, 20, 400).time) == 20


def test_a_mass_below_the_sheets_own_is_not_given_longer() -> None:
    assert working_time(TWO_POINTS, 20, 1).time == 40 * MINUTE


def test_a_mass_past_the_sheets_largest_gets_a_remark_and_no_figure_of_its_own() -> None:
    found = working_time(TWO_POINTS, 20, D("400.1"))
    assert found.time == 20 * MINUTE
    assert "400 g at most" in found.remark
    single = working_time(PotLife(40 * MINUTE, 20, 100), 20, 150)
    assert single.time == 40 * MINUTE
    assert "by how much is not told" in single.remark


def test_a_pot_life_without_its_mass_is_incomplete() -> None:
    """Published, ASTM D2471: the mass must be stated. The shorter time stands then."""
    [row] = published("pot_life", "Mass dependence")
    assert row["source"].split(",")[0] in POT_LIFE.source
    unknown = PotLife(40 * MINUTE, 20, None, 20 * MINUTE, 400)
    assert working_time(unknown, 20, 50).time == 20 * MINUTE
    assert working_time(PotLife(40 * MINUTE, 20), 20, 5000).remark == ""


@pytest.mark.parametrize(
    ("pot", "celsius", "words"),
    [
        (PotLife(HOUR, 20), None, "temperature of the material is not recorded"),
        (PotLife(HOUR), 30, "temperature of the sheet's pot life is not recorded"),
    ],
)
def test_a_temperature_that_is_not_recorded_is_not_guessed(
    pot: PotLife, celsius: float | None, words: str
) -> None:
    found = working_time(pot, celsius, 10)
    assert found.time == found.shortest == found.longest == HOUR
    assert found.by_ten_degrees is None
    assert words in found.basis


@pytest.mark.parametrize(
    "wrong",
    [
        {"time": timedelta(0)},
        {"time": -HOUR},
        {"time": timedelta(days=367)},
        {"large_time": timedelta(0)},
        {"mass_g": 0},
        {"mass_g": math.nan},
        {"mass_g": math.inf},
        {"large_mass_g": 1e300},
        {"large_mass_g": -1},
        {"large_time": 2 * HOUR},
        {"mass_g": 100, "large_mass_g": 99},
    ],
)
def test_a_pot_life_that_cannot_be_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"pot life|larger mass"):
        PotLife(**{"time": HOUR, **wrong})  # type: ignore[arg-type]


@pytest.mark.parametrize("mass", [0, -1, math.nan, math.inf])
def test_a_mass_of_nothing_is_refused(mass: float) -> None:
    with pytest.raises(ValueError, match="mass is above zero"):
        working_time(TWO_POINTS, 20, mass)


@pytest.mark.parametrize("celsius", [-41, 101, math.nan, math.inf])
def test_a_temperature_out_of_range_is_refused(celsius: float) -> None:
    with pytest.raises(ValueError, match="−40 to 100 °C"):
        working_time(TWO_POINTS, celsius, 100)


@pytest.mark.parametrize(("celsius", "reference"), [(-40, 100), (100, -40)])
def test_the_ends_of_the_range_are_reckoned_through(celsius: float, reference: float) -> None:
    pot = PotLife(timedelta(days=366), reference, activation_kj_mol=200)
    found = working_time(pot, celsius, None)
    assert timedelta(0) <= found.time <= timedelta(days=366)
    assert found.speed == arrhenius(celsius, reference, 200)


@given(pots, temperatures, masses)
def test_the_estimate_lies_in_its_band_and_is_used_within_the_sheets_time(
    pot: PotLife, celsius: float, mass: float
) -> None:
    found = working_time(pot, celsius, mass)
    assert timedelta(0) <= found.shortest <= found.time <= found.longest
    assert found.to_use_within <= found.by_sheet <= pot.time
    assert found.to_use_within <= found.time


@given(pots, temperatures, masses, masses)
def test_a_larger_mass_never_has_longer(
    pot: PotLife, celsius: float, one: float, other: float
) -> None:
    small, large = sorted((one, other))
    assert working_time(pot, celsius, large).time <= working_time(pot, celsius, small).time


@given(pots, temperatures, temperatures, masses)
def test_a_warmer_day_never_has_longer(pot: PotLife, one: float, other: float, mass: float) -> None:
    cold, warm = sorted((one, other))
    assert working_time(pot, warm, mass).time <= working_time(pot, cold, mass).time


@given(pots, temperatures)
def test_the_two_points_of_a_sheet_are_met(pot: PotLife, celsius: float) -> None:
    assert pot.mass_g is not None
    assert pot.large_mass_g is not None
    large = working_time(pot, celsius, pot.large_mass_g)
    assert large.by_sheet == pot.large_time
    if pot.mass_g < pot.large_mass_g:
        assert working_time(pot, celsius, pot.mass_g).by_sheet == pot.time


@given(st.floats(0, 60), st.floats(0, 60))
def test_it_is_the_sheets_time_divided_by_the_speed(celsius: float, reference: float) -> None:
    found = working_time(PotLife(HOUR, reference), celsius, None)
    assert found.time / HOUR * arrhenius(celsius, reference, 55) == pytest.approx(1, rel=1e-3)


def sheet(**figures: object) -> SheetFacts:
    return SheetFacts("Resin", "sealer", "1", **figures)  # type: ignore[arg-type]


def test_the_pot_life_of_a_sheet_has_all_that_the_sheet_tells() -> None:
    told = sheet(
        pot_life=HOUR, pot_life_at_c=D(23), pot_life_mass_g=D(100), pot_life_large=HOUR / 3,
        pot_life_large_mass_g=D(500), activation_energy_kj_mol=D(58), working_time_thick=HOUR / 2,
    )  # fmt: skip
    assert pot_life_of(told) == PotLife(HOUR, 23, 100, HOUR / 3, 500, 58)


def test_a_sheet_without_a_pot_life_is_used_within_its_shorter_working_time() -> None:
    told = sheet(working_time_thick=HOUR, working_time_thin=2 * HOUR, working_time_at_c=D(20))
    assert pot_life_of(told) == PotLife(HOUR, 20)
    assert pot_life_of(sheet(working_time_thin=2 * HOUR)) == PotLife(2 * HOUR)


@pytest.mark.parametrize("figures", [{}, {"pot_life": timedelta(0)}])
def test_a_silent_sheet_has_no_pot_life(figures: dict[str, object]) -> None:
    assert pot_life_of(sheet(**figures)) is None


def test_a_time_of_years_is_as_good_as_a_year() -> None:
    found = pot_life_of(sheet(pot_life=timedelta(days=4000)))
    assert found == PotLife(timedelta(days=366))
