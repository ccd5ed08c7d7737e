"""The rule set: the rules that an installation begins with, which one wins, and its pages."""

import itertools
import re
from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
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
        "exposure": "", "use_class": "", "climate": "", "worst_condition": "", "repair_kind": "",
        "first_months": "", "then_months": "4", "window_days": "14",
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


def test_the_page_shows_every_rule_from_the_top_with_its_source(manager: Client) -> None:
    page = manager.get(reverse("rule-list")).content.decode()
    assert page.count("<tbody>") == 4
    assert "Wood Handbook" in page
    assert "After 1 and 6 months, then every year" in page
    assert "1. Temporary repair" in page
    assert "3. Lasting repair</a>" in page
    assert "in spring; within 30 days" in page


def test_a_rule_says_how_many_members_it_is_there_for(manager: Client) -> None:
    make.MemberFactory.create_batch(2, kind="door")
    make.MemberFactory(kind="sill")
    make.MemberFactory(kind="door", removed_on="2026-01-01", removed_reason="rotten")
    members = {line.rule.code: line.members for line in lines(manager)}
    assert members["door-look"] == "2"
    assert members["member-look"] == "1"
    assert members["major-symptoms-look"] == "Up to 3"
    assert members["ground-look"] == "No member"
    assert members["repaint-paint-historic"] == "Not in force"


def lines(client: Client) -> list[Any]:
    groups = client.get(reverse("rule-list")).context["groups"]
    return [line for _, lines in groups for line in lines]


def test_a_rule_below_one_that_takes_all_says_that_it_holds_for_none(manager: Client) -> None:
    make.MemberFactory(kind="door")
    make.DueRuleFactory(code="all", place=1, kind=DueKind.MEMBER_LOOK, first_months=[])
    members = {line.rule.code: line.members for line in lines(manager)}
    assert (members["all"], members["door-look"]) == (
        "1", "No member",
    )  # fmt: skip


def test_a_viewer_is_told_of_no_member_of_another_property(client: Client) -> None:
    mine = make.MemberFactory(kind="door").building.property
    make.MemberFactory(kind="door")
    client.force_login(make.make_viewer(mine))
    assert {line.rule.code: line.members for line in lines(client)}["door-look"] == "1"


def test_the_lists_queries_do_not_grow_with_its_rules(manager: Client) -> None:
    counts = []
    for number in range(2):
        make.MemberFactory(exposure=["severe", "partly"][number])
        for extra in range(9):
            make.DueRuleFactory(code=f"more-{number}-{extra}", kind=DueKind.MEMBER_LOOK)
        with CaptureQueriesContext(connection) as found:
            manager.get(reverse("rule-list"))
        counts.append(len(found))
    assert counts[0] == counts[1] <= 8


# The order


def order(kind: str = DueKind.MEMBER_LOOK) -> list[str]:
    rules = DueRule.objects.filter(kind=kind).order_by("place", "code")
    return list(rules.values_list("code", flat=True))


def test_a_rule_moves_one_place_and_back(manager: Client) -> None:
    before, rule = order(), DueRule.objects.get(code="door-look")
    at = before.index("door-look")
    answer = manager.post(reverse("rule-move", args=[rule.pk]), {"to": "up"})
    assert answer["Location"].endswith(f"#rule-{rule.pk}")
    assert order()[at - 1 : at + 1] == ["door-look", before[at - 1]]
    assert rule.history.count() == 2
    manager.post(reverse("rule-move", args=[rule.pk]), {"to": "down"})
    assert order() == before


def test_the_first_rule_stays_first_and_says_so(manager: Client) -> None:
    before = order()
    rule = DueRule.objects.get(code=before[0])
    page = manager.post(reverse("rule-move", args=[rule.pk]), {"to": "up"}, follow=True)
    assert "stands first already" in page.content.decode()
    manager.post(reverse("rule-move", args=[rule.pk]), {"to": "sideways"})
    assert order() == before


def test_rules_that_share_a_place_are_parted_by_a_move(manager: Client) -> None:
    DueRule.objects.filter(kind=DueKind.MEMBER_LOOK).update(place=10)
    before = order()
    last = DueRule.objects.get(code=before[-1])
    manager.post(reverse("rule-move", args=[last.pk]), {"to": "up"})
    assert order() == [*before[:-2], before[-1], before[-2]]


