"""The rate of a resin from its pot life: limit cases, and the cup solved once more by scipy."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from materials.gelling import (
    GELLED,
    RATE_OF_CUP,
    STILL_AIR_W_M2K,
    Cup,
    arrhenius_at,
    faster,
    hours_to_gel,
    rate_of_cup,
    rate_of_film,
)
from materials.rates import arrhenius
from tests.published import published

CUP = Cup(100, 22, 266.7, 1.5, 1.3, 55)
pot_lives = st.floats(1 / 6, 24)
masses = st.floats(1, 50_000)


def test_gel_is_that_of_flory_and_stockmayer() -> None:
    """From theory, recalled: not read in a source."""
    [row] = published("exotherm", "Gel conversion")
    assert pytest.approx(float(row["value"]), abs=1e-5) == GELLED


@given(st.floats(-40, 100), st.floats(-40, 100), st.floats(10, 200))
def test_the_rate_is_that_of_all_the_others_where_they_hold(
    celsius: float, reference: float, energy: float
) -> None:
    assert arrhenius_at(celsius, reference, energy) == pytest.approx(
        arrhenius(celsius, reference, energy)
    )


@given(pot_lives, masses)
def test_a_cup_without_heat_is_a_film(pot_life: float, mass: float) -> None:
    """Limit case."""
    cool = replace(CUP, rise_k=0.0, mass_g=mass)
    assert rate_of_cup(pot_life, cool) == pytest.approx(rate_of_film(pot_life), rel=1e-4)


@pytest.mark.parametrize("pot_life", [0.1, 0.5, 4])
def test_a_huge_cup_keeps_all_its_heat(pot_life: float) -> None:
    """Limit case: the time to gel is then one integral over the share reacted."""
    share, _ = quad(lambda c: 1 / (faster(CUP, 266.7 * c) * (1 - c)), 0, GELLED)
    huge = replace(CUP, mass_g=1e15)
    assert rate_of_cup(pot_life, huge) == pytest.approx(share / pot_life, rel=0.01)


@pytest.mark.parametrize("mass", [10, 100, 1000])
def test_the_cup_gels_within_its_pot_life(mass: float) -> None:
    """Independent: the two equations over time, by scipy."""
    cup = replace(CUP, mass_g=float(mass))
    rate = rate_of_cup(0.5, cup)
    wide = (4 * mass / 1.3e6 / math.pi) ** (1 / 3)
    loss = STILL_AIR_W_M2K * 1.5 * math.pi * wide**2 / (mass * 1.5) * 3600

    def slope(_: float, state: np.ndarray) -> list[float]:
        reacted, warmer = state
        reacting = rate * faster(cup, warmer) * (1 - reacted)
        return [reacting, cup.rise_k * reacting - loss * warmer]

    def gels(_: float, state: np.ndarray) -> float:
        return state[0] - GELLED

    solved = solve_ivp(slope, (0, 5), [0, 0], "LSODA", events=gels, rtol=1e-8, atol=1e-10)
    assert solved.t_events[0][0] == pytest.approx(0.5, rel=0.02)


@given(pot_lives, masses, st.floats(0, 400))
def test_the_rate_lies_below_that_of_a_film(pot_life: float, mass: float, rise: float) -> None:
    cup = replace(CUP, mass_g=mass, rise_k=rise)
    assert 0 < rate_of_cup(pot_life, cup) <= rate_of_film(pot_life)


@given(pot_lives, masses, masses)
def test_the_same_pot_life_of_a_larger_cup_is_of_a_slower_resin(
    pot_life: float, one: float, other: float
) -> None:
    small, large = sorted((one, other))
    rates = [rate_of_cup(pot_life, replace(CUP, mass_g=mass)) for mass in (small, large)]
    assert rates[1] <= rates[0] * (1 + 1e-5)


@given(st.floats(0.01, 10), masses)
def test_twice_the_rate_gels_sooner(rate: float, mass: float) -> None:
    cup = replace(CUP, mass_g=mass)
    assert hours_to_gel(2 * rate, cup) < hours_to_gel(rate, cup)


def test_the_formula_tells_words_symbols_source_and_range() -> None:
    assert all(vars(RATE_OF_CUP).values())
