"""What the database itself refuses of repairs, batches, costs, looks and what hangs on them."""

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction

from repairs.models import CalendarFeed, CostLine, Inspection, Repair, Round, RoundStop
from tests import factories
from tests.constraints import BadRow, constraints_of, names, refusal
from tests.factories import MORNING

pytestmark = pytest.mark.django_db
MAY, EARLIER = date(2026, 5, 8), MORNING - timedelta(hours=1)


def fresh(kept: int) -> uuid.UUID:
    return uuid.uuid4()


def other_round(kept: int) -> int:
    round: Round = factories.RoundFactory()
    return round.pk


def itself(kept: int) -> int:
    """The key that the copy gets, so that it can point at itself."""
    return kept + 1000


def repair(**wrong: object) -> BadRow:
    return BadRow(factories.RepairFactory, {"submission": fresh, **wrong})


def stage(**wrong: object) -> BadRow:
    return BadRow(factories.StageFactory, {"position": 9999, **wrong})


def cost(**wrong: object) -> BadRow:
    return BadRow(factories.CostLineFactory, wrong)


def look(**wrong: object) -> BadRow:
    return BadRow(factories.InspectionFactory, {"submission": fresh, **wrong})


def batch_part(**wrong: object) -> BadRow:
    return BadRow(factories.BatchPartFactory, wrong)


def answering_look() -> Inspection:
    due = factories.DueDateFactory()
    return factories.InspectionFactory(member=due.member, due=due)


def second_repair() -> Repair:
    first = factories.RepairFactory()
    return factories.RepairFactory(member=first.member, relation="repeat", follows=first)


def plan(**wrong: object) -> BadRow:
    return BadRow(factories.PlanFactory, {"submission": fresh, **wrong})


def shape(**wrong: object) -> BadRow:
    return BadRow(factories.PlanShapeFactory, {"position": 9999, **wrong})


def option(**wrong: object) -> BadRow:
    return BadRow(factories.PlanOptionFactory, {"kind": "watch", **wrong})


def index_year(**wrong: object) -> BadRow:
    return BadRow(factories.PriceIndexYearFactory, {"year": 2199, **wrong})


PLAN_BELOW_ZERO = (
    "end_grain_mm2",
    "side_grain_mm2",
    "paint_m2",
    "labour_hours",
    "labour_rate_minor",
    "access_minor",
)
PLAN_ROWS = {
    "plan_dropped_with_reason": plan(state="dropped"),
    "plan_logged_names_its_repair": plan(state="logged"),
    "plan_poured_says_how_much": plan(measured="poured"),
    "plan_lining_says_how_thick": plan(filling="hollow"),
    **{
        f"plan_{name}_positive": plan(**{name: Decimal(0)})
        for name in ("poured_ml", "shell_mm", "scale_step_g", "pace_g_min")
    },
    **{f"plan_{name}_not_negative": plan(**{name: -1}) for name in PLAN_BELOW_ZERO},
    **{
        f"plan_{name}_percent": plan(**{name: Decimal(101)})
        for name in ("humidity_pct", "wood_moisture_pct", "loss_pct")
    },
    "plan_study_years_range": plan(study_years=101),
    "plan_real_rate_range": plan(real_rate_pct=Decimal(26)),
    "plan_price_rise_range": plan(price_rise_pct=Decimal(-6)),
    "plan_shape_position_once": BadRow(factories.PlanShapeFactory),
    "plan_shape_length_mm_positive": shape(length_mm=Decimal(0)),
    "plan_shape_width_mm_positive": shape(width_mm=Decimal(0)),
    "plan_shape_depth_mm_positive": shape(depth_mm=Decimal(0)),
    "plan_shape_depth_known": shape(depth_mm=None),
    "plan_stage_position_once": BadRow(factories.PlanStageFactory),
    "plan_stage_coats_range": BadRow(factories.PlanStageFactory, {"position": 9999, "coats": 11}),
    "plan_stage_layer_positive": BadRow(
        factories.PlanStageFactory, {"position": 9999, "layer_mm": Decimal(0)}
    ),
    "plan_option_once": BadRow(factories.PlanOptionFactory),
    "plan_option_life_years_positive": option(life_years=Decimal(0)),
    "plan_option_life_low_years_positive": option(life_low_years=Decimal(0)),
    "plan_option_repaint_years_positive": option(repaint_years=Decimal(0)),
    "plan_option_first_minor_not_negative": option(first_minor=-1),
    "plan_option_access_minor_not_negative": option(access_minor=-1),
    "plan_option_upkeep_minor_not_negative": option(upkeep_minor=-1),
    "plan_option_repaint_minor_not_negative": option(repaint_minor=-1),
    "plan_option_spread_percent": option(cost_spread_pct=Decimal(101)),
    "plan_option_low_life": option(life_low_years=Decimal(11)),
    "plan_option_high_life": option(life_high_years=Decimal(9)),
    "price_index_currency_code": BadRow(factories.PriceIndexFactory, {"currency": "gbp"}),
    "price_index_year_once": BadRow(factories.PriceIndexYearFactory),
    "price_index_value_positive": index_year(value=Decimal(0)),
    "price_index_year_range": index_year(year=1799),
}