def test_only_a_manager_moves_a_rule(client: Client) -> None:
    client.force_login(make.make_crew())
    before, rule = order(), DueRule.objects.get(code="door-look")
    assert client.post(reverse("rule-move", args=[rule.pk]), {"to": "up"}).status_code == 403
    assert order() == before


def test_a_new_rule_comes_to_the_top_so_that_it_holds(manager: Client) -> None:
    manager.post(reverse("rule-new"), typed())
    assert order()[0] == "own-doors-every-4-months"
    assert rule_of(make.MemberFactory(kind="door")) == "own-doors-every-4-months"


def test_new_rules_find_room_however_many_come(manager: Client) -> None:
    for number in range(8):
        manager.post(reverse("rule-new"), typed(words=f"rule {number}"))
    assert order()[:8] == [f"own-rule-{number}" for number in reversed(range(8))]
    places = DueRule.objects.filter(kind=DueKind.MEMBER_LOOK).values_list("place", flat=True)
    assert len(set(places)) == len(places)


# Defaults that come later


def test_a_default_that_is_missing_comes_above_the_general_ones() -> None:
    before = order()
    DueRule.objects.filter(code__in=("door-look", "ground-look", "major-symptoms-look")).delete()
    seed_rules()
    assert order() == before


def test_a_default_that_is_missing_leaves_a_persons_order_as_it_is() -> None:
    """A manager wrote a rule of their own and put the rule for all members above the doors."""
    DueRule.objects.filter(kind=DueKind.MEMBER_LOOK).exclude(
        code__in=("door-look", "member-look")
    ).delete()
    DueRule.objects.filter(code="member-look").update(place=10)
    DueRule.objects.filter(code="door-look").update(place=11)
    make.DueRuleFactory(code="own-all", place=5, kind=DueKind.MEMBER_LOOK)
    seed_rules()
    found = order()
    assert found[0] == "own-all"
    assert found.index("member-look") < found.index("door-look")
    assert found.index("major-symptoms-look") < found.index("member-look")
    assert found.index("ground-look") < found.index("member-look")


CONDITIONS = (
    "temporary", "repair_kind", "member_kind", "finish", "exposure", "use_class", "climate",
    "worst_condition", "age_from_years", "age_to_years",
)  # fmt: skip


def asked(rule: DueRule) -> set[tuple[str, Any]]:
    return {
        (name, found) for name in CONDITIONS if (found := getattr(rule, name)) not in ("", None)
    }


def test_an_installation_from_before_the_order_gets_the_new_defaults_where_they_hold() -> None:
    """Its rules stand as the order was then: by how much each asks, and then by code."""
    earlier = re.compile(
        r"(temporary-)?repair-look|coating-look|(door|member)-look|"
        r"repaint-(paint|(solid|semitransparent)-stain|tinted-clear|water-repellent)"
        r"(-sheltered|-partly|-severe)?"
    )
    for rule in DueRule.objects.all():
        if not earlier.fullmatch(rule.code):
            rule.delete()
    for kind in DueKind.values:
        kept = sorted(DueRule.objects.filter(kind=kind), key=lambda r: (-len(asked(r)), r.code))
        for at, rule in enumerate(kept, start=1):
            DueRule.objects.filter(pk=rule.pk).update(place=10 * at)
    seed_rules()
    for kind in DueKind.values:
        rules = list(DueRule.objects.in_force().filter(kind=kind).order_by("place", "code"))
        assert len({rule.place for rule in rules}) == len(rules)
        for above, below in itertools.combinations(rules, 2):
            assert not asked(above) <= asked(below), (above.code, below.code)


def test_seeding_twice_changes_nothing_and_writes_no_history() -> None:
    before = list(DueRule.objects.order_by("pk").values())
    kept = DueRule.history.count()
    seed_rules()
    assert list(DueRule.objects.order_by("pk").values()) == before
    assert DueRule.history.count() == kept


# Defaults that changed


def seeded_earlier(code: str, **said: Any) -> DueRule:
    """A default as an earlier version began with it, of which the record holds one row."""
    DueRule.history.filter(code=code).update(**said)
    DueRule.objects.filter(code=code).update(**said)
    return DueRule.objects.get(code=code)


EARLIER: dict[str, Any] = {
    "words": "Coating: a look every year", "seasons": [], "then_months": 11, "window_days": 14,
}  # fmt: skip


def said(rule: DueRule) -> tuple[Any, ...]:
    rule.refresh_from_db()
    return rule.words, rule.seasons, rule.then_months, rule.window_days


