"""The pace of many dates at once is that of `repairs.due.pace` for each, whatever rules ask."""

from datetime import date
from decimal import Decimal

import pytest

from properties.models import Property
from repairs.ahead.occurrences import first_of, month_number
from repairs.ahead.outlook import Asked, outlooks
from repairs.due.pace import coming_days
from repairs.models import DueDate, DueRule
from tests import factories as make
from tests.repairs.ahead.made import done

pytestmark = pytest.mark.django_db
FIRST = date(2027, 1, 1)
YEARS = 6


def rule(code: str, place: int, kind: str = "repair_look", **conditions: object) -> DueRule:
    return make.DueRuleFactory(
        code=code, place=place, kind=kind, **{"first_months": [1, 6], "then_months": 12,
        **conditions},
    )  # fmt: skip


def months_ahead() -> tuple[list[date], list[date]]:
    """The months of looks and of repaints, one for each."""
    (found,) = outlooks(Property.objects.all(), Asked(FIRST, years=YEARS))
    months = [month for line in found.lines for month in line.months]
    looks = [month.month for month in months for _ in range(month.looks)]
    return looks, [month.month for month in months for _ in range(month.repaints)]


def months_one_by_one() -> tuple[list[date], list[date]]:
    looks: list[date] = []
    repaints: list[date] = []
    for due in DueDate.objects.outstanding():
        days = coming_days(due, 12 * YEARS + 2, FIRST)
        months = (first_of(month_number(max(day, FIRST))) for day in days)
        into = repaints if due.kind == "repaint" else looks
        into.extend(month for month in months if month < date(FIRST.year + YEARS, 1, 1))
    return sorted(looks), sorted(repaints)


def agree() -> None:
    ahead = months_ahead()
    assert ahead == months_one_by_one()
    assert ahead != ([], [])


def some_dates() -> None:
    """Looks at six repairs of unlike kinds and ages, and repaints, on unlike members."""
    elevation = make.ElevationFactory(access="ground")
    finishes = ("paint", "solid_stain", "unknown")
    for number in range(6):
        member = make.MemberFactory(
            building=elevation.building, elevation=elevation, kind=("sill", "door")[number % 2],
            finish=finishes[number % 3], exposure=("partly", "severe")[number % 2],
            installed_year=2000 + 4 * number,
        )  # fmt: skip
        repair = done(
            member, ("resin", "splice", "make_safe")[number % 3], 2012 + 2 * number,
            temporary=number == 4,
        )  # fmt: skip
        counted_from = date(2024, 1 + number, 28 + number % 2)
        any_rule = DueRule.objects.first()
        for kind, of in (
            ("repair_look", repair), ("coating_look", None), ("member_look", None),
            ("repaint", None),
        ):  # fmt: skip
            make.DueDateFactory(
                member=member, repair=of, kind=kind, counted_from=counted_from, step=number % 3,
                due_on=date(2026 + number % 3, 11, 30), rule=any_rule,
                window_days=(7, 30, 90)[number % 3],
            )  # fmt: skip


@pytest.fixture(autouse=True)
def _only_these_rules():
    DueRule.objects.update(in_force=False)
    for place, kind in enumerate(("repair_look", "coating_look", "member_look", "repaint")):
        rule(f"last-{kind}", 90 + place, kind, then_months=(12, 9, 24, 30)[place])
    some_dates()


def test_by_the_rules_for_all():
    agree()


def test_by_rules_about_the_repair_and_the_member():
    rule("temporary", 1, temporary=True, first_months=[], then_months=3, from_done=True)
    rule("splices", 2, repair_kind="splice", first_months=[], then_months=18)
    rule("doors", 3, "member_look", member_kind="door", first_months=[], then_months=5)
    rule("stain", 4, "repaint", finish="solid_stain", first_months=[], then_months=50)
    rule("severe", 5, "coating_look", exposure="severe", first_months=[3], then_months=7)
    agree()


def test_by_rules_about_age():
    rule("old-repairs", 1, age_from_years=10, first_months=[], then_months=4)
    rule("old-members", 2, "member_look", age_from_years=12, age_to_years=20, then_months=6)
    rule("old-coats", 3, "repaint", age_from_years=5, then_months=16)
    for due in DueDate.objects.filter(kind="repaint")[:3]:
        done(due.member, "repaint", 2015)
    make.StageFactory(
        repair=DueDate.objects.exclude(repair=None)[0].repair, kind="paint",
        began_at=make.MORNING.replace(year=2014),
    )  # fmt: skip
    agree()


def test_by_rules_about_condition_and_climate():
    rule("bad", 1, "member_look", worst_condition="CC2", then_months=2)
    rule("damp", 2, "coating_look", climate="moderate", then_months=8)
    first, second = DueDate.objects.filter(kind="member_look")[:2]
    make.InspectionFactory(member=first.member, condition="CC3", looked_on=date(2025, 5, 4))
    make.InspectionFactory(member=second.member, condition="CC3", looked_on=date(2024, 5, 4))
    make.InspectionFactory(member=second.member, condition="CC1", looked_on=date(2025, 5, 4))
    for month in range(1, 13):
        make.MonthlyNormalFactory(
            property=first.member.building.property, month=month,
            mean_c=Decimal(2 + 1.5 * min(month, 13 - month)), rain_days=Decimal(14),
        )  # fmt: skip
    agree()


def test_by_a_person_s_own_interval_and_for_dates_that_stand_alone():
    looks = DueDate.objects.filter(kind="coating_look")
    make.MemberIntervalFactory(member=looks[0].member, kind="coating_look", months=5)
    DueDate.objects.filter(pk=looks[1].pk).update(rule=None)
    DueDate.objects.filter(pk=looks[2].pk).update(rule=None)
    make.MemberIntervalFactory(member=looks[2].member, kind="coating_look", months=7)
    agree()


def test_by_seasons_frost_and_fixed_days():
    rule("spring", 1, "coating_look", seasons=["spring"], first_months=[], then_months=10)
    rule("no-frost", 2, "repaint", frost_free=True, first_months=[], then_months=19)
    rule("twice", 3, "member_look", fixed_days=["04-15", "10-15"])
    agree()