def looked_at_stop() -> RoundStop:
    return factories.RoundStopFactory(inspection=factories.InspectionFactory())


def work_rate(**wrong: object) -> BadRow:
    return BadRow(factories.WorkRateFactory, {"what": "look", **wrong})


def work_move(**wrong: object) -> BadRow:
    return BadRow(factories.WorkMoveFactory, wrong)


AHEAD_ROWS = {
    "work_rate_once": BadRow(factories.WorkRateFactory),
    "work_rate_low_not_negative": work_rate(low_minor=-1),
    "work_rate_likely_positive": work_rate(likely_minor=0),
    "work_rate_in_order": work_rate(low_minor=12_001),
    "work_rate_per_fits": work_rate(per="area"),
    "work_move_of_one_thing": work_move(elevation=None),
    "work_move_years_rise": work_move(last_year=2027),
    "work_move_with_reason": work_move(reason=""),
}


def property_feed() -> CalendarFeed:
    return factories.CalendarFeedFactory(shows="property", property=factories.PropertyFactory())


FEED = {"key": fresh, "token": "another"}
ROWS = {
    **PLAN_ROWS,
    **AHEAD_ROWS,
    "repair_ends_after_it_begins": repair(ended_at=EARLIER),
    "repair_relation_names_the_earlier_one": repair(relation="redo"),
    "repair_does_not_follow_itself": BadRow(
        second_repair, {"submission": fresh, "pk": itself, "follows_id": itself}
    ),
    "repair_failed_on_fits_state": repair(failed_on=MAY),
    "stage_position_once": BadRow(factories.StageFactory),
    "stage_ends_after_it_begins": stage(ended_at=EARLIER),
    "stage_thickness_positive": stage(thickness_mm=Decimal(0)),
    "stage_humidity_percent": stage(humidity_pct=Decimal(101)),
    "stage_moisture_range": stage(moisture_pct=Decimal(201)),
    "batch_applied_after_mixed": BadRow(factories.BatchFactory, {"applied_at": EARLIER}),
    "batch_humidity_percent": BadRow(factories.BatchFactory, {"humidity_pct": Decimal(-1)}),
    "batch_part_amount_positive": batch_part(amount=Decimal(0)),
    "batch_part_is_a_part": batch_part(part="kit"),
    "batch_part_kit_fraction_positive": batch_part(kit_fraction=Decimal(0)),
    "batch_share_positive": BadRow(
        factories.BatchShareFactory, {"stage": None, "amount": Decimal(0)}
    ),
    "batch_share_once_per_stage": BadRow(factories.BatchShareFactory),
    "batch_share_one_waste": BadRow(factories.BatchShareFactory, sound={"stage": None}),
    "shared_cost_not_zero": BadRow(factories.SharedCostFactory, {"total_minor": 0}),
    "shared_cost_currency_code": BadRow(factories.SharedCostFactory, {"currency": "gbp"}),
    "cost_amount_not_zero": cost(amount_minor=0, home_minor=0),
    "cost_credit_is_negative": cost(kind="credit"),
    "cost_is_positive": cost(amount_minor=-1, home_minor=-1),
    "cost_home_has_same_sign": cost(home_minor=-1),
    "cost_rate_positive": cost(rate=Decimal(0)),
    "cost_currency_code": cost(currency="gbp"),
    "cost_counts_on_follows_dates": cost(invoiced_on=MAY),
    "cost_year_follows_counts_on": cost(year=2025),
    "labour_hours_positive": BadRow(factories.LabourFactory, {"hours": Decimal(0)}),
    "labour_rate_not_negative": BadRow(factories.LabourFactory, {"rate_minor": -1}),
    "labour_currency_code": BadRow(factories.LabourFactory, {"currency": "£"}),
    "due_rule_months_range": BadRow(
        factories.DueRuleFactory, {"code": "another", "then_months": 601}
    ),
    "due_rule_ages_rise": BadRow(
        factories.DueRuleFactory, {"code": "another", "age_from_years": 5, "age_to_years": 5}
    ),
    "due_rule_repaint_at_range": BadRow(
        factories.DueRuleFactory, {"code": "another", "kind": "repaint", "repaint_at": Decimal(0)}
    ),
    "due_rule_ratings_move_repaints": BadRow(
        factories.DueRuleFactory, {"code": "another", "repaint_at": Decimal(3)}
    ),
    "due_rule_latest_after_interval": BadRow(
        factories.DueRuleFactory, {"code": "another", "kind": "repaint", "latest_months": 11}
    ),
    "due_rule_window_range": BadRow(
        factories.DueRuleFactory, {"code": "another", "window_days": 367}
    ),
    "member_interval_once": BadRow(factories.MemberIntervalFactory),
    "member_interval_months_range": BadRow(factories.MemberIntervalFactory, {"months": 0}),
    "due_cancelled_with_reason": BadRow(factories.DueDateFactory, {"cancelled_on": MAY}),
    "round_has_a_name": BadRow(factories.RoundFactory, {"submission": fresh, "name": ""}),
    "round_ended_with_reason": BadRow(
        factories.RoundFactory, {"submission": fresh, "ended_on": MAY}
    ),
    "round_stop_once": BadRow(factories.RoundStopFactory),
    "round_stop_left_out_or_looked_at": BadRow(
        looked_at_stop, {"round_id": other_round, "left_out_because": "Gate locked"}
    ),
    **{f"inspection_{name}_range": look(**{name: Decimal("5.5")}) for name in Inspection.RATINGS},
    **{
        f"inspection_{name}_size_of_something": look(**{f"{name}_size": "S3"})
        for name in Inspection.SIZED
    },
    "inspection_flaking_depth_of_something": look(flaking=Decimal(0), flaking_depth="wood"),
    "inspection_answers_a_date_once": BadRow(answering_look, {"submission": fresh}),
    "inspection_redo_opens_a_defect": look(result="redo"),
    "photograph_shows_something": BadRow(factories.PhotographFactory, {"repair": None}),
    "remark_warning_has_reason": BadRow(factories.KeptRemarkFactory, {"reason": ""}),
    "remark_released_by_somebody": BadRow(
        factories.KeptRemarkFactory, {"released_on": MAY, "released_word": "Seen on site"}
    ),
    "calendar_feed_property_if_of_one": BadRow(
        factories.CalendarFeedFactory, {**FEED, "shows": "property"}
    ),
    "calendar_feed_shows_once": BadRow(factories.CalendarFeedFactory, FEED),
    "calendar_feed_property_once": BadRow(property_feed, FEED),
    "sent_mail_once": BadRow(factories.SentMailFactory),
}


@pytest.mark.parametrize("name", sorted(ROWS))
def test_the_database_refuses_a_row_that_cannot_be(name: str) -> None:
    row = ROWS[name].copy()
    said = refusal(row)
    assert names(constraints_of("repairs")[name], row, said), said


def test_every_constraint_is_tried() -> None:
    assert set(constraints_of("repairs")) == set(ROWS)


def test_the_database_refuses_to_change_a_cost_line() -> None:
    line = factories.CostLineFactory()
    with (
        pytest.raises(IntegrityError, match="repairs_costline is append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute("UPDATE repairs_costline SET amount_minor = 1 WHERE id = %s", [line.pk])
    assert CostLine.objects.get(pk=line.pk).amount_minor == line.amount_minor
