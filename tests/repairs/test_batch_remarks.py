"""What the rules say of a batch and its lots: each fires, and is silent at its limit."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.mixing import MixRatio
from materials.shelf_life import LastUsableDay
from repairs.remarks import BatchFacts, batch_remarks, scale_too_coarse

from .rule_facts import HOUR, MORNING, PAINT, PUTTY, RESIN, codes, lot, mix, only

D = Decimal
MINUTE = timedelta(minutes=1)


def with_lots(batch: BatchFacts, **changes: object) -> BatchFacts:
    """The same batch with its A lot changed."""
    first, *others = batch.lots
    return replace(batch, lots=(replace(first, **changes), *others))  # type: ignore[arg-type]


def test_a_sound_batch_has_no_remarks() -> None:
    assert batch_remarks(mix(100, 33)) == []


# The ratio


@pytest.mark.parametrize("b", ["34.65", "31.35"])
def test_a_ratio_at_its_tolerance_is_sound(b: str) -> None:
    assert batch_remarks(mix(100, b)) == []


@pytest.mark.parametrize("b", ["34.66", "31.34"])
def test_a_ratio_past_its_tolerance_is_off(b: str) -> None:
    assert codes(batch_remarks(mix(100, b))) == ["ratio-off"]


def test_an_off_ratio_says_what_was_measured_and_what_to_add() -> None:
    remark = only(batch_remarks(mix(100, 40)), "ratio-off")
    assert remark.found == "A 100 g, B 40 g: 100 : 40 by weight, 21.2 % too much B."
    assert remark.limit == "100 : 33 by weight, within 5 %"
    assert "stir in 21.2 g of A" in remark.advice
    assert remark.source == "data sheet of Laminating resin L, Issue 4"
    assert remark.holds


def test_too_little_hardener_is_put_right_with_hardener() -> None:
    remark = only(batch_remarks(mix(100, 30)), "ratio-off")
    assert "9.1 % too little B" in remark.found
    assert "stir in 3 g of B" in remark.advice


def test_without_a_tolerance_on_the_sheet_five_percent_hold_and_say_so() -> None:
    sheet = replace(RESIN, ratio_tolerance_pct=None)
    assert batch_remarks(mix(100, "34.65", sheet)) == []
    assert (
        "common practice, no source" in only(batch_remarks(mix(100, 36, sheet)), "ratio-off").source
    )


def test_a_tolerance_of_zero_is_a_tolerance() -> None:
    sheet = replace(RESIN, ratio_tolerance_pct=D(0))
    assert codes(batch_remarks(mix(100, "33.1", sheet))) == ["ratio-off"]
    assert batch_remarks(mix(100, 33, sheet)) == []


def test_a_ratio_by_volume_that_was_weighed_out_is_named() -> None:
    sheet = replace(
        RESIN,
        weight_ratio=MixRatio(D(100), D("42.61"), "weight"),
        volume_ratio=MixRatio(D(2), D(1), "volume"),
    )
    remark = only(batch_remarks(mix(100, 50, sheet)), "ratio-off")
    assert "The amounts fit the ratio 2 : 1 by volume" in remark.advice


def test_scenario_2_swapped_asks_whether_typed_or_mixed() -> None:
    remark = only(batch_remarks(mix(50, 100, PUTTY, unit="ml")), "swapped")
    assert "300 % too much B. The other way round the amounts fit." in remark.found
    assert remark.advice.startswith("Typed or mixed?")
    assert remark.holds


def test_scenario_2_a_swap_is_not_also_called_off_ratio() -> None:
    assert codes(batch_remarks(mix(50, 100, PUTTY, unit="ml"))) == ["swapped"]


def test_two_lots_of_a_count_together() -> None:
    lots = (lot("a", 40), lot("a", 60, number="A-12"), lot("b", 33))
    assert batch_remarks(mix(0, 0, lots=lots)) == []


def test_a_part_that_is_missing_is_named() -> None:
    remark = only(batch_remarks(mix(100, 0)), "part-missing")
    assert remark.found == "Part A is recorded, and no part B."


def test_a_ratio_that_is_not_recorded_is_not_guessed() -> None:
    remark = only(batch_remarks(mix(100, 50, PUTTY)), "ratio-not-judged")
    assert remark.level == "note"
    assert "no ratio by weight" in remark.found


def test_one_part_products_have_no_ratio() -> None:
    paint = mix(0, 0, PAINT, lots=(lot("one", 200, product=PAINT.product, unit="ml"),))
    assert batch_remarks(paint) == []


@given(st.integers(1, 5000), st.integers(1, 5000))
def test_no_amounts_break_the_rules(a: int, b: int) -> None:
    found = codes(batch_remarks(mix(a, b)))
    ratio = [code for code in found if code in {"ratio-off", "swapped"}]
    assert len(ratio) == int(abs(D(b) / D(a) / D("0.33") - 1) > D("0.05"))


# Lots


def test_scenario_5_an_expired_lot_says_how_many_days_and_asks_for_a_test() -> None:
    shelf = LastUsableDay(date(2026, 4, 22), "printed")
    remark = only(batch_remarks(with_lots(mix(100, 33), shelf=shelf)), "expired")
    assert remark.found == "Lot A-11 (A) was used 12 days past expiry."
    assert remark.limit == "22 April 2026, by the expiry printed on it"
    assert "test batch" in remark.advice
    assert remark.about == "A-11"


def test_scenario_5_the_expiry_day_itself_is_still_valid() -> None:
    shelf = LastUsableDay(MORNING.date(), "printed")
    assert batch_remarks(with_lots(mix(100, 33), shelf=shelf)) == []


def test_an_opened_life_that_ran_out_is_named_as_such() -> None:
    shelf = LastUsableDay(date(2026, 5, 3), "opened")
    remark = only(batch_remarks(with_lots(mix(100, 33), shelf=shelf)), "expired")
    assert "1 day past" in remark.found
    assert "life once opened" in remark.limit
    assert remark.source == RESIN.source


def test_a_lot_held_back_gives_its_reason() -> None:
    batch = with_lots(mix(100, 33), held_back=True, held_back_reason="Lumps in the tin")
    remark = only(batch_remarks(batch), "held-back")
    assert remark.limit == "Lumps in the tin"
    assert remark.holds


def test_a_lot_of_a_used_as_b_is_flagged() -> None:
    lots = (lot("a", 100), lot("a", 33, used_as="b"))
    remark = only(batch_remarks(mix(0, 0, lots=lots)), "other-part")
    assert remark.found == "Lot A-11 (A) holds A and is entered as B."


def test_a_lot_of_another_product_is_flagged() -> None:
    remark = only(batch_remarks(with_lots(mix(100, 33), product="Other resin")), "other-product")
    assert "is of Other resin, the batch of Laminating resin L" in remark.found


def test_parts_of_two_kits_are_noted() -> None:
    lots = (lot("a", 100, parent="K-1"), lot("b", 33, parent="K-2"))
    remark = only(batch_remarks(mix(0, 0, lots=lots)), "unlike-lots")
    assert remark.level == "note"
    assert remark.found == "A from kit K-1, B from kit K-2."


@pytest.mark.parametrize("parent", ["K-1", None])
def test_parts_of_one_kit_or_of_none_belong_together(parent: str | None) -> None:
    lots = (lot("a", 100, parent=parent), lot("b", 33, parent=parent))
    assert batch_remarks(mix(0, 0, lots=lots)) == []


def test_a_kit_part_beside_a_loose_one_is_noted() -> None:
    lots = (lot("a", 100, parent="K-1"), lot("b", 33))
    assert "B from no kit" in only(batch_remarks(mix(0, 0, lots=lots)), "unlike-lots").found


def test_all_that_a_lot_holds_may_be_taken() -> None:
    assert batch_remarks(with_lots(mix(100, 33), remaining=D(100))) == []


def test_scenario_3_two_kilograms_are_more_than_the_lot_holds() -> None:
    lots = (lot("a", "170.1"), lot("b", "2069.5", remaining=D(500)))
    remark = only(batch_remarks(mix(0, 0, lots=lots)), "overdrawn")
    assert remark.found == "2.07 kg from lot B-11 (B), more than the lot holds."
    assert remark.limit == "500 g left by the ledger"
    assert remark.level == "warning"


def test_a_lot_overdrawn_already_has_nothing_left() -> None:
    batch = with_lots(mix(100, 33), remaining=D(-20))
    assert only(batch_remarks(batch), "overdrawn").limit == "0 g left by the ledger"


def test_used_before_it_was_received_is_impossible() -> None:
    remark = only(
        batch_remarks(with_lots(mix(100, 33), received_on=date(2026, 5, 5))),
        "used-before-received",
    )
    assert remark.level == "stop"
    assert batch_remarks(with_lots(mix(100, 33), received_on=MORNING.date())) == []


# Time and mass


def test_used_at_the_end_of_its_pot_life_is_sound() -> None:
    assert batch_remarks(mix(100, 33, applied_at=MORNING + HOUR)) == []


def test_used_after_its_pot_life_is_flagged() -> None:
    late = mix(100, 33, applied_at=MORNING + HOUR + MINUTE)
    remark = only(batch_remarks(late), "after-working-time")
    assert (remark.found, remark.limit) == (
        "The last of it went on 61 min after mixing.",
        "pot life 60 min",
    )
    assert remark.holds


def test_between_the_thick_and_the_thin_working_time_there_is_a_note() -> None:
    def used(after: timedelta) -> list[str]:
        return codes(batch_remarks(mix(100, 50, PUTTY, unit="ml", applied_at=MORNING + after)))

    assert used(90 * MINUTE) == []
    assert used(91 * MINUTE) == ["working-time-near"]
    assert used(3 * HOUR) == ["working-time-near"]
    assert used(3 * HOUR + MINUTE) == ["after-working-time"]


def test_a_day_warmer_than_the_sheets_shortens_the_pot_life_in_a_note() -> None:
    warm = mix(100, 33, surface_c=D(30), air_c=D(30), humidity_pct=D(40))
    assert codes(batch_remarks(replace(warm, applied_at=MORNING + 28 * MINUTE))) == []
    remark = only(
        batch_remarks(replace(warm, applied_at=MORNING + 29 * MINUTE)), "working-time-near"
    )
    assert remark.limit == "pot life 29 min at 30 °C, 2.11 times as fast"


def test_the_sheets_own_activation_energy_goes_before_the_typical_one() -> None:
    sheet = replace(RESIN, activation_energy_kj_mol=D(70))
    warm = mix(100, 33, sheet, surface_c=D(30), air_c=D(30), humidity_pct=D(40))
    remark = only(
        batch_remarks(replace(warm, applied_at=MORNING + 25 * MINUTE)), "working-time-near"
    )
    assert "2.58 times as fast" in remark.limit


def test_a_colder_day_does_not_lengthen_the_pot_life() -> None:
    cold = mix(100, 33, surface_c=D(12), air_c=D(12), humidity_pct=D(40))
    late = replace(cold, applied_at=MORNING + HOUR + MINUTE)
    assert codes(batch_remarks(late)) == ["after-working-time"]


def test_the_pot_life_of_a_larger_mass_is_the_sheets_own() -> None:
    sheet = replace(RESIN, pot_life_large=HOUR / 2, pot_life_large_mass_g=D(1000))
    late = mix(600, 198, sheet, applied_at=MORNING + 45 * MINUTE)
    remark = only(batch_remarks(late), "after-working-time")
    assert remark.limit == "pot life 38 min in a mass of 798 g"
    assert codes(batch_remarks(replace(late, applied_at=MORNING + 37 * MINUTE))) == []


def test_working_time_in_the_piece_does_not_go_by_the_mass_in_the_pot() -> None:
    sheet = replace(
        PUTTY,
        weight_ratio=MixRatio(D(2), D(1), "weight"),
        pot_life=HOUR,
        pot_life_mass_g=D(50),
        pot_life_large=HOUR / 2,
        pot_life_large_mass_g=D(100),
    )
    batch = mix(100, 50, sheet, applied_at=MORNING + 80 * MINUTE)
    assert codes(batch_remarks(batch)) == ["pot-life-mass"]


def test_an_energy_that_no_resin_has_is_not_reckoned_with() -> None:
    sheet = replace(RESIN, activation_energy_kj_mol=D(900))
    assert batch_remarks(mix(100, 33, sheet, applied_at=MORNING + HOUR)) == []


def test_when_it_was_last_used_is_not_guessed() -> None:
    assert batch_remarks(mix(100, 33, applied_at=None)) == []


def test_more_at_once_than_the_sheet_allows_is_flagged() -> None:
    sheet = replace(RESIN, batch_mass_max_g=D(133))
    assert batch_remarks(mix(100, 33, sheet)) == []
    assert codes(batch_remarks(mix(200, 66, sheet))) == ["too-much-at-once"]


def test_more_than_the_pot_life_was_measured_with_is_noted() -> None:
    assert codes(batch_remarks(mix(400, 132))) == ["pot-life-mass"]
    assert batch_remarks(mix(300, 99)) == []


def test_between_the_two_masses_of_a_sheet_the_mass_is_not_noted() -> None:
    sheet = replace(RESIN, pot_life_large=HOUR / 2, pot_life_large_mass_g=D(1000))
    assert batch_remarks(mix(600, 198, sheet)) == []
    remark = only(batch_remarks(mix(800, 264, sheet, applied_at=None)), "pot-life-mass")
    assert remark.limit == "pot life 30 min holds for 1 kg"


@pytest.mark.parametrize(("a", "b", "found"), [(75, 25, ["scale-too-coarse"]), (750, 250, [])])
def test_a_scale_in_coarse_steps_makes_a_small_batch_uncertain(
    a: int, b: int, found: list[str]
) -> None:
    assert codes(scale_too_coarse(RESIN, D(a), D(b), D(5))) == found


def test_a_scale_that_is_too_coarse_says_the_least_batch() -> None:
    remark = only(scale_too_coarse(RESIN, D(2), D(1), D(5)), "scale-too-coarse")
    assert remark.limit == "at least 275 g at once on this scale, for 5 %"


def test_an_abandoned_batch_went_nowhere_so_only_its_lots_are_judged() -> None:
    batch = mix(100, 80, abandoned=True, applied_at=MORNING + 9 * HOUR, surface_c=D(2))
    assert batch_remarks(batch) == []
    assert codes(batch_remarks(with_lots(batch, held_back=True))) == ["held-back"]


# Weather


@pytest.mark.parametrize(("surface", "found"), [("10", []), ("9.9", ["too-cold"])])
def test_too_cold_for_the_sheet(surface: str, found: list[str]) -> None:
    assert codes(batch_remarks(mix(100, 33, surface_c=D(surface), humidity_pct=D(40)))) == found


@pytest.mark.parametrize(("surface", "found"), [("30", []), ("30.1", ["too-hot"])])
def test_too_hot_for_the_sheet(surface: str, found: list[str]) -> None:
    assert codes(batch_remarks(mix(100, 33, surface_c=D(surface), applied_at=None))) == found


def test_the_air_stands_in_for_a_surface_not_read() -> None:
    remark = only(batch_remarks(mix(100, 33, surface_c=None, air_c=D(4))), "too-cold")
    assert remark.found == "Air 4 °C: too cold."


def test_a_sheet_that_is_silent_on_cold_gives_a_note() -> None:
    sheet = replace(RESIN, apply_min_c=None)
    remark = only(
        batch_remarks(mix(100, 33, sheet, surface_c=D(9), humidity_pct=D(40))), "too-cold"
    )
    assert remark.level == "note"
    assert "no source" in remark.source


def test_scenario_15_too_near_the_dew_point() -> None:
    damp = mix(100, 33, air_c=D(12), humidity_pct=D(88), surface_c=D(11))
    remark = only(batch_remarks(damp), "near-dew-point")
    assert "Surface 11 °C, 0.9 °C above the dew point of 10.1 °C" in remark.found
    assert remark.limit == "at least 3 °C above, here 13.1 °C"
    assert "ISO 8502-4" in remark.source
    assert remark.holds
    assert batch_remarks(replace(damp, surface_c=D(14))) == []


def test_figures_that_no_weather_has_are_noted_and_not_reckoned_with() -> None:
    assert codes(batch_remarks(mix(100, 33, air_c=D(200)))) == ["dew-not-judged"]


def test_weather_read_once_for_the_stage_is_judged_there() -> None:
    assert batch_remarks(mix(100, 33, surface_c=D(2), weather_of_stage=True)) == []
