"""A member just entered has its first look planned, so that nobody keeps a second calendar."""

from datetime import date
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from properties.models import Building, Member
from repairs.models import DueDate, DueRule
from repairs.models.due_dates import DueKind
from tests import factories as make

pytestmark = pytest.mark.django_db
TODAY = date(2026, 5, 4)


@pytest.fixture(autouse=True)
def stand_still() -> Any:
    with time_machine.travel(make.MORNING, tick=False):
        yield


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make.make_manager())
    return client


def typed(**changes: Any) -> dict[str, Any]:
    return {
        "mark": "S-SILL-01", "kind": "sill", "exposure": "unknown", "ground_contact": "unknown",
        "load_bearing": "no", "finish": "unknown", "finish_tone": "unknown", "count": "1",
        **changes,
    }  # fmt: skip


def enter(manager: Client, building: Building, **changes: Any) -> str:
    there = reverse("member-new", args=[building.pk])
    return manager.post(there, typed(**changes), follow=True).content.decode()


def test_a_new_member_is_looked_at_by_the_rule_that_fits_it(manager: Client) -> None:
    page = enter(manager, make.BuildingFactory())
    due = DueDate.objects.get()
    assert (due.member.mark, due.kind, due.set_by) == ("S-SILL-01", "member_look", "rule")
    assert TODAY < due.due_on <= date(2027, 5, 4)
    assert due.rule is not None
    assert due.set_because.startswith(due.rule.words.rstrip("."))
    assert f"Its first look is due on {due.due_on:%-d %B %Y}." in page


def test_each_of_several_members_gets_its_look(manager: Client) -> None:
    page = enter(manager, make.BuildingFactory(), count="5")
    assert Member.objects.count() == 5
    assert set(DueDate.objects.values_list("member", flat=True)) == set(
        Member.objects.values_list("pk", flat=True)
    )
    assert "Their first look is due on" in page


def test_where_no_rule_fits_the_member_is_saved_without_a_date(manager: Client) -> None:
    DueRule.objects.filter(kind=DueKind.MEMBER_LOOK).update(in_force=False)
    page = enter(manager, make.BuildingFactory())
    assert "S-SILL-01 is saved." in page
    assert Member.objects.count() == 1
    assert not DueDate.objects.exists()


def test_what_takes_the_place_of_a_member_is_looked_at_too(manager: Client) -> None:
    old = make.MemberFactory(mark="W-SILL-02", kind="sill")
    new = {f"new-{name}": value for name, value in typed(mark="W-SILL-02").items()}
    there = reverse("member-replace", args=[old.pk])
    facts = {"on": "2026-05-04", "reason": "rotten through", "replaced": "on"}
    page = manager.post(there, {**facts, **new}, follow=True).content.decode()
    due = DueDate.objects.outstanding().get()
    assert due.member.supersedes == old
    assert f"Its first look is due on {due.due_on:%-d %B %Y}." in page
