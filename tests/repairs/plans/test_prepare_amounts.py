"""What a plan takes: cavity, layers, coats, batches."""

from decimal import Decimal

import pytest

from tests.repairs.plans.made import (
    INCH,
    codes,
    filled,
    shape,
    sheet_of,
    sill,
    stage,
    worked_out,
)

pytestmark = pytest.mark.django_db


def test_scenario_16_two_inches_at_one_inch_at_once_are_two_layers():
    made = filled(sheet_of("filler", layer_max_mm=INCH), depth=2 * INCH)
    assert (made.layers, made.layer_mm) == (2, Decimal("25.40"))
    assert "layer-thick" not in codes(made.remarks)
    first, second = made.batches_of_layer(1), made.batches_of_layer(2)
    assert [each.total for each in first] == [each.total for each in second] == [127, 127]


def test_scenario_16_one_layer_of_two_inches_is_flagged_before_it_is_laid():
    sheet = sheet_of("filler", layer_max_mm=INCH)
    thick = stage("fill", sheet, layer_mm=2 * INCH)
    made = worked_out([thick], shapes=[shape(100, 100, 2 * INCH)]).stages[0]
    assert made.layers == 1
    assert "layer-thick" in codes(made.remarks)


def test_a_filler_without_a_figure_is_laid_in_the_usual_25_mm():
    assert filled(sheet_of("filler"), depth=60).layers == 3


def test_a_filling_takes_the_cavity_and_its_loss():
    made = filled(sheet_of("filler", density_mixed_g_ml=Decimal("0.8")), loss_pct=Decimal(20))
    assert (made.amount.ml, made.amount.net_g, made.amount.loss_g) == (200, 160, 40)


def test_without_a_mixed_density_that_of_the_parts_is_taken():
    sheet = sheet_of("filler", density_mixed_g_ml=None, density_b_g_ml=Decimal("1.2"))
    assert filled(sheet).amount.net_g == 240


def test_a_lining_takes_its_shell_and_a_block_no_more():
    solid, hollow, block = worked_out(
        [stage("fill", sheet_of("filler"))],
        shapes=[shape(100, 100, 50)],
        filling="hollow",
        shell_mm=Decimal(10),
    ).fillings
    core = Decimal(80 * 80 * 30) / 1000
    assert (solid.ml, hollow.ml, block.ml) == (500, 500 - core, 500 - core)
    assert [each.chosen for each in (solid, hollow, block)] == [False, True, False]


def test_a_shell_that_leaves_no_core_offers_no_lining():
    prepared = worked_out([stage("fill", sheet_of("filler"))], shapes=[shape(100, 100, 20)])
    assert [each.kind for each in prepared.fillings] == ["solid"]


def test_a_measured_profile_and_what_was_poured_in_count_too():
    sheet = sheet_of("filler")
    profile = [[0, 50, 20], [100, 50, 20], [200, 50, 20]]
    made = worked_out([stage("fill", sheet)], measured="profile", profile=profile)
    assert made.cavity.ml == 200
    made = worked_out([stage("fill", sheet)], measured="poured", poured_ml=Decimal(333))
    assert made.cavity.ml == 333
    assert made.stages[0].amount.net_g == 333


def test_sealing_goes_by_the_walls_of_the_cavity_until_areas_are_typed():
    sheet = sheet_of("sealer", coverage_end_grain_m2_per_l=Decimal(2))
    walls = worked_out([stage("seal", sheet)], shapes=[shape(100, 100, 20)])
    # Ends 2 × 100 × 20 at 2 m² a litre, sides 100 × 140 at 5.
    assert walls.stages[0].amount.ml == Decimal("4.8")
    typed = worked_out([stage("seal", sheet, coats=2)], shapes=[shape(100, 100, 20)],
                       end_grain_mm2=Decimal(0), side_grain_mm2=Decimal(100_000))  # fmt: skip
    assert typed.stages[0].amount.ml == 40


def test_paint_goes_by_area_and_coats():
    paint = sheet_of("paint", parts=1)
    made = worked_out([stage("paint", paint, coats=2)], paint_m2=Decimal("0.5"), measured="none")
    assert (made.stages[0].amount.ml, made.stages[0].amount.net_g) == (200, 240)
    assert made.stages[0].batches is None


