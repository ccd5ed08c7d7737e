"""The page that says what the rules would change, and sets it."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from repairs.models import DueDate, DueRule
from repairs.models.due_dates import DueKind
from tests import factories as make

NOW = datetime(2026, 11, 28, 10, 0, tzinfo=UTC)
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]


@pytest.fixture
def now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make.make_manager())
    return client


@pytest.fixture
def yearly() -> DueRule:
    DueRule.objects.filter(kind=DueKind.MEMBER_LOOK).update(in_force=False)
    made: DueRule = make.DueRuleFactory(
        code="yearly", kind=DueKind.MEMBER_LOOK, first_months=[], then_months=12,
        words="Every year", window_days=30,
    )  # fmt: skip
    return made


def planned(by: DueRule, due_on: str = "2027-10-04", **facts: Any) -> DueDate:
    due: DueDate = make.DueDateFactory(
        **{
            "kind": by.kind, "rule": by, "counted_from": "2026-10-04", "due_on": due_on,
            "window_days": 30, **facts,
        }
    )  # fmt: skip
    return due


def change(rule: DueRule, **facts: Any) -> None:
    DueRule.objects.filter(pk=rule.pk).update(**facts)


def told(client: Client, query: str = "") -> str:
    answer = client.get(reverse("rule-dates") + query)
    assert answer.status_code == 200
    words = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", html.unescape(words))


def test_it_says_how_many_dates_move_by_which_rule_and_how_far(
    manager: Client, yearly: DueRule
) -> None:
    due = planned(yearly)
    planned(yearly, member=due.member)
    make.MemberFactory()
    change(yearly, then_months=6)
    page = told(manager)
    assert "2 of 2 dates that a rule set would move: 2 sooner." in page
    assert "One member has no look planned; 1 of them would get a first one." in page
    assert "Every year Look at the member 2 2, by 6 months None 0 1" in page
    assert f"{due.member.mark}, {due.member.building.name}" in page
    assert "4 October 2027 4 April 2027 Every year" in page
    assert "Set 3 dates by the rules" in page


def test_later_dates_and_those_that_keep_their_day_are_told_apart(
    manager: Client, yearly: DueRule
) -> None:
    planned(yearly)
    planned(yearly, due_on="2027-09-20")
    change(yearly, window_days=60)
    page = told(manager)
    assert "1 of 2 dates that a rule set would move: 1 later." in page
    assert "One date would keep the day, with another rule or window." in page
    assert "None 1, by 14 days 1 0" in page


def test_the_button_sets_them_and_then_there_is_nothing_left(
    manager: Client, yearly: DueRule
) -> None:
    due = planned(yearly)
    change(yearly, then_months=6)
    answer = manager.post(reverse("rule-dates"), follow=True)
    assert "1 date moved." in answer.content.decode()
    due.refresh_from_db()
    assert due.due_on == date(2027, 4, 4)
    assert due.history.first().history_user is not None
    page = told(manager)
    assert "No date would move: all that a rule set stand where the rules put them." in page
    assert "There is nothing to set." in page
    assert "Set 1" not in page


def test_only_the_chosen_property_is_told_and_set(manager: Client, yearly: DueRule) -> None:
    here, there = planned(yearly), planned(yearly)
    change(yearly, then_months=6)
    query = f"?property={here.member.building.property_id}"
    assert "1 of 1 date " in told(manager, query)
    manager.post(reverse("rule-dates") + query)
    here.refresh_from_db()
    there.refresh_from_db()
    assert (here.due_on, there.due_on) == (date(2027, 4, 4), date(2027, 10, 4))


def test_a_property_that_is_none_is_refused_and_sets_nothing(
    manager: Client, yearly: DueRule
) -> None:
    due = planned(yearly)
    change(yearly, then_months=6)
    answer = manager.post(reverse("rule-dates") + "?property=77000001")
    assert "Choose a property of the list." in html.unescape(answer.content.decode())
    due.refresh_from_db()
    assert due.due_on == date(2027, 10, 4)


def test_an_empty_installation_has_nothing_to_set(manager: Client) -> None:
    assert "There is nothing to set." in told(manager)


@pytest.mark.parametrize("who", [make.make_crew, make.make_viewer])
def test_only_a_manager_opens_and_sends_it(client: Client, who: Any, yearly: DueRule) -> None:
    due = planned(yearly)
    change(yearly, then_months=6)
    client.force_login(who())
    assert client.get(reverse("rule-dates")).status_code == 403
    assert client.post(reverse("rule-dates")).status_code == 403
    due.refresh_from_db()
    assert due.due_on == date(2027, 10, 4)


def test_its_queries_do_not_grow_with_the_rows(manager: Client, yearly: DueRule) -> None:
    change(yearly, then_months=6)

    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            manager.get(reverse("rule-dates"))
        return len(captured)

    planned(yearly)
    make.MemberFactory()
    queries()
    few = queries()
    for _ in range(12):
        planned(yearly)
        make.MemberFactory()
    assert queries() == few


def test_fifty_are_shown_at_most(manager: Client, yearly: DueRule) -> None:
    member = make.MemberFactory()
    for _ in range(55):
        planned(yearly, member=member)
    change(yearly, then_months=6)
    page = told(manager)
    assert "The first 50 that move" in page
    assert page.count("4 April 2027") == 50


def test_a_saved_rule_leads_here(manager: Client, yearly: DueRule) -> None:
    page = manager.get(reverse("rule-list")).content.decode()
    assert reverse("rule-dates") in page
