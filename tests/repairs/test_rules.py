"""The rule set: the rules that an installation begins with, which one wins, and its pages."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from properties.models import Member
from repairs.due.default_rules import seed_rules
from repairs.due.pace import pace_for
from repairs.due.rule_set import DEFAULT_RULES
from repairs.models import DueDate, DueRule, MemberInterval
from repairs.models.due_dates import DueKind
from tests import factories as make

pytestmark = pytest.mark.django_db


def typed(**changes: Any) -> dict[str, Any]:
    return {
        "kind": "member_look", "temporary": "", "member_kind": "door", "finish": "",
        "exposure": "", "first_months": "", "then_months": "4", "window_days": "14",
        "words": "Doors every 4 months", "source": "common practice, no source",
        "in_force": "on", **changes,
    }  # fmt: skip


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make.make_manager())
    return client


def test_an_installation_begins_with_the_default_rules() -> None:
    assert set(DueRule.objects.values_list("code", flat=True)) == {
        rule.code for rule in DEFAULT_RULES
    }


def test_a_missing_default_rule_comes_back_and_a_changed_one_stays_changed() -> None:
    DueRule.objects.filter(code="door-look").delete()
    DueRule.objects.filter(code="coating-look").update(then_months=9)
    seed_rules()
    assert DueRule.objects.get(code="door-look").then_months == 6
    assert DueRule.objects.get(code="coating-look").then_months == 9


def test_every_rule_names_its_source() -> None:
    assert not DueRule.objects.filter(source="").exists()


def rule_of(member: Member, kind: str = DueKind.MEMBER_LOOK) -> str:
    rule = pace_for(member, kind).rule
    return rule.code if rule else ""


def test_the_rules_are_read_from_the_top_and_the_first_that_fits_wins() -> None:
    severe = make.MemberFactory(kind="door", exposure=Member.Exposure.SEVERE)
    assert rule_of(severe) == "door-look"
    above = {"kind": DueKind.MEMBER_LOOK, "member_kind": "door", "exposure": "severe"}
    make.DueRuleFactory(code="severe-doors", place=5, **above)
    assert rule_of(severe) == "severe-doors"
    assert rule_of(make.MemberFactory(kind="door")) == "door-look"


def test_a_rule_below_one_that_fits_sets_nothing_however_much_it_asks() -> None:
    make.DueRuleFactory(
        code="severe-doors", place=900, kind=DueKind.MEMBER_LOOK, member_kind="door",
        exposure="severe",
    )  # fmt: skip
    assert rule_of(make.MemberFactory(kind="door", exposure="severe")) == "door-look"


def test_a_rule_out_of_force_never_wins() -> None:
    DueRule.objects.filter(code="door-look").update(in_force=False)
    assert rule_of(make.MemberFactory(kind="door")) == "member-look"


def test_the_page_shows_every_rule_with_its_source(manager: Client) -> None:
    page = manager.get(reverse("rule-list")).content.decode()
    assert page.count("<tbody>") == 4
    assert "Wood Handbook" in page
    assert "After 1 and 6 months, then every year" in page


def test_a_manager_changes_a_rule_and_the_change_is_kept(manager: Client) -> None:
    rule = DueRule.objects.get(code="door-look")
    manager.post(reverse("rule-edit", args=[rule.pk]), typed())
    rule.refresh_from_db()
    assert (rule.then_months, rule.words) == (4, "Doors every 4 months")
    assert rule.history.count() == 2


def test_a_manager_writes_a_rule(manager: Client) -> None:
    manager.post(reverse("rule-new"), typed(first_months="1, 3"))
    rule = DueRule.objects.get(words="Doors every 4 months")
    assert (rule.code, rule.first_months) == ("own-doors-every-4-months", [1, 3])
    manager.post(reverse("rule-new"), typed())
    assert DueRule.objects.filter(code="own-doors-every-4-months-2").exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("then_months", "0"), ("then_months", "601"), ("then_months", ""), ("words", ""),
        ("source", ""), ("first_months", "6, 1"), ("first_months", "0"),
        ("first_months", "one"), ("first_months", "-1"), ("first_months", "9999"),
    ],
)  # fmt: skip
def test_a_rule_that_makes_no_sense_is_refused(manager: Client, field: str, value: str) -> None:
    page = manager.post(reverse("rule-new"), typed(**{field: value}))
    assert page.status_code == 200
    assert field in page.context["form"].errors
    assert not DueRule.objects.filter(code__startswith="own").exists()


@pytest.mark.parametrize("who", [make.make_crew, make.make_viewer])
def test_only_managers_change_rules(client: Client, who: Any) -> None:
    client.force_login(who())
    rule = DueRule.objects.get(code="door-look")
    assert client.get(reverse("rule-list")).status_code == 200
    assert client.get(reverse("rule-edit", args=[rule.pk])).status_code == 403
    assert client.post(reverse("rule-new"), typed()).status_code == 403


def test_a_members_own_interval_is_set_and_given_up_on_its_page(manager: Client) -> None:
    due = make.DueDateFactory(
        kind=DueKind.COATING_LOOK, counted_from="2026-05-04", due_on="2027-05-04",
        rule=DueRule.objects.get(code="coating-look"),
    )  # fmt: skip
    address = reverse("member-interval", args=[due.member.pk])
    manager.post(address, {"kind": "coating_look", "months": "6", "reason": "driving rain"})
    due.refresh_from_db()
    assert f"{due.due_on:%Y-%m-%d}" == "2026-11-04"
    assert due.set_because == "Every 6 months, set for this member: driving rain"
    assert "driving rain" in manager.get(address).content.decode()
    manager.post(address, {"go-back": "coating_look"})
    assert not MemberInterval.objects.exists()
    assert f"{DueDate.objects.get().due_on:%Y-%m-%d}" == "2027-05-04"


def test_an_interval_typed_again_replaces_the_first(manager: Client) -> None:
    member = make.MemberFactory()
    address = reverse("member-interval", args=[member.pk])
    for months in ("6", "4"):
        manager.post(address, {"kind": "member_look", "months": months, "reason": "rain"})
    assert member.intervals.get().months == 4


@pytest.mark.parametrize("months", ["0", "-3", "601", "many", ""])
def test_an_absurd_interval_is_refused(manager: Client, months: str) -> None:
    member = make.MemberFactory()
    page = manager.post(
        reverse("member-interval", args=[member.pk]),
        {"kind": "member_look", "months": months, "reason": "rain"},
    )
    assert "months" in page.context["form"].errors
    assert not member.intervals.exists()