def test_batches_keep_within_the_sheets_largest():
    made = filled(sheet_of("filler", batch_mass_max_g=Decimal(90)), depth=20)
    assert len(made.batches.batches) == 3
    assert all(batch.total <= 90 for batch in made.batches.batches)
    assert sum(batch.total for batch in made.batches.batches) >= 200
    assert all(batch.a + batch.b == batch.total for batch in made.batches.batches)


def test_a_warm_day_and_a_slow_crew_make_more_batches():
    sheet = sheet_of("filler")
    slow = {"pace_g_min": Decimal(2), "air_night_c": Decimal(10)}
    cool = filled(sheet, air_day_c=Decimal(20), **slow)
    warm = filled(sheet, air_day_c=Decimal(30), **slow)
    assert len(warm.batches.batches) > len(cool.batches.batches)
    assert warm.working.time < cool.working.time


def test_a_product_by_volume_alone_is_measured_in_millilitres():
    sheet = sheet_of("filler", weight_a=None, weight_b=None, volume_a=2, volume_b=1,
                     density_a_g_ml=None, density_mixed_g_ml=None)  # fmt: skip
    made = filled(sheet, depth=30)
    batch = made.batches.batches[0]
    assert (made.unit, batch.a, batch.b) == ("ml", 100, 50)
    assert made.amount.net_g is None
    assert "density" in " ".join(made.missing)


def test_a_batch_too_small_for_the_scale_is_told():
    made = filled(sheet_of("filler"), depth=1)
    assert made.least_batch_g > made.batches.batches[0].total
    assert "scale-too-coarse" in codes(made.remarks)


def test_no_batch_is_large_enough_where_the_sheet_wants_the_ratio_exact():
    made = filled(sheet_of("filler", ratio_tolerance_pct=Decimal(0)))
    assert made.batches
    assert made.least_batch_g is None


# What cannot be


def test_more_taken_off_than_there_is_gives_no_cavity_but_a_sentence():
    shapes = [shape(10, 10, 10), shape(20, 20, 20, taken_off=True)]
    made = worked_out([stage("fill", sheet_of("filler"))], shapes=shapes)
    assert made.cavity is None
    assert "not less than the cavity" in made.missing[0]
    assert made.stages[0].amount is None


def test_ten_tonnes_of_resin_are_refused_with_a_sentence():
    sheet = sheet_of("filler", batch_mass_max_g=Decimal(100), density_mixed_g_ml=Decimal(15))
    made = worked_out([stage("fill", sheet)], shapes=[shape(9000, 300, 240)])
    assert made.stages[0].batches is None
    assert "500 batches" in " ".join(made.stages[0].missing)
    assert "cavity-too-big" in codes(made.remarks)


@pytest.mark.parametrize("sizes", [(1300, 50, 20), (100, 100, 160), (1200, 200, 100)])
def test_a_cavity_larger_than_the_member_is_told(sizes):
    made = worked_out([stage("fill", sheet_of("filler"))], shapes=[shape(*sizes)])
    assert "cavity-too-big" in codes(made.remarks)


def test_an_empty_plan_says_what_to_enter():
    made = worked_out([stage("fill", sheet_of("filler")), stage("seal")])
    assert made.cavity is None
    assert made.missing
    assert made.stages[0].missing
    assert made.stages[1].missing == ("Choose a product for sealing.",)
    assert made.total_minor is None


def test_a_profile_that_is_no_profile_is_told():
    made = worked_out([stage("fill", sheet_of("filler"))], measured="profile", profile=[[1, 2]])
    assert "a place, a width and a depth" in made.missing[0]


def test_a_sheet_without_coverage_or_ratio_says_so():
    sheet = sheet_of("sealer", coverage_m2_per_l=None)
    made = worked_out([stage("seal", sheet)], shapes=[shape(100, 100, 20)]).stages[0]
    assert "what a litre covers" in made.missing[0]
    bare = sheet_of("filler", weight_a=None, weight_b=None)
    assert "no mix ratio" in " ".join(filled(bare).missing)


def test_a_thin_layer_on_a_hot_face_is_told_where_the_sheet_is_silent():
    sheet = sheet_of("filler", heat_deflection_c=Decimal(80))
    assert "layer-thin-for-heat" in codes(filled(sheet, depth=8).remarks)
    assert "layer-thin-for-heat" not in codes(filled(sheet, depth=13).remarks)
    dark = sill(member__finish_tone="unknown")
    assert "layer-thin-for-heat" not in codes(filled(sheet, depth=8, defect=dark).remarks)
