"""What was found brings the next look forward, and never pushes it back."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from properties.models import MoistureReading
from repairs.looks.record import InspectionEntry, record_inspection
from repairs.models import DueDate, DueRule, Inspection
from repairs.models.due_dates import DueKind
from tests import factories as make

pytestmark = pytest.mark.django_db
JUNE_4 = date(2026, 6, 4)
Result = Inspection.Result


def yearly() -> DueDate:
    """A look at a member every year on 4 June."""
    rule = make.DueRuleFactory(
        code="yearly", kind=DueKind.MEMBER_LOOK, first_months=[], then_months=12, place=1,
        words="Once a year",
    )  # fmt: skip
    return make.DueDateFactory(
        member=make.MemberFactory(), kind=DueKind.MEMBER_LOOK, rule=rule, due_on=JUNE_4,
        counted_from=date(2025, 6, 4),
    )  # fmt: skip


def look(
    due: DueDate | None, on: date = JUNE_4, reading: MoistureReading | None = None, **facts: Any
) -> Inspection:
    if due is not None:
        facts = {"member": due.member, "repair": due.repair, "due": due, **facts}
    found = make.InspectionFactory.build(looked_on=on, **facts)
    return record_inspection(InspectionEntry(found, reading), make.UserFactory(), on)


def following(due: DueDate) -> DueDate:
    return DueDate.objects.outstanding().get(member=due.member)


@pytest.mark.parametrize(
    ("facts", "next_on"),
    [
        ({}, date(2027, 6, 4)),
        ({"edge": "hairline"}, date(2027, 6, 4)),
        ({"chalking": Decimal(5)}, date(2027, 6, 4)),
        ({"edge": "open"}, date(2026, 12, 4)),
        ({"condition": "CC2"}, date(2026, 12, 4)),
        ({"cracking": Decimal(3)}, date(2026, 12, 4)),
        ({"cross_cut": Decimal(4)}, date(2026, 12, 4)),
        ({"urgency": "UC2"}, date(2026, 12, 4)),
        ({"edge": "soft"}, date(2026, 9, 4)),
        ({"urgency": "UC3"}, date(2026, 7, 4)),
        ({"urgency": "UC3", "edge": "soft", "result": "watch"}, date(2026, 7, 4)),
    ],
)
def test_the_next_look_follows_what_was_found(facts: dict[str, Any], next_on: date) -> None:
    due = yearly()
    look(due, **facts)
    assert following(due).due_on == next_on


@pytest.mark.parametrize(
    ("raw", "wood_c", "next_on"),
    [
        ("19", None, date(2027, 6, 4)),
        ("24", None, date(2026, 12, 4)),
        # 19 % in wood of 10 °C is 20.3 % at 20 °C; 20.5 % at 30 °C is 19.3 % (VTT, 0.125 % per °C).
        ("19", "10", date(2026, 12, 4)),
        ("20.5", "30", date(2027, 6, 4)),
        ("60", "20", date(2026, 12, 4)),
    ],
)
def test_wet_wood_is_looked_at_sooner_by_the_corrected_reading(
    raw: str, wood_c: str | None, next_on: date
) -> None:
    due = yearly()
    reading = make.MoistureReadingFactory.build(
        member=due.member, raw_pct=Decimal(raw), meter="pin", treated="no",
        wood_c=Decimal(wood_c) if wood_c else None,
    )  # fmt: skip
    look(due, reading=reading)
    assert following(due).due_on == next_on


def test_the_date_tells_all_its_reasons_with_their_sources() -> None:
    due = yearly()
    look(due, edge="soft", flaking=Decimal("3.5"))
    assert following(due).set_because == (
        "Soft wood beside the repair: half the usual interval, and within 3 months. "
        "Flaking 3.5, ISO 4628: half the usual interval (common practice, "
        "no source). Once a year"
    )


def test_a_sound_look_afterwards_returns_to_the_series() -> None:
    due = yearly()
    look(due, urgency="UC3")
    look(following(due), date(2026, 7, 4))
    assert following(due).due_on == date(2027, 6, 4)


def test_what_is_found_never_makes_a_look_later() -> None:
    """Half of a year is six months, but the rule asks for one after three."""
    DueRule.objects.filter(kind=DueKind.MEMBER_LOOK).update(in_force=False)
    due = yearly()
    DueRule.objects.filter(code="yearly").update(then_months=3)
    due.counted_from = date(2026, 3, 4)
    due.save()
    look(due, urgency="UC2")
    assert following(due).due_on == date(2026, 9, 4)


def test_what_is_urgent_waits_for_no_season() -> None:
    due = yearly()
    DueRule.objects.filter(code="yearly").update(seasons=["spring"], frost_free=True)
    look(due, date(2026, 11, 28), urgency="UC3")
    assert following(due).due_on == date(2026, 12, 28)


def test_an_extra_look_brings_the_planned_one_forward_and_keeps_what_stood_there() -> None:
    due = yearly()
    look(None, date(2026, 1, 10), member=due.member, urgency="UC3")
    due.refresh_from_db()
    assert due.due_on == date(2026, 2, 10)
    assert due.set_because.startswith("Urgency UC3, urgent and immediate: within a month")
    assert "Until then it was 4 June 2026" in due.set_because


def test_an_extra_look_pushes_nothing_back() -> None:
    due = yearly()
    look(None, date(2026, 5, 20), member=due.member, urgency="UC2")
    due.refresh_from_db()
    assert due.due_on == JUNE_4


def test_something_urgent_on_a_member_without_a_plan_gets_a_look_of_its_own() -> None:
    member = make.MemberFactory()
    look(None, member=member, urgency="UC3")
    due = DueDate.objects.get(member=member)
    assert (due.kind, due.due_on, due.rule, due.set_by) == (
        DueKind.MEMBER_LOOK, date(2026, 7, 4), None, "rule",
    )  # fmt: skip
    assert "Found on 4 June 2026" in due.set_because


def test_something_urgent_is_seen_to_by_a_look_that_is_planned_in_time() -> None:
    repair = make.RepairFactory()
    due = make.DueDateFactory(member=repair.member, repair=repair, due_on=date(2026, 6, 20))
    look(None, member=repair.member, urgency="UC3")
    assert DueDate.objects.get() == due


def test_something_urgent_after_a_date_for_once_is_looked_at_again() -> None:
    due = make.DueDateFactory(kind=DueKind.MEMBER_LOOK, rule=None, due_on=JUNE_4)
    look(due, edge="moving")
    assert following(due).due_on == date(2026, 9, 4)


# A look and what is no longer there


@pytest.mark.parametrize("named", ["repair", "due"])
def test_a_look_before_the_repair_is_refused_by_whatever_way_it_comes(named: str) -> None:
    repair = make.RepairFactory()
    due = make.DueDateFactory(member=repair.member, repair=repair)
    subject = {"member": repair.member, named: {"repair": repair, "due": due}[named]}
    found = make.InspectionFactory.build(looked_on=date(2026, 5, 3), **subject)
    with pytest.raises(ValidationError, match="made on 4 May 2026"):
        record_inspection(InspectionEntry(found), make.UserFactory(), JUNE_4)
    assert not Inspection.objects.exists()
    assert DueDate.objects.outstanding().get() == due
