"""Adiabatic rise, and self-heating against its published values and a solution of its own."""

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from materials.self_heating import (
    ADIABATIC_RISE,
    CRITICAL,
    SELF_HEATING,
    adiabatic_rise_k,
    critical_half_size_mm,
    delta,
)
from tests.published import published

NAMES = {"infinite slab": "slab", "infinite cylinder": "cylinder", "sphere": "sphere"}
BEND = {"slab": 0, "cylinder": 1, "sphere": 2}
PUTTY = {"heat_j_g": 250.0, "density_g_ml": 0.8, "activation_kj_mol": 55.0, "at_c": 20.0}
forms = st.sampled_from(sorted(CRITICAL))
rates = st.floats(0.01, 100)


@pytest.mark.parametrize("row", published("exotherm", "Frank-Kamenetskii critical"))
def test_the_critical_values_are_the_published_ones(row: dict[str, str]) -> None:
    """Published to two decimals."""
    decimals = len(row["value"].partition(".")[2])
    assert round(CRITICAL[NAMES[row["inputs"]]], decimals) == float(row["value"])


@pytest.mark.parametrize("form", CRITICAL)
def test_the_critical_values_solve_the_equation(form: str) -> None:
    """Independent: the greatest δ for which θ″ + j/x θ′ + δ e^θ = 0 has a steady solution, by
    scipy. With x stretched so that δ is 1, the radius at which θ falls to 0 is √δ."""

    def flipped(middle: float) -> float:
        def slope(x: float, state: np.ndarray) -> list[float]:
            warmth, fall = state
            return [fall, -math.exp(warmth) - BEND[form] * fall / x]

        def cool(_: float, state: np.ndarray) -> float:
            return state[0]

        cool.terminal = True  # type: ignore[attr-defined]
        near = 1e-6
        begin = [middle, -near * math.exp(middle) / (BEND[form] + 1)]
        solved = solve_ivp(slope, (near, 10), begin, events=cool, rtol=1e-9, atol=1e-11)
        return -(solved.t_events[0][0] ** 2)

    found = minimize_scalar(flipped, bounds=(0.5, 3), method="bounded")
    assert CRITICAL[form] == pytest.approx(-found.fun, abs=1e-3)


@pytest.mark.parametrize("row", published("exotherm", "Adiabatic rise")[1:])
def test_the_adiabatic_rise_is_heat_over_specific_heat(row: dict[str, str]) -> None:
    """Computed outside of this project with the same identity: a regression value."""
    heat, equivalent = map(float, re.findall(r"= (\d+)", row["inputs"]))
    rises = re.findall(r"([\d.]+) \(cp ([\d.]+)\)", row["value"])
    assert len(rises) == 2
    for rise, capacity in rises:
        ours = adiabatic_rise_k(heat * 1000 / equivalent, float(capacity))
        assert ours == pytest.approx(float(rise), abs=0.6)


def test_no_heat_means_no_rise_and_no_critical_size() -> None:
    assert adiabatic_rise_k(0) == 0
    assert critical_half_size_mm("slab", **{**PUTTY, "heat_j_g": 0}, rate_per_h=1) == math.inf


@given(forms, rates)
def test_twice_the_rate_divides_the_size_by_the_root_of_two(form: str, rate: float) -> None:
    slow = critical_half_size_mm(form, **PUTTY, rate_per_h=rate)
    fast = critical_half_size_mm(form, **PUTTY, rate_per_h=2 * rate)
    assert slow / fast == pytest.approx(math.sqrt(2))


@given(forms, rates)
def test_at_its_critical_size_a_mass_has_the_critical_value(form: str, rate: float) -> None:
    size = critical_half_size_mm(form, **PUTTY, rate_per_h=rate)
    if size <= 1000:
        assert delta(size, **PUTTY, rate_per_h=rate) == pytest.approx(CRITICAL[form])


@given(rates)
def test_a_plug_may_be_thicker_than_a_slab_which_has_only_two_sides(rate: float) -> None:
    slab, cylinder, sphere = (
        critical_half_size_mm(form, **PUTTY, rate_per_h=rate)
        for form in ("slab", "cylinder", "sphere")
    )
    assert slab < cylinder < sphere
    assert slab / sphere == pytest.approx(0.514, abs=5e-4)


def test_delta_is_the_formula_written_out() -> None:
    """Computed by hand: E/(R T²) = 0.0770 /K; heat 250 J/g × 0.8 g/ml at 0.36/h = 20 kW/m³."""
    by_hand = 55_000 / (8.314462618 * 293.15**2) * 0.01**2 * 20_000 / 0.2
    assert delta(10, **PUTTY, rate_per_h=0.36) == pytest.approx(by_hand)


@pytest.mark.parametrize(
    ("name", "bad", "words"),
    [
        ("heat_j_g", 1001, "heat of reaction"),
        ("heat_j_g", math.nan, "heat of reaction"),
        ("density_g_ml", 0, "density"),
        ("rate_per_h", -1, "rate"),
        ("activation_kj_mol", 5, "activation energy"),
        ("at_c", 101, "walls"),
        ("conductivity_w_mk", 0, "conductivity"),
    ],
)
def test_what_is_out_of_range_is_refused_in_words(name: str, bad: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        delta(10, **{**PUTTY, "rate_per_h": 1.0, name: bad})


@pytest.mark.parametrize("bad", [-1, 1001, math.inf, math.nan])
def test_a_size_out_of_range_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="from 0 to 1000 mm"):
        delta(bad, **PUTTY, rate_per_h=1)


def test_a_form_that_is_none_of_the_three_is_refused() -> None:
    with pytest.raises(ValueError, match="one of slab, cylinder, sphere"):
        critical_half_size_mm("cube", **PUTTY, rate_per_h=1)
    with pytest.raises(ValueError, match="specific heat"):
        adiabatic_rise_k(100, 0)


@pytest.mark.parametrize("formula", [ADIABATIC_RISE, SELF_HEATING])
def test_each_formula_tells_words_symbols_source_and_range(formula: object) -> None:
    assert all(vars(formula).values())
