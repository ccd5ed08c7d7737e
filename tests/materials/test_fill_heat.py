"""Heat in a layer: limit cases with a closed form, bounds, and what must go up or down."""

import math
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.conduction import IN_A_MEMBER, Resin, Surroundings, conduct
from materials.fill_heat import (
    FILL_HEAT,
    LIMIT_C,
    LIMIT_SOURCE,
    THICKEST_LAYER,
    WHY_LINING,
    layer_heat,
    resin_from,
    thickest_mm,
)
from materials.self_heating import CRITICAL, critical_half_size_mm
from tests.published import published

HALF_HOUR = timedelta(minutes=30)
PUTTY = resin_from(
    pot_life=timedelta(minutes=45), pot_life_at_c=22, heat_j_g=250, density_g_ml=0.8, mass_g=150
)
NEAT = resin_from(pot_life=HALF_HOUR, pot_life_at_c=22)
SHEET: dict[str, Any] = {"pot_life": HALF_HOUR, "pot_life_at_c": 22}
INERT = Resin(0.0, 1.3, 1e-6, 20, 55)
INSULATED = Surroundings(film_w_m2k=0, wood_conductivity_w_mk=0)
thicknesses = st.floats(1, 60)
starts = st.floats(0, 35)


@given(thicknesses, starts)
@settings(max_examples=20)
def test_without_a_reaction_all_stays_as_it_was(thickness: float, start: float) -> None:
    """Limit case."""
    history = conduct(thickness, INERT, start, hours=24)
    assert history.celsius == pytest.approx(start, abs=1e-6)


@pytest.mark.parametrize("thickness", [5, 25, 80])
def test_between_warm_wood_and_cool_air_it_settles_on_the_straight_lines(thickness: float) -> None:
    """Limit case: steady conduction through resistances in a row."""
    around = Surroundings(air_c=5, wood_c=25, wood_mm=40, wood_held=True)
    history = conduct(thickness, INERT, 15, around, hours=200)
    film, resin, wood = 1 / around.film_w_m2k, thickness / 1000 / 0.2, 0.04 / 0.12
    flow = (25 - 5) / (film + resin + wood)
    for index in range(30):
        place = (index + 0.5) / 30
        closed = 5 + flow * (film + resin * place)
        assert history.celsius[index, -1] == pytest.approx(closed, abs=0.05)


@pytest.mark.parametrize("resin", [PUTTY, NEAT])
@pytest.mark.parametrize("thickness", [1, 20])
def test_what_keeps_all_its_heat_rises_by_the_adiabatic_rise(
    resin: Resin, thickness: float
) -> None:
    """Limit case: perfectly insulated."""
    history = conduct(thickness, resin, 20, INSULATED)
    assert history.celsius.max() == pytest.approx(20 + resin.heat_j_g / 1.5, abs=0.05)


def test_heat_is_neither_made_nor_lost_while_the_air_side_is_closed() -> None:
    """Limit case: what the layer and the wood hold is what has reacted."""
    closed = replace(IN_A_MEMBER, film_w_m2k=0, wood_mm=2, wood_heat_j_mlk=0.001)
    history = conduct(20, PUTTY, 20, closed)
    gained = history.celsius.mean(axis=0) - 20
    assert gained == pytest.approx(history.reacted.mean(axis=0) * 250 / 1.5, abs=0.05)


def test_a_film_hardly_warms() -> None:
    """Limit case."""
    assert layer_heat(0.5, PUTTY, 20).peak_c == pytest.approx(20, abs=1)


def test_finer_slices_come_to_the_same_peak() -> None:
    peaks = [conduct(13, PUTTY, 20, slices=count).celsius.max() for count in (15, 30, 60, 120)]
    steps = [abs(b - a) for a, b in pairwise(peaks)]
    assert steps[1] < 0.5
    assert steps[2] <= steps[0]


@given(thicknesses, thicknesses, starts)
@settings(max_examples=40)
def test_a_thicker_layer_is_no_cooler(one: float, other: float, start: float) -> None:
    thin, thick = sorted((one, other))
    cool, warm = (layer_heat(mm, PUTTY, start).peak_c for mm in (thin, thick))
    assert cool <= warm + 0.5


@given(thicknesses, starts, st.floats(20, 400))
@settings(max_examples=40)
def test_a_layer_lies_between_its_start_and_the_adiabatic_bound(
    thickness: float, start: float, heat: float
) -> None:
    found = layer_heat(thickness, replace(PUTTY, heat_j_g=heat), start)
    assert start <= found.peak_c <= found.adiabatic_c
    assert found.adiabatic_c == pytest.approx(start + heat / 1.5)
    assert found.peak_after >= timedelta(0)


@given(thicknesses, starts)
@settings(max_examples=40)
def test_half_the_rate_is_no_warmer(thickness: float, start: float) -> None:
    slow = replace(PUTTY, rate_per_h=PUTTY.rate_per_h / 2)
    assert layer_heat(thickness, slow, start).peak_c <= (
        layer_heat(thickness, PUTTY, start).peak_c + 0.5
    )


def test_a_warm_day_is_hotter_by_more_than_its_warmth() -> None:
    cool, warm = layer_heat(13, PUTTY, 10).peak_c, layer_heat(13, PUTTY, 25).peak_c
    assert warm - cool > 15


