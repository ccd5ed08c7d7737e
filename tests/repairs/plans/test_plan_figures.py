"""Every figure of a plan can be opened, in the reader's units, and none is made up."""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import timedelta
from decimal import Decimal

import pytest

from config.figures import Figure
from repairs.forecast import ForecastHour, to_rows
from repairs.models import PlanOption
from repairs.plans.plan_figures import figures_of
from repairs.plans.prepare import prepare
from tests.factories import MORNING, KitFactory, make_kit_lot
from tests.repairs.plans.made import plan_rows, shape, sheet_of, stage

pytestmark = pytest.mark.django_db


def whole_plan(**about):
    putty = sheet_of(
        "filler", heat_deflection_c=Decimal(80), layer_max_mm=Decimal(25), pot_life_at_c=Decimal(20)
    )
    paint = sheet_of("paint", parts=1, cure_time=timedelta(hours=16))
    make_kit_lot(putty.product, a=100, b=50)
    KitFactory(product=putty.product)
    options = [
        PlanOption(kind="repair", first_minor=42000, life_years=Decimal(10),
                   repaint_minor=18000, repaint_years=Decimal(5)),
        PlanOption(kind="replace", first_minor=215000, life_years=Decimal(30)),
    ]  # fmt: skip
    stages = [stage("seal", putty), stage("fill", putty), stage("paint", paint, coats=2)]
    usual = {"air_day_c": Decimal(18), "air_night_c": Decimal(9), "paint_m2": Decimal("0.18"),
             "shapes": [shape(400, 60, 50.8)], "options": options, "pace_g_min": Decimal(20),
             "labour_hours": Decimal(4), "labour_rate_minor": 3200, "access_minor": 0}  # fmt: skip
    return plan_rows(stages, **{**usual, **about})


def every_figure(found: object) -> Iterator[Figure]:
    if isinstance(found, Figure):
        yield found
    elif isinstance(found, tuple):
        for each in found:
            yield from every_figure(each)
    elif is_dataclass(found):
        for field in fields(found):
            yield from every_figure(getattr(found, field.name))


def shown(rows, units="metric"):
    return figures_of(prepare(rows, MORNING), rows, units)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_figure_has_a_name_inputs_and_a_source_or_says_why_it_is_none(units):
    found = list(every_figure(shown(whole_plan(), units)))
    assert len(found) > 50
    for each in found:
        assert each.value
        assert each.name
        assert "None" not in each.value + repr(each.inputs)
        if each.formula:
            assert each.symbols or each.name.startswith("Expected surface")
            assert each.source
            assert each.inputs


def test_figures_stand_in_the_order_of_what_they_belong_to():
    rows = whole_plan()
    prepared = prepare(rows, MORNING)
    found = figures_of(prepared, rows, "metric")
    assert len(found.stages) == len(prepared.stages)
    assert len(found.stock) == len(prepared.stock)
    assert len(found.costs) == len(prepared.costs)
    assert len(found.options) == 2
    assert len(found.ranking) == len(prepared.ranking)
    assert [each.kind for each in found.fillings] == [each.kind for each in prepared.fillings]


def test_a_layer_that_gets_hot_is_not_said_to_keep_cool():
    """Walls kept cool cool more than wood and still air do: what is not critical between them can
    run away all the same."""
    sheet = sheet_of("filler", pot_life_at_c=Decimal(20), layer_max_mm=Decimal(25))
    rows = plan_rows([stage("fill", sheet)], shapes=[shape(100, 100, 13)], air_day_c=Decimal(20))
    found = shown(rows).stages[0].heat
    assert found is not None
    assert found.value == "over 150 °C: it may smoke and crack"
    inputs = dict(found.inputs)
    assert "wood and still air" in inputs["Runs away even between walls kept cool"]
    assert "0.88 slab, 2.00 cylinder, 3.32 sphere" in inputs["Running away"]


