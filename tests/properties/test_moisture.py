"""Moisture readings: corrected for temperature, over range, and the worst of several."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.moisture import (
    MEASURED_FROM_PCT,
    MEASURED_TO_PCT,
    OVER_RANGE_PCT,
    SLOPE_HIGH,
    SLOPE_LOW,
    SLOPE_MID,
    TEMPERATURE,
    CorrectedReading,
    correct,
    governing,
)
from tests.published import published

D = Decimal
temperatures = st.decimals(D(-10), D(40), places=1)


def pins(raw: str | Decimal, wood_c: str | Decimal | None, treated: str = "no") -> CorrectedReading:
    wood = None if wood_c is None else D(wood_c)
    return correct(D(raw), wood_c=wood, treated=treated, meter="pin")


def chart_rows() -> list[tuple[Decimal, Decimal, Decimal]]:
    found = []
    for row in published("moisture_correction", "Temperature correction to ADD"):
        raw, wood = (D(each) for each in re.findall(r"-?\d+", row["inputs"]))
        found.append((raw, wood, D(row["value"])))
    return found


def test_the_slope_is_the_published_range_and_its_middle() -> None:
    row = published("moisture_correction", "Temperature correction of resistance reading")[0]
    assert [D(each) for each in row["value"].split(" to ")] == [SLOPE_LOW, SLOPE_HIGH]
    assert (SLOPE_LOW + SLOPE_HIGH) / 2 == SLOPE_MID


def test_ten_degrees_colder_reads_one_and_a_quarter_too_low() -> None:
    reading = pins("15", "10")
    assert reading.pct == D("16.3")
    assert "VTT Publications 420" in reading.basis
    assert "from 10 °C to 20 °C" in reading.basis
    assert "give or take 0.3 %" in reading.basis


def test_warm_wood_reads_too_high() -> None:
    assert pins("15", "30").pct == D("13.8")


# Published, but a weak transcription of a chart: the stated tolerance is half a percent at least.
@pytest.mark.parametrize(("raw", "wood", "published_add"), chart_rows())
def test_the_sign_is_that_of_the_published_chart(
    raw: Decimal, wood: Decimal, published_add: Decimal
) -> None:
    assert (pins(raw, wood).governs_at_pct - raw) * published_add >= 0


@pytest.mark.parametrize(
    ("raw", "wood", "published_add"),
    [row for row in chart_rows() if MEASURED_FROM_PCT <= row[0] <= MEASURED_TO_PCT],
)
def test_where_both_sources_measured_they_differ_by_half_at_most(
    raw: Decimal, wood: Decimal, published_add: Decimal
) -> None:
    """The chart is steeper in the cold; its zero is at 21.1 °C, which alone makes 0.14 %. Drier
    and wetter than 8 to 18 % only the sign is held to: there the two part by up to 12 %."""
    corrected = pins(raw, wood).pct
    assert corrected is not None
    assert abs(corrected - raw - published_add) <= max(D("0.6"), abs(published_add) / 2)


def test_where_the_sources_part_it_is_said() -> None:
    [chart] = [add for raw, wood, add in chart_rows() if (raw, wood) == (D(20), D(0))]
    corrected = pins("20", "0").pct
    assert corrected is not None
    assert chart / (corrected - 20) == pytest.approx(D(2), abs=D("0.2"))
    assert "about twice as much at 20 %" in TEMPERATURE.holds


def test_thirty_is_a_figure_and_more_is_not() -> None:
    assert pins("30", "20").pct == OVER_RANGE_PCT
    over = pins("47.3", "20")
    assert over.pct is None
    assert over.over_range
    assert over.shown == ">30 %"


def test_a_reading_may_run_over_range_once_corrected() -> None:
    over = pins("29.5", "5")
    assert over.over_range
    assert over.shown == ">30 %"


def test_salts_and_preservatives_make_the_correction_unknown() -> None:
    reading = pins("15", "10", treated="yes")
    assert reading.pct is None
    assert reading.shown == "15 % as read"
    assert "salts and preservatives" in reading.basis


def test_without_the_temperature_of_the_wood_nothing_is_guessed() -> None:
    reading = pins("15", None)
    assert reading.pct is None
    assert "temperature of the wood is not recorded" in reading.basis


def test_only_pins_are_corrected() -> None:
    reading = correct(D(15), wood_c=D(5), treated="no", meter="pinless")
    assert reading.pct is None
    assert "meters with pins" in reading.basis


def test_an_oven_dry_sample_stands_as_it_is_however_wet() -> None:
    reading = correct(D(80), wood_c=None, treated="unknown", meter="oven")
    assert reading.pct == 80
    assert not reading.over_range


def test_far_from_the_measured_range_the_basis_says_so() -> None:
    assert "carried on beyond" in pins("24", "10").basis
    assert "carried on beyond" not in pins("18", "10").basis


@pytest.mark.parametrize(
    ("raw", "wood"), [("-1", "20"), ("201", "20"), ("15", "61"), ("15", "-41")]
)
def test_absurd_figures_are_refused(raw: str, wood: str) -> None:
    with pytest.raises(ValueError, match=r"%|°C"):
        pins(raw, wood)


def test_the_worst_reading_governs_and_over_range_is_worse_than_any_figure() -> None:
    dry, wet, soaked = pins("14", "20"), pins("22", "20"), pins("31", "20")
    assert governing([dry, wet]) is wet
    assert governing([soaked, wet, dry]) is soaked
    assert governing([]) is None


def test_a_reading_without_correction_governs_as_read() -> None:
    raw = pins("19", None)
    assert governing([pins("16", "20"), raw]) is raw


@given(st.decimals(D(0), D(25), places=1), temperatures, temperatures)
def test_colder_wood_is_never_called_drier_for_the_same_reading(
    raw: Decimal, one: Decimal, other: Decimal
) -> None:
    colder, warmer = sorted([one, other])
    in_cold, in_warmth = pins(raw, colder), pins(raw, warmer)
    assert in_cold.governs_at_pct >= in_warmth.governs_at_pct or in_cold.over_range


@given(st.decimals(D(0), D(30), places=1))
def test_at_twenty_degrees_nothing_is_changed(raw: Decimal) -> None:
    assert pins(raw, "20").pct == raw


# Species


def of_species(raw: str, species: str, set_for: str) -> CorrectedReading:
    return correct(
        D(raw), wood_c=D(20), treated="no", meter="pin", species=species, set_for=set_for
    )


def test_oak_read_on_a_beech_setting_is_drier_than_the_meter_says() -> None:
    reading = of_species("17.8", "oak", "beech")
    assert reading.pct == D("16.6")  # computed: 10 megohm is 17.78 % in beech, 16.55 % in oak
    assert "From beech, as the meter was set, to oak: VTT 420, Table 5" in reading.basis


def test_temperature_comes_first_and_species_after() -> None:
    both = correct(D(15), wood_c=D(10), treated="no", meter="pin", species="oak", set_for="beech")
    assert both.pct == of_species("16.25", "oak", "beech").pct
    assert len(both.basis) <= 300


@pytest.mark.parametrize(
    ("species", "set_for"),
    [
        ("larch", "beech"),
        ("oak", "Douglas-fir"),  # two series of measurements at two temperatures
        ("red oak", "beech"),
        ("oak", "spruce"),
    ],
)
def test_where_no_two_curves_meet_nothing_is_invented(species: str, set_for: str) -> None:
    reading = of_species("15", species, set_for)
    assert reading.pct == 15
    assert f"No correction from {set_for} to {species} is known." in reading.basis


@pytest.mark.parametrize("raw", ["5", "27"])
def test_past_the_ends_of_the_curves_no_correction_is_known(raw: str) -> None:
    assert "No correction" in of_species(raw, "oak", "beech").basis


@pytest.mark.parametrize(("species", "set_for"), [("", "beech"), ("oak", ""), ("Oak", "oak")])
def test_one_species_or_none_changes_nothing(species: str, set_for: str) -> None:
    assert of_species("15", species, set_for) == pins("15", "20")
