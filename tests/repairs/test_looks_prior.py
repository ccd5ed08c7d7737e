"""How often to look at a member that has no results of its own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.classes import USE_CLASS_WORDS
from properties.decay_hazard import DecayHazard, decay_hazard
from repairs.due.looks_prior import looks_prior


def hazard(index: float) -> DecayHazard:
    """A place whose index comes near a figure: 12 months at 12 °C."""
    return decay_hazard([12] * 12, [3 + index * 16.7 / 120] * 12)


LOW, MODERATE, HIGH = hazard(20), hazard(50), hazard(80)


@pytest.mark.parametrize("use_class", [*USE_CLASS_WORDS, ""])
def test_a_higher_hazard_is_never_looked_at_less_often(use_class: str) -> None:
    months = [looks_prior(use_class, each).months for each in (LOW, MODERATE, HIGH)]
    assert months == sorted(months, reverse=True)


@given(st.sampled_from([LOW, MODERATE, HIGH, None]))
def test_wood_that_stands_wetter_is_never_looked_at_less_often(place: DecayHazard | None) -> None:
    months = [looks_prior(each, place).months for each in USE_CLASS_WORDS]
    assert months == sorted(months, reverse=True)


@pytest.mark.parametrize("use_class", ["4", "5"])
def test_on_the_ground_or_in_the_sea_the_climate_is_no_comfort(use_class: str) -> None:
    """The publisher of the classes says to treat both as high whatever the index."""
    assert {looks_prior(use_class, each).months for each in (LOW, HIGH, None)} == {6}


def test_it_says_what_it_rests_on() -> None:
    prior = looks_prior("3.2", HIGH)
    assert prior.months == 6
    assert prior.words == (
        "use class 3.2 (above ground, exposed to weather, wet for long times), decay hazard high"
    )
    assert "common practice, no source" in prior.source


def test_what_is_not_known_is_said() -> None:
    assert looks_prior("", None).words == "use class not recorded, hazard of the place not known"
    assert looks_prior("3.1", None).months == looks_prior("3.1", MODERATE).months


def test_a_class_of_another_standard_is_refused() -> None:
    with pytest.raises(ValueError, match=r"use class one of 1, 2, 3\.1, 3\.2, 4, 5"):
        looks_prior("3A", LOW)