def test_a_reader_of_inches_reads_inches_and_weighs_grams():
    found = shown(whole_plan(), "us")
    fill = found.stages[1]
    assert "in" in fill.layers.value
    assert "mm" not in repr(found.cavity)
    assert " g (" in fill.batches.value
    assert "°F" in repr(fill.working.inputs)


def test_scenario_16_the_layers_are_told_with_what_they_follow_from():
    layers = shown(whole_plan()).stages[1].layers
    assert layers.value == "3 layers of 16.93 mm"
    assert ("One layer at most", "25 mm") in layers.inputs


def test_what_is_out_of_range_is_a_remark_and_no_number():
    found = shown(whole_plan(shapes=[shape(10, 10, 10), shape(50, 50, 50, taken_off=True)]))
    assert "not less than the cavity" in found.cavity.value
    assert not found.cavity.formula
    assert found.stages[1].amount.value
    assert found.total.value.startswith("Not known yet")


def test_what_is_missing_is_asked_for_in_place_of_a_number():
    found = shown(plan_rows([stage("fill")]))
    assert found.stages[0].amount.value == "Choose a product for filling."
    assert found.total.value.startswith("Not known yet")
    assert found.costs[1].value == "Not known: the hours are not entered."


def test_a_plan_always_shows_the_same_spread():
    rows = whole_plan()
    assert shown(rows).spread == shown(rows).spread
    assert "draws" in shown(rows).spread.value


def test_the_worked_comparison_of_the_trade_comes_out():
    """720 now and 180 in year 5, over one life of 10 years at 3.5 %: 104.80 a year."""
    options = [PlanOption(kind="repair", first_minor=42000, access_minor=30000, life_years=10,
                          repaint_minor=18000, repaint_years=5)]  # fmt: skip
    found = shown(plan_rows([], options=options, study_years=10))
    assert found.options[0].equivalent_annual.value == "GBP 104.80"
    assert found.options[0].present_value.value == "GBP 871.56"


def test_a_reader_of_feet_reads_coverage_by_the_gallon_and_a_cavity_in_square_inches():
    seal = shown(whole_plan(), "us").stages[0].amount
    assert ("Coverage", "204 ft² a US gallon") in seal.inputs
    inputs = dict(seal.inputs)
    assert inputs["End grain"].endswith(" in²")
    assert dict(shown(whole_plan()).stages[0].amount.inputs)["Coverage"] == "5 m² a litre"


def test_a_layer_that_its_sheet_allows_but_that_gets_hot_has_a_note():
    sheet = sheet_of("filler", pot_life_at_c=Decimal(20), layer_max_mm=Decimal(50))
    rows = plan_rows([stage("fill", sheet)], shapes=[shape(300, 90, 40)], air_day_c=Decimal(20))
    remark = next(each for each in prepare(rows, MORNING).stages[0].remarks
                  if each.code == "hot-while-curing")  # fmt: skip
    assert remark.level == "note"
    assert "The data sheet allows up to 50 mm" in remark.advice


def test_a_life_without_a_band_is_told_without_one():
    option = shown(whole_plan()).options[0].equivalent_annual
    assert ("Life", "10 years") in option.inputs


def test_the_hours_that_a_forecast_allows_are_told_with_what_refuses_the_others():
    air = [4.0] * 4 + [16.0] * 4
    hours = [ForecastHour(MORNING + timedelta(hours=hour), each, 50.0, 0.0)
             for hour, each in enumerate(air)]  # fmt: skip
    seal, fill, _ = shown(whole_plan(forecast=to_rows(hours))).stages
    for opened in (seal.hours, fill.hours):
        assert opened.value.startswith("4 h, from ")
        assert ("Refused: too cold", "4 h") in opened.inputs
        assert any(name == "To know" for name, _ in opened.inputs)
    assert shown(whole_plan()).stages[0].hours is None


def test_a_solid_filling_opens_to_the_loss_and_not_to_the_sizes_again():
    solid = shown(whole_plan()).fillings[0].ml
    assert solid.symbols.startswith("M = m / (1 − p)")
