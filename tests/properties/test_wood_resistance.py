"""Resistance and moisture by species, against the published coefficients and figures."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.wood_resistance import (
    CURVES,
    FROM_PCT,
    TO_PCT,
    ResistanceCurve,
    as_species,
    curve_for,
    moisture_pct,
    resistance_megohm,
)
from tests.published import published

curves = st.sampled_from(CURVES)
percents = st.floats(FROM_PCT, TO_PCT)


def known(species: str) -> ResistanceCurve:
    found = curve_for(species)
    assert found is not None
    return found


# Published (secondary): the coefficients themselves.
@pytest.mark.parametrize("species", ["oak", "beech"])
def test_the_coefficients_are_those_of_vtt_420(species: str) -> None:
    row = published("moisture_correction", f"Coefficients European {species}")[0]
    a, b = (float(each) for each in re.findall(r"-?\d+\.\d+", row["value"]))
    assert (known(species).a, known(species).b) == (a, b)


@pytest.mark.parametrize(
    ("species", "written"), [("black ash", "black ash"), ("black walnut", "black walnut")]
)
def test_the_other_fits_are_those_published(species: str, written: str) -> None:
    row = published("moisture_correction", "Other fits")[0]
    found = re.search(rf"{written} A=([\d.]+) B=(-[\d.]+)", row["value"])
    assert found is not None
    assert (known(species).a, known(species).b) == (float(found[1]), float(found[2]))


# Published in the note of the fit: 680, 23.2 and 2.11 megohm.
@pytest.mark.parametrize(("pct", "megohm"), [(10, 680), (15, 23.2), (20, 2.11)])
def test_douglas_fir_meets_the_resistances_of_its_fit(pct: float, megohm: float) -> None:
    row = published("moisture_correction", "Single-log fit")[0]
    assert f"{megohm:g}" in row["note"]
    assert resistance_megohm(pct, known("Douglas-fir")) == pytest.approx(megohm, rel=0.003)


# From memory: FPL-GTR-6, Table 1; the fit is said to be within 2 % of moisture.
@pytest.mark.parametrize("row", published("moisture_correction", "Resistance of coast"))
def test_douglas_fir_is_near_the_table_as_recalled(row: dict[str, str]) -> None:
    pct = float(re.findall(r"\d+", row["inputs"])[0])
    assert moisture_pct(float(row["value"]), known("Douglas-fir")) == pytest.approx(pct, abs=1)


# Computed apart with the same coefficients.
@pytest.mark.parametrize("row", published("moisture_correction", "MC from resistance"))
def test_oak_and_beech_are_as_worked_out_apart(row: dict[str, str]) -> None:
    species = row["quantity"].rpartition(" ")[2]
    megohm = float(re.findall(r"\d+", row["inputs"])[0])
    assert moisture_pct(megohm, known(species)) == pytest.approx(float(row["value"]), abs=0.005)


@given(curves, percents)
def test_there_and_back_is_where_it_began(curve: ResistanceCurve, pct: float) -> None:
    assert moisture_pct(resistance_megohm(pct, curve), curve) == pytest.approx(pct)


@given(curves, percents, percents)
def test_wetter_wood_resists_less(curve: ResistanceCurve, one: float, other: float) -> None:
    drier, wetter = sorted([one, other])
    assert resistance_megohm(drier, curve) >= resistance_megohm(wetter, curve)


@given(percents)
def test_a_meter_set_for_the_wood_is_right(pct: float) -> None:
    for curve in CURVES:
        assert as_species(pct, curve, curve) == pytest.approx(pct)


def test_curves_of_two_series_are_not_joined() -> None:
    """One was measured at 20 °C, the other at 26.7 °C; mixing them is half a percent off."""
    with pytest.raises(ValueError, match="no curve joins Douglas-fir and oak"):
        as_species(15, known("Douglas-fir"), known("oak"))


@pytest.mark.parametrize("name", ["Oak", " european oak ", "OAK"])
def test_a_species_is_known_by_its_names(name: str) -> None:
    assert known(name).species == "oak"


@pytest.mark.parametrize("name", ["", "red oak", "oak or ash", "teak"])
def test_a_name_that_only_contains_another_is_another_species(name: str) -> None:
    assert curve_for(name) is None


@pytest.mark.parametrize("megohm", [0, -1, 1e-6, 1e12, float("nan"), float("inf")])
def test_a_resistance_that_says_nothing_is_refused(megohm: float) -> None:
    for curve in CURVES:
        with pytest.raises(ValueError, match=r"resistance above|moisture from"):
            moisture_pct(megohm, curve)


@pytest.mark.parametrize("pct", [5.9, 26.1, float("nan")])
def test_past_the_curves_there_is_no_resistance(pct: float) -> None:
    with pytest.raises(ValueError, match="moisture from 6 to 26 %"):
        resistance_megohm(pct, known("oak"))
