"""What the rules say of a stage: each fires, and is silent at its limit."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.heat import ExpectedSurface
from repairs.remarks import layer_cure, stage_remarks
from repairs.remarks.stage_rules import layers_for

from .rule_facts import HOUR, MORNING, PAINT, PUTTY, RESIN, codes, layer, only, stage

D = Decimal
MINUTE = timedelta(minutes=1)
BARE_PUTTY = replace(PUTTY, layer_min_mm=None, layer_max_mm=None)


def after(hours: float) -> dict[str, object]:
    return {"began_at": MORNING + hours * HOUR}


# The stage itself


def test_a_sound_stage_has_no_remarks() -> None:
    assert stage_remarks(stage("seal", RESIN, face=ExpectedSurface(D(50), "stated"))) == []


@pytest.mark.parametrize(
    ("mm", "found"),
    [
        ("12.4", ["layer-thin"]),
        ("12.7", []),  # half an inch, as a sheet that says 13 mm means it
        ("13", []),
        ("25.4", []),
        ("25.5", ["layer-thick"]),
    ],
)
def test_a_layer_is_held_against_the_sheet(mm: str, found: list[str]) -> None:
    assert codes(stage_remarks(stage("fill", PUTTY, thickness_mm=D(mm)))) == found


def test_scenario_16_two_inches_in_one_layer_of_one_inch_ask_for_two_layers() -> None:
    remark = only(stage_remarks(stage("fill", PUTTY, thickness_mm=D("50.8"))), "layer-thick")
    assert remark.found == "A layer of 50.8 mm."
    assert remark.limit == "Putty P at most 25.4 mm at once"
    assert remark.advice.startswith("Lay it in 2 layers.")


@given(st.decimals(D("0.1"), D(500), places=1), st.decimals(D("0.1"), D(100), places=1))
def test_the_layers_fill_the_depth_and_none_is_too_many(depth: Decimal, most: Decimal) -> None:
    count = layers_for(depth, most)
    assert (count - 1) * most < depth <= count * most


@pytest.mark.parametrize("depth", [0, -1])
def test_a_depth_of_nothing_has_no_layers(depth: int) -> None:
    with pytest.raises(ValueError, match="above zero"):
        layers_for(D(depth), D(25))


def test_a_filler_without_a_figure_goes_by_the_usual_25_mm() -> None:
    remark = only(stage_remarks(stage("fill", BARE_PUTTY, thickness_mm=D(26))), "layer-thick")
    assert remark.source == "common practice, no source"
    assert stage_remarks(stage("fill", BARE_PUTTY, thickness_mm=D(25))) == []


def test_a_thickness_not_recorded_is_noted_and_not_guessed() -> None:
    remark = only(stage_remarks(stage("fill", PUTTY, thickness_mm=None)), "thickness-not-recorded")
    assert remark.level == "note"


def test_a_sheet_shared_by_several_batches_speaks_once() -> None:
    facts = stage("fill", PUTTY, PUTTY, PUTTY, thickness_mm=D(60))
    assert codes(stage_remarks(facts)) == ["layer-thick"]


@pytest.mark.parametrize(
    ("pct", "found", "holds"),
    [("15", [], None), ("15.1", ["wood-wet"], False), ("18", ["wood-wet"], False),
     ("18.1", ["wood-wet"], True)],
)  # fmt: skip
def test_with_no_figure_on_the_sheet_wood_is_flagged_over_15_and_held_over_18(
    pct: str, found: list[str], holds: bool | None
) -> None:
    remarks = stage_remarks(stage("fill", PUTTY, moisture_pct=D(pct)))
    assert codes(remarks) == found
    assert [remark.holds for remark in remarks] == ([] if holds is None else [holds])


@pytest.mark.parametrize(("pct", "found"), [("16", []), ("16.1", ["wood-wet"])])
def test_the_sheets_own_figure_goes_before_the_usual_one(pct: str, found: list[str]) -> None:
    remarks = stage_remarks(stage("seal", RESIN, moisture_pct=D(pct)))
    assert codes(remarks) == found
    assert all(remark.source == RESIN.source and remark.holds for remark in remarks)


def test_soaked_wood_is_more_than_30_percent_and_not_a_figure() -> None:
    remark = only(stage_remarks(stage("seal", RESIN, moisture_pct=D("47.3"))), "wood-wet")
    assert remark.found == "Wood moisture >30 %."


@pytest.mark.parametrize("kind", ["seal", "fill", "prime", "paint"])
def test_the_first_coat_asks_for_a_reading_before_it(kind: str) -> None:
    assert "moisture-not-recorded" in codes(stage_remarks(stage(kind, moisture_pct=None)))


def test_a_later_layer_asks_for_none() -> None:
    second = stage("fill", PUTTY, moisture_pct=None, below=(layer(),), **after(3))
    assert "moisture-not-recorded" not in codes(stage_remarks(second))


def test_what_was_not_read_is_noted_by_name() -> None:
    remark = only(
        stage_remarks(stage("seal", RESIN, surface_c=None, humidity_pct=None)),
        "weather-not-recorded",
    )
    assert remark.found == "Not recorded: surface temperature, humidity."
    assert remark.level == "note"


def test_weather_that_stands_with_the_batches_is_not_asked_twice() -> None:
    facts = stage("seal", RESIN, air_c=None, surface_c=None, humidity_pct=None)
    assert stage_remarks(replace(facts, weather_in_batches=True)) == []


def test_weather_of_the_stage_is_judged_once_however_many_batches() -> None:
    cold = stage("seal", RESIN, RESIN, surface_c=D(8), humidity_pct=D(40))
    assert codes(stage_remarks(cold)) == ["too-cold"]


@pytest.mark.parametrize("kind", ["open_up", "dry", "shape"])
def test_where_nothing_is_laid_on_the_weather_does_not_count(kind: str) -> None:
    assert stage_remarks(stage(kind, air_c=D(-5), surface_c=D(-5), moisture_pct=D(40))) == []


# Weather ahead


def test_scenario_15_a_cold_night_in_the_forecast_is_flagged_anyway() -> None:
    """Air 12 °C at 88 %: dew at 10.1 °C (psychrolib 10.076). The surface is 14 °C now, which is
    fine; a night low of 7 °C is not."""
    now = {"air_c": D(12), "humidity_pct": D(88), "surface_c": D(14)}
    assert stage_remarks(stage("seal", RESIN, **now)) == []
    remark = only(stage_remarks(stage("seal", RESIN, night_low_c=D(7), **now)), "dewy-night")
    assert remark.found == (
        "Night low of 7 °C to come, 3.1 °C below the dew point of 10.1 °C (air 12 °C, 88 %)."
    )
    assert remark.limit == "at least 3 °C above, here 13.1 °C"
    assert remark.level == "warning"


@pytest.mark.parametrize(("low", "found"), [("13.1", []), ("13", ["dewy-night"])])
def test_a_night_that_stays_clear_of_the_dew_is_not(low: str, found: list[str]) -> None:
    facts = stage("seal", RESIN, air_c=D(12), humidity_pct=D(88), surface_c=D(14))
    assert codes(stage_remarks(replace(facts, night_low_c=D(low)))) == found


@pytest.mark.parametrize(
    ("low", "minimum", "found"),
    [(10, None, []), ("9.9", None, ["cold-night"]), (8, 7, []), (6, 7, ["cold-night"])],
)
def test_a_paint_must_stay_warm_for_a_day(low: str, minimum: int | None, found: list[str]) -> None:
    """Wood Handbook, chapter 16 (confirmed): water-borne paint stays at 10 °C or more for 24 h."""
    paint = replace(PAINT, apply_min_c=None if minimum is None else D(minimum))
    facts = stage("paint", paint, humidity_pct=D(30), night_low_c=D(low))
    assert codes(stage_remarks(facts)) == found


def test_a_resin_only_cures_later_in_a_cold_dry_night() -> None:
    assert stage_remarks(stage("seal", RESIN, humidity_pct=D(20), night_low_c=D(2))) == []


def test_paint_wants_air_of_at_most_85_percent() -> None:
    """Coating practice after ISO 8502-4 (confirmed, secondary)."""
    facts = stage("paint", PAINT, surface_c=D(25), humidity_pct=D(85))
    assert stage_remarks(facts) == []
    damp = replace(facts, humidity_pct=D("85.1"))
    assert codes(stage_remarks(damp)) == ["too-humid"]
    assert stage_remarks(replace(damp, kind="fill", sheets=(PUTTY,), thickness_mm=D(15))) == []


# Heat


def test_heat_deflection_ten_above_the_face_is_enough() -> None:
    assert stage_remarks(stage("fill", PUTTY)) == []


def test_heat_deflection_too_low_for_a_dark_face_is_flagged() -> None:
    dark = ExpectedSurface(D(80), "dark finish in full sun; common practice, no source")
    remark = only(stage_remarks(stage("fill", PUTTY, face=dark)), "heat-too-low")
    assert remark.found == "Putty P deflects in heat at 60 °C."
    assert remark.limit.startswith("at least 90 °C, 10 K over the 80 °C expected here (dark")
    assert "not a service temperature" in remark.source
    assert remark.holds


def test_just_under_the_margin_is_too_low() -> None:
    face = ExpectedSurface(D("50.1"), "stated for this member")
    assert codes(stage_remarks(stage("fill", PUTTY, face=face))) == ["heat-too-low"]


def test_heat_is_not_judged_on_a_guess() -> None:
    remark = only(stage_remarks(stage("fill", PUTTY, face=None)), "heat-not-judged")
    assert "how light or dark the finish is" in remark.found
    silent = replace(PUTTY, heat_deflection_c=None)
    remark = only(stage_remarks(stage("fill", silent)), "heat-not-judged")
    assert "heat deflection temperature of Putty P" in remark.found


def test_heat_does_not_count_for_paint() -> None:
    assert stage_remarks(stage("paint", PAINT, face=None)) == []


# Waiting


def test_inside_the_recoat_window_the_next_layer_is_sound() -> None:
    for hours in (2, 12, 24):
        assert stage_remarks(stage("fill", PUTTY, below=(layer(),), **after(hours))) == []


def test_before_the_window_opens_it_is_flagged() -> None:
    early = stage("fill", PUTTY, below=(layer(),), **after(1.5))
    remark = only(stage_remarks(early), "begun-before-window")
    assert remark.found == (
        "Filling began 30 min before the recoat window of the Laminating resin L."
    )
    assert remark.holds


def test_scenario_6_forty_hours_after_with_a_limit_of_24_asks_for_wash_and_abrade() -> None:
    late = stage("fill", PUTTY, below=(layer(),), **after(40))
    remark = only(stage_remarks(late), "recoat-missed")
    assert "Filling began 40 h after the Laminating resin L went on" in remark.found
    assert "no wash and abrading is recorded" in remark.found
    assert remark.limit == "within 24 h, until 5 May 2026, 08:00"
    assert remark.advice.startswith("Wash with water, dry and abrade")
    assert remark.holds


def test_scenario_6_the_wash_and_abrade_record_clears_it() -> None:
    late = stage("fill", PUTTY, below=(layer(),), washed_and_abraded=True, **after(40))
    assert stage_remarks(late) == []


def test_not_washed_is_said_otherwise_than_not_recorded() -> None:
    late = stage("fill", PUTTY, below=(layer(),), washed_and_abraded=False, **after(40))
    assert "it was not washed and abraded" in only(stage_remarks(late), "recoat-missed").found


def test_the_window_counts_from_the_last_of_the_layer_that_went_on() -> None:
    below = layer(applied_at=MORNING + HOUR)
    assert stage_remarks(stage("fill", PUTTY, below=(below,), **after(25))) == []


def test_in_the_cold_the_window_opens_later() -> None:
    """2 h at 20 °C are 2 / 0.4507 = 4.44 h at 10 °C with the typical 55 kJ/mol."""
    below = layer(temperature_c=D(10))
    early = stage("fill", PUTTY, below=(below,), **after(4.4))
    assert codes(stage_remarks(early)) == ["begun-before-window"]
    assert stage_remarks(stage("fill", PUTTY, below=(below,), **after(4.45))) == []


def test_the_sheets_activation_energy_is_the_one_that_counts() -> None:
    """2 h / 0.3194 by 75 kJ/mol would be too soon at 4.45 h; by 50 kJ/mol, 4.13 h, it is not."""
    for energy, found in ((75, ["begun-before-window"]), (50, [])):
        sheet = replace(RESIN, activation_energy_kj_mol=D(energy))
        below = layer(sheet, temperature_c=D(10))
        remarks = stage_remarks(stage("fill", PUTTY, below=(below,), **after(4.45)))
        assert codes(remarks) == found


def test_layer_cure_tells_both_rules() -> None:
    cure = layer_cure(layer(PUTTY, temperature_c=D(10)))
    assert cure.by_ten_degrees == MORNING + 48 * HOUR
    assert "by Arrhenius with a typical 55 kJ/mol; 48 h by the ten-degree rule" in cure.basis


def test_without_a_window_on_the_sheet_the_cure_is_waited_for() -> None:
    below = (layer(PUTTY),)
    early = stage("fill", PUTTY, below=below, **after(18))
    remark = only(stage_remarks(early), "begun-before-cured")
    assert remark.found == "Filling began 6 h before the Putty P had cured."
    cured = stage("fill", PUTTY, below=below, washed_and_abraded=True, **after(24))
    assert stage_remarks(cured) == []


def test_shaping_before_the_cure_is_flagged_with_the_reason_for_skin() -> None:
    early = stage("shape", below=(layer(PUTTY),), **after(20))
    remark = only(stage_remarks(early), "begun-before-cured")
    assert "makes skin allergic" in remark.advice
    assert stage_remarks(stage("shape", below=(layer(PUTTY),), **after(24))) == []


def test_paint_waits_for_every_resin_below_and_names_the_last() -> None:
    fill = layer(PUTTY, position=2, mixed_at=MORNING + 24 * HOUR)
    early = stage("paint", PAINT, below=(layer(), fill), washed_and_abraded=True, **after(47))
    remark = only(stage_remarks(early), "painted-before-cure")
    assert remark.found == "Painting began 60 min before the Putty P had cured."
    assert "cured about 6 May 2026, 08:00" in remark.limit
    assert remark.holds
    assert stage_remarks(replace(early, began_at=MORNING + 48 * HOUR)) == []


def test_paint_over_a_layer_that_stands_still_in_the_cold_is_flagged() -> None:
    cold = layer(PUTTY, temperature_c=D(4))
    late = stage("paint", PAINT, below=(cold,), washed_and_abraded=True, **after(500))
    remark = only(stage_remarks(late), "painted-before-cure")
    assert remark.found == "Painting began while the Putty P stood still in the cold."
    assert "stands still at 4 °C" in remark.limit


def test_paint_on_primer_waits_for_the_primers_own_window_only() -> None:
    primer = replace(PAINT, product="Primer R", kind="paint_primer")
    below = (layer(PUTTY), layer(primer, position=2, mixed_at=MORNING + 30 * HOUR))
    early = stage("paint", PAINT, below=below, **after(32))
    assert codes(stage_remarks(early)) == ["begun-before-window"]
    assert stage_remarks(replace(early, began_at=MORNING + 34 * HOUR)) == []


def test_a_cure_time_that_the_sheet_does_not_give_is_noted() -> None:
    silent = layer(replace(PUTTY, cure_time=None))
    remarks = stage_remarks(stage("paint", PAINT, below=(silent,), **after(500)))
    assert codes(remarks) == ["cure-not-known"]
    assert remarks[0].level == "note"


def test_on_cured_resin_a_wash_not_recorded_is_noted() -> None:
    remarks = stage_remarks(stage("paint", PAINT, below=(layer(PUTTY),), **after(48)))
    assert codes(remarks) == ["wash-not-recorded"]


def test_scenario_14_a_cure_through_the_night_of_the_clocks_is_not_an_hour_short() -> None:
    london = ZoneInfo("Europe/London")
    filled = layer(
        replace(PUTTY, cure_time=12 * HOUR),
        mixed_at=MORNING.replace(month=3, day=28, hour=22, minute=30).astimezone(london),
    )
    assert f"{layer_cure(filled).ready_at:%d %B %H:%M %Z}" == "29 March 11:30 BST"


def test_absurd_temperatures_do_not_break_the_cure() -> None:
    assert layer_cure(layer(temperature_c=D(900))).ready_at == MORNING + 24 * HOUR


@given(st.integers(0, 200), st.booleans() | st.none(), st.sampled_from(["seal", "fill"]))
def test_a_layer_is_never_both_too_early_and_too_late(
    hours: int, washed: bool | None, kind: str
) -> None:
    found = codes(
        stage_remarks(
            stage(kind, RESIN, below=(layer(),), washed_and_abraded=washed, **after(hours))
        )
    )
    assert not {"begun-before-window", "recoat-missed"} <= set(found)
