"""When the stages of a plan may begin, and what the rules say of them before they are done."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from repairs.forecast import ForecastHour, to_rows
from tests.factories import MORNING, LotFactory, RepairFactory
from tests.repairs.plans.made import codes, shape, sheet_of, sill, stage, worked_out

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
LONDON = ZoneInfo("Europe/London")
BOX = {"shapes": [shape(100, 100, 20)]}
STEADY = {"air_day_c": Decimal(20), "air_night_c": Decimal(20), "humidity_pct": Decimal(50)}


def resin(**figures):
    return sheet_of("filler", heat_deflection_c=Decimal(80), **figures)


def paint(**figures):
    usual = {"cure_time": 16 * HOUR, "recoat_from": 16 * HOUR, "recoat_to": None}
    return sheet_of("paint", parts=1, **{**usual, **figures})


def begins(prepared):
    return [each.days.begins_at for each in prepared.stages]


def local(day, hour):
    return datetime(2026, 5, day, hour, tzinfo=LONDON)


def forecast(hours, **about):
    """From the start of 4 May, one figure of air for each hour."""
    start = local(4, 0)
    usual = {"humidity_pct": 50.0, "rain_mm": 0.0, **about}
    return to_rows(
        [ForecastHour(start + number * HOUR, air, **usual) for number, air in enumerate(hours)]
    )


def test_the_next_stage_begins_when_the_recoat_window_opens():
    seal, fill = begins(worked_out([stage("seal", resin()), stage("fill", resin())],
                                   **BOX, **STEADY))  # fmt: skip
    assert (seal, fill) == (MORNING, MORNING + 4 * HOUR)


def test_paint_waits_for_full_cure_and_for_the_morning():
    made = worked_out([stage("fill", resin()), stage("paint", paint())],
                      paint_m2=Decimal(1), **BOX, **STEADY)  # fmt: skip
    assert made.stages[0].days.cure.ready_at == MORNING + 24 * HOUR
    assert begins(made)[1] == MORNING + 24 * HOUR
    late = worked_out([stage("fill", resin()), stage("paint", paint())],
                      starts_at=MORNING + 10 * HOUR - 5 * HOUR, paint_m2=Decimal(1), **BOX,
                      air_day_c=Decimal(15), air_night_c=Decimal(15))  # fmt: skip
    begun = begins(late)[1]
    assert begun > late.stages[0].days.cure.ready_at
    assert 7 <= begun.astimezone(LONDON).hour < 19


def test_a_cold_night_puts_the_cure_off_and_the_ready_day_with_it():
    about = {**BOX, "air_day_c": Decimal(20)}
    warm = worked_out([stage("fill", resin(apply_min_c=Decimal(10)))],
                      air_night_c=Decimal(20), **about)  # fmt: skip
    cold = worked_out([stage("fill", resin(apply_min_c=Decimal(10)))],
                      air_night_c=Decimal(4), **about)  # fmt: skip
    assert cold.ready_at > warm.ready_at
    assert cold.stages[0].days.cure.stalled_h > 0
    assert cold.takes > warm.takes


def test_in_frost_nothing_cures_and_what_follows_has_no_day():
    made = worked_out([stage("fill", resin(apply_min_c=Decimal(5))), stage("shape")],
                      air_day_c=Decimal(-30), air_night_c=Decimal(-30), **BOX)  # fmt: skip
    assert begins(made)[1] is None
    assert "does not cure" in made.stages[1].days.why
    assert made.ready_at is None
    assert "too-cold" in codes(made.stages[0].remarks)


def test_without_weather_the_sheet_alone_is_reckoned_with_and_it_is_said():
    made = worked_out([stage("fill", resin())], **BOX)
    assert made.stages[0].days.cure.ready_at == MORNING + 24 * HOUR
    assert made.stages[0].days.cure.earliest is None
    assert any("forecast" in sentence for sentence in made.missing)


def test_layers_follow_each_other_by_their_window():
    made = worked_out([stage("fill", resin(layer_max_mm=Decimal(10)))], **BOX, **STEADY)
    assert made.stages[0].days.layers == (MORNING, MORNING + 4 * HOUR)
    assert made.stages[0].days.cure.ready_at == MORNING + 28 * HOUR


def test_a_layer_that_comes_after_the_window_is_told_before_it_is_done():
    sheet = resin(layer_max_mm=Decimal(10), recoat_from=12 * HOUR, recoat_to=16 * HOUR)
    made = worked_out([stage("fill", sheet)], **BOX, **STEADY)
    assert "recoat-missed" in codes(made.stages[0].remarks)


def test_the_forecast_decides_the_first_hour():
    air = [8.0] * 12 + [14.0] * 36
    made = worked_out([stage("fill", resin(apply_min_c=Decimal(10)))], **BOX,
                      forecast=forecast(air))  # fmt: skip
    assert begins(made) == [local(4, 12)]
    assert made.stages[0].days.allowed
    assert made.stages[0].air_c == 14


def test_a_forecast_that_never_allows_it_gives_no_day():
    made = worked_out([stage("fill", resin(apply_min_c=Decimal(10)))], **BOX,
                      forecast=forecast([3.0] * 48))  # fmt: skip
    assert begins(made) == [None]
    assert "No hour of the forecast" in made.stages[0].missing[-1]


def test_an_early_start_that_was_typed_is_kept():
    early = MORNING - 4 * HOUR
    assert begins(worked_out([stage("open_up")], starts_at=early)) == [early]


def test_a_forecast_that_refuses_says_why():
    made = worked_out([stage("fill", resin())], **BOX, forecast=forecast([20.0] * 48, rain_mm=1.0))
    assert "rain" in made.stages[0].days.why


def test_beyond_the_forecast_working_days_are_counted():
    made = worked_out([stage("fill", resin()), stage("paint", paint())], paint_m2=Decimal(1),
                      **BOX, forecast=forecast([20.0] * 24))  # fmt: skip
    assert begins(made)[1] == MORNING + 24 * HOUR


def test_times_are_those_of_the_place():
    started = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)
    made = worked_out([stage("open_up")], starts_at=started)
    assert begins(made)[0].isoformat() == "2026-05-04T09:00:00+01:00"


# The same rules as the log's


def test_scenario_15_near_the_dew_point_is_told_before_it_is_done():
    made = worked_out([stage("fill", resin())], **BOX, air_day_c=Decimal(12),
                      air_night_c=Decimal(7), humidity_pct=Decimal(88))  # fmt: skip
    assert {"near-dew-point", "dewy-night"} <= codes(made.stages[0].remarks)


def test_scenario_15_the_night_low_is_told_though_the_day_is_clear():
    made = worked_out([stage("fill", resin())], **BOX, air_day_c=Decimal(16),
                      air_night_c=Decimal(7), humidity_pct=Decimal(70))  # fmt: skip
    said = codes(made.stages[0].remarks)
    assert "dewy-night" in said
    assert "near-dew-point" not in said


def test_scenario_7_a_third_repair_on_the_spot_is_told():
    defect = sill()
    for _ in range(2):
        RepairFactory(member=defect.member, zone="left", began_at=MORNING - timedelta(days=700))
    made = worked_out([stage("fill", resin())], defect=defect, zone="left", **BOX)
    assert "third-repair" in codes(made.remarks)
    elsewhere = worked_out([stage("fill", resin())], defect=defect, zone="right", **BOX)
    assert "third-repair" not in codes(elsewhere.remarks)


def test_scenario_17_a_cause_left_open_allows_only_a_temporary_repair():
    made = worked_out([stage("open_up")], defect=sill(cause="gutter", cause_state="not_yet"))
    assert "cause-open" in codes(made.remarks)


def test_wet_wood_is_told_with_a_guess_at_the_drying():
    made = worked_out([stage("fill", resin(wood_moisture_max_pct=Decimal(15)))], **BOX, **STEADY,
                      wood_moisture_pct=Decimal(24))  # fmt: skip
    assert "wood-wet" in codes(made.stages[0].remarks)
    drying = next(each for each in made.remarks if each.code == "drying")
    assert "roughly" in drying.found


def test_heat_too_low_is_told_once_of_a_product_used_twice():
    sheet = sheet_of("filler", heat_deflection_c=Decimal(40))
    made = worked_out([stage("seal", sheet), stage("fill", sheet)], **BOX)
    said = [remark.code for each in made.stages for remark in each.remarks]
    assert said.count("heat-too-low") == 1


def test_a_member_that_may_carry_load_asks_for_an_engineer():
    made = worked_out([stage("open_up")], defect=sill(member__load_bearing="unknown"))
    assert "no-engineer-note" in codes(made.remarks)
    assert any("engineer" in caution for caution in made.cautions)


def test_much_section_lost_stops_the_plan_with_a_word():
    made = worked_out([stage("open_up")], defect=sill(section_loss="50_100"))
    assert made.remarks[0].level == "stop"


def test_cured_resin_is_washed_before_paint():
    made = worked_out([stage("fill", resin()), stage("paint", paint())], paint_m2=Decimal(1),
                      **BOX, **STEADY)  # fmt: skip
    wash = next(each for each in made.stages[1].remarks if each.code == "wash-not-recorded")
    assert wash.found == "Painting comes on cured resin."


def test_a_start_that_has_passed_is_told():
    made = worked_out([stage("open_up")], at=MORNING + timedelta(days=2))
    assert "start-past" in codes(made.remarks)


def test_resins_are_ranked_by_their_margin_over_the_face():
    cool, hot = resin(), sheet_of("filler", heat_deflection_c=Decimal(120))
    silent = sheet_of("filler")
    for sheet in (hot, silent):
        LotFactory(product=sheet.product)
    made = worked_out([stage("fill", cool)], **BOX)
    assert [each.sheet for each in made.ranking] == [hot, cool, silent]
    assert [each.in_plan for each in made.ranking] == [False, True, False]
    assert made.ranking[0].margin_k == 120 - made.face.celsius
    assert made.ranking[2].margin_k is None


def test_a_forecast_that_was_kept_wrong_is_told():
    made = worked_out([stage("open_up")], forecast=[["never", 1]])
    assert "rows of four" in made.missing[0]