def test_a_default_that_nobody_changed_follows_the_default_of_today() -> None:
    rule = DueRule.objects.get(code="coating-look")
    today = said(rule)
    rule = seeded_earlier("coating-look", **EARLIER)
    seed_rules()
    assert said(rule) == today != tuple(EARLIER.values())
    newest = rule.history.first()
    assert (newest.seasons, newest.history_user) == (["spring"], None)
    assert newest.history_change_reason == "The default rule changed"
    kept = DueRule.history.count()
    seed_rules()
    assert DueRule.history.count() == kept


def test_a_repaint_that_nobody_changed_is_moved_by_ratings_after_an_upgrade() -> None:
    rule = seeded_earlier("repaint-paint-severe", repaint_at=None, latest_months=None, seasons=[])
    seed_rules()
    rule.refresh_from_db()
    assert (rule.repaint_at, rule.latest_months) == (3, 96)


def test_a_default_follows_again_each_time_that_it_changes() -> None:
    rule = seeded_earlier("coating-look", **EARLIER)
    seed_rules()
    DueRule.history.filter(code="coating-look").update(then_months=10)
    DueRule.objects.filter(code="coating-look").update(then_months=10)
    seed_rules()
    rule.refresh_from_db()
    assert rule.then_months == 12


def test_an_earlier_default_that_a_person_changed_stays_as_it_is(manager: Client) -> None:
    rule = seeded_earlier("coating-look", **EARLIER)
    rule.in_force = False
    rule.save()
    other = seeded_earlier("door-look", **EARLIER)
    DueRule.objects.filter(pk=other.pk).update(fixed_days=["04-15"])
    seed_rules()
    assert said(rule) == said(other) == tuple(EARLIER.values())
    rule.refresh_from_db()
    assert not rule.in_force


def test_a_default_that_a_person_only_moved_follows_and_stays_where_it_was_put(
    manager: Client,
) -> None:
    rule = seeded_earlier("coating-look", **EARLIER)
    manager.post(reverse("rule-move", args=[rule.pk]), {"to": "up"})
    before = order(DueKind.COATING_LOOK)
    seed_rules()
    assert said(rule) != tuple(EARLIER.values())
    assert order(DueKind.COATING_LOOK) == before


def test_a_rule_of_which_the_record_says_nothing_stays_as_it_is() -> None:
    rule = seeded_earlier("coating-look", **EARLIER)
    rule.history.all().delete()
    seed_rules()
    assert said(rule) == tuple(EARLIER.values())


def test_a_date_already_set_keeps_its_day_when_its_default_changes() -> None:
    rule = seeded_earlier("coating-look", **EARLIER)
    due = make.DueDateFactory(kind=DueKind.COATING_LOOK, rule=rule, due_on="2027-07-04")
    seed_rules()
    due.refresh_from_db()
    assert f"{due.due_on:%Y-%m-%d}" == "2027-07-04"


@pytest.mark.parametrize("table", ["repairs_duerule", "repairs_historicalduerule"])
def test_a_table_of_an_earlier_version_is_left_alone(table: str) -> None:
    """As migrate finds it when it goes back."""
    DueRule.objects.filter(code="door-look").delete()
    connection.check_constraints()  # PostgreSQL alters no table that still has checks to come
    with connection.cursor() as cursor:
        cursor.execute(f"ALTER TABLE {table} DROP COLUMN frost_free")
    seed_rules()
    assert not DueRule.objects.filter(code="door-look").exists()