def test_the_thickest_layer_stays_below_the_limit_and_the_next_does_not() -> None:
    most = thickest_mm(LIMIT_C, PUTTY, 20)
    assert most is not None
    assert layer_heat(most, PUTTY, 20).peak_c < LIMIT_C
    assert layer_heat(most + 0.5, PUTTY, 20).peak_c >= LIMIT_C


@given(st.floats(30, 150), st.floats(30, 150))
@settings(max_examples=15)
def test_a_higher_limit_allows_no_thinner_layer(one: float, other: float) -> None:
    low, high = sorted((one, other))
    mild, strict = thickest_mm(high, PUTTY, 20), thickest_mm(low, PUTTY, 20)
    assert strict is not None
    assert mild is None or mild >= strict


def test_any_layer_will_do_for_what_cannot_get_that_warm() -> None:
    faint = replace(PUTTY, heat_j_g=30)
    assert thickest_mm(60, faint, 20) is None
    assert thickest_mm(39, replace(PUTTY, rate_per_h=1e-4), 20) is None


def test_no_layer_will_do_when_it_starts_warmer_than_the_limit() -> None:
    assert thickest_mm(30, PUTTY, 35) == 0


def test_a_shell_stays_cooler_than_a_solid_plug() -> None:
    assert layer_heat(13, PUTTY, 20).peak_c < layer_heat(60, PUTTY, 20).peak_c - 50
    assert "lined cavity" in WHY_LINING


def test_self_heating_is_told_from_the_slabs_critical_thickness_on() -> None:
    half = critical_half_size_mm(
        "slab",
        heat_j_g=PUTTY.heat_j_g,
        density_g_ml=PUTTY.density_g_ml,
        rate_per_h=PUTTY.rate_per_h,
        activation_kj_mol=PUTTY.activation_kj_mol,
        at_c=PUTTY.at_c,
    )
    assert set(CRITICAL) == {"slab", "cylinder", "sphere"}
    assert not layer_heat(2 * half * 0.99, PUTTY, PUTTY.at_c).critical
    assert layer_heat(2 * half * 1.01, PUTTY, PUTTY.at_c).critical


def test_a_silent_sheet_is_said_to_be_silent() -> None:
    basis = layer_heat(5, NEAT, 20).basis
    for words in ("Estimate", "greatest layer rules", "from memory", "400 J/g", "55 kJ/mol"):
        assert words in basis
    full = resin_from(
        pot_life=HALF_HOUR,
        pot_life_at_c=22,
        activation_kj_mol=60,
        heat_j_g=300,
        density_g_ml=1.1,
        mass_g=100,
    )
    assert "silent" not in layer_heat(5, full, 20).basis


def test_what_is_taken_as_typical_stands_in_the_sources() -> None:
    """Published: specific heat, conductivity and density of epoxy. From memory: 100 kJ for each
    epoxide, which is 400 J/g at 250 g; still air; wood across the grain."""
    [epoxy] = published("exotherm", "Specific heat")
    assert (float(epoxy["value"]) / 1000, NEAT.cp_j_gk) == (1.5, 1.5)
    assert "conductivity 0.2 W/mK" in epoxy["note"]
    assert NEAT.conductivity_w_mk == 0.2
    assert "density 1.3" in epoxy["note"]
    assert (NEAT.density_g_ml, NEAT.heat_j_g) == (1.3, 400)
    [air], [wood] = published("exotherm", "Still air"), published("exotherm", "Wood across")
    assert IN_A_MEMBER.film_w_m2k == pytest.approx(float(air["value"]), rel=0.05)
    assert IN_A_MEMBER.wood_conductivity_w_mk == pytest.approx(float(wood["value"]), rel=0.05)


@pytest.mark.parametrize("bad", [0, 0.4, -1, 200.1, math.nan, math.inf])
def test_a_layer_out_of_range_is_refused_in_words(bad: float) -> None:
    with pytest.raises(ValueError, match=r"A layer is from 0\.5 to 200 mm"):
        layer_heat(bad, PUTTY, 20)


@pytest.mark.parametrize("bad", [-11, 61, math.nan])
def test_a_start_out_of_range_is_refused_in_words(bad: float) -> None:
    with pytest.raises(ValueError, match="temperature of the start"):
        layer_heat(10, PUTTY, bad)


@pytest.mark.parametrize(
    ("name", "bad", "words"),
    [
        ("pot_life", timedelta(0), "pot life"),
        ("pot_life", timedelta(days=8), "pot life"),
        ("pot_life_at_c", -20, "temperature of a pot life"),
        ("activation_kj_mol", 300, "(?i)activation"),
        ("heat_j_g", 0, "heat of reaction"),
        ("density_g_ml", 9, "density"),
        ("mass_g", 0, "mass of a pot life"),
    ],
)
def test_a_figure_of_the_sheet_out_of_range_is_refused(name: str, bad: Any, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        resin_from(**SHEET | {name: bad})


def test_a_limit_out_of_range_is_refused_and_the_usual_one_names_its_source() -> None:
    with pytest.raises(ValueError, match="A limit is from"):
        thickest_mm(math.nan, PUTTY, 20)
    assert "common practice, no source" in LIMIT_SOURCE


@pytest.mark.parametrize("formula", [FILL_HEAT, THICKEST_LAYER])
def test_each_formula_tells_words_symbols_source_and_range(formula: object) -> None:
    assert all(vars(formula).values())