# Writing a rule


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
        ("fixed_days", "30 February"), ("fixed_days", "15 April, 20 April"),
        ("fixed_days", "15 April, April 15"), ("fixed_days", "daily"), ("window_days", "112"),
        ("window_days", "-1"), ("window_days", "400"), ("temporary", "True"),
        ("repair_kind", "resin"), ("age_to_years", "0"), ("seasons", "monsoon"),
        ("repaint_at", "3"), ("latest_months", "60"), ("use_class", "9"), ("climate", "wet"),
        ("worst_condition", "CC9"), ("age_from_years", "-1"), ("age_from_years", "201"),
    ],
)  # fmt: skip
def test_a_rule_that_makes_no_sense_is_refused(manager: Client, field: str, value: str) -> None:
    page = manager.post(reverse("rule-new"), typed(**{field: value}))
    assert page.status_code == 200
    assert field in page.context["form"].errors
    assert "Ensure" not in str(page.context["form"].errors[field])
    assert not DueRule.objects.filter(code__startswith="own").exists()


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"seasons": ["winter"], "frost_free": "on"}, "seasons", "tick one more season"),
        ({"fixed_days": "15 April", "seasons": ["spring"]}, "seasons", "tick no season beside"),
        ({"fixed_days": "15 April", "first_months": "1, 6"}, "first_months", "one of the two"),
        ({"fixed_days": "15 April", "from_done": "on"}, "from_done", "keep to the calendar"),
        ({"age_from_years": "5", "age_to_years": "5"}, "age_to_years", "an age above 5"),
        ({"first_months": "11", "then_months": "12", "window_days": "30"}, "window_days",
         "Less than 28 days"),
        ({"then_months": "12", "seasons": ["spring"], "window_days": "92"}, "window_days",
         "Less than 92 days, to lie within spring"),
        ({"then_months": "24", "frost_free": "on", "window_days": "300"}, "window_days",
         "to lie within the time out of frost"),
        ({"fixed_days": "15 April, 15 May", "window_days": "30"}, "window_days", "30 days"),
        ({"kind": "repaint", "latest_months": "3"}, "latest_months", "4 months or more"),
        ({"then_months": ""}, "then_months", "or fixed days of the year"),
    ],
)  # fmt: skip
def test_fields_that_do_not_go_together_are_refused_with_what_to_do(
    manager: Client, changes: dict[str, Any], field: str, words: str
) -> None:
    page = manager.post(reverse("rule-new"), typed(**changes))
    assert words in str(page.context["form"].errors[field])
    assert not DueRule.objects.filter(code__startswith="own").exists()


@time_machine.travel(datetime(2026, 11, 28, 12, tzinfo=UTC), tick=False)
def test_a_rule_on_fixed_days_shows_what_it_does(manager: Client) -> None:
    page = manager.post(
        reverse("rule-new"), typed(fixed_days="15 October, 15 Apr", then_months=""), follow=True
    ).content.decode()
    assert (
        "From 28 November 2026: 15 April 2027, 15 October 2027, 15 April 2028, 15 October 2028"
    ) in page
    rule = DueRule.objects.get(code="own-doors-every-4-months")
    assert (rule.fixed_days, rule.then_months) == (["04-15", "10-15"], 6)
    assert "Every year on 15 April and 15 October" in page
    form = manager.get(rule.get_absolute_url()).content.decode()
    assert 'value="15 April, 15 October"' in form


@time_machine.travel(datetime(2026, 11, 28, 12, tzinfo=UTC), tick=False)
def test_a_rule_with_seasons_shows_where_its_days_are_moved(manager: Client) -> None:
    answer = manager.post(
        reverse("rule-new"),
        typed(then_months="12", seasons=["spring", "autumn"], frost_free="on", words=""),
    )
    page = answer.content.decode()
    assert "From 28 November 2026: 28 November 2027, 28 November 2028" in page
    assert "with frost from December to February" in page
    spring = manager.post(reverse("rule-new"), typed(then_months="12", seasons="spring", words=""))
    assert "From 28 November 2026: 31 May 2027, 31 May 2028" in spring.content.decode()


def test_29_february_may_be_a_fixed_day(manager: Client) -> None:
    manager.post(reverse("rule-new"), typed(fixed_days="29 February"))
    rule = DueRule.objects.get(code="own-doors-every-4-months")
    assert rule.fixed_days == ["02-29"]
    assert 'value="29 February"' in manager.get(rule.get_absolute_url()).content.decode()
    listed = manager.get(reverse("rule-list")).content.decode()
    assert "29 February (the 28th in other years)" in listed


def test_a_rule_never_becomes_one_for_something_else(manager: Client) -> None:
    rule = DueRule.objects.get(code="door-look")
    manager.post(rule.get_absolute_url(), typed(kind="repaint"))
    rule.refresh_from_db()
    assert rule.kind == "member_look"


def test_a_changed_default_is_not_set_back(manager: Client) -> None:
    rule = DueRule.objects.get(code="door-look")
    manager.post(rule.get_absolute_url(), typed(seasons=["winter"], window_days="3"))
    seed_rules()
    rule.refresh_from_db()
    assert (rule.then_months, rule.seasons, rule.window_days) == (4, ["winter"], 3)


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
