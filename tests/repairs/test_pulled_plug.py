"""The plug pulled in the middle: what was begun is whole, or was never there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection

from properties.models import Member
from repairs.due.bulk import dates_anew
from repairs.due.bulk_write import write
from repairs.looks.record import InspectionEntry
from repairs.models import DueDate, DueRule, Inspection, Round, RoundStop
from repairs.rounds import act, walk
from tests import factories as make
from tests.at_once import sending
from tests.repairs.walking import NOW, TODAY, face, look_due, mill, round_of

pytestmark = pytest.mark.django_db
MOST_STATEMENTS = 200


class PulledPlugError(Exception):
    pass


class Plug:
    """Lets so many statements that write through, and no more."""

    def __init__(self, left: int) -> None:
        self.left = left

    def __call__(self, execute: Any, sql: Any, params: Any, many: Any, context: Any) -> Any:
        if str(sql).startswith(("INSERT", "UPDATE", "DELETE")):
            if self.left == 0:
                raise PulledPlugError
            self.left -= 1
        return execute(sql, params, many, context)


@pytest.fixture(autouse=True)
def now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def kept() -> list[Any]:
    models: tuple[Any, ...] = (DueDate, DueRule, Inspection, Round, RoundStop)
    rows = [list(model.objects.order_by("pk").values()) for model in models]
    return [*rows, *[model.history.count() for model in models]]


def pulled_at_every_statement(do: Callable[[], Any]) -> int:
    """Does it with the plug pulled before each statement that writes, until it is done; how many
    there were."""
    before = kept()
    for number in range(MOST_STATEMENTS):
        try:
            with connection.execute_wrapper(Plug(number)):
                do()
        except PulledPlugError:
            assert kept() == before, f"torn at statement {number}"
        else:
            assert kept() != before
            return number
    pytest.fail("It writes without end.")


def test_dates_set_anew_are_all_moved_or_none() -> None:
    DueRule.objects.filter(kind="member_look").update(in_force=False)
    rule = make.DueRuleFactory(kind="member_look", then_months=12, first_months=[])
    side = face(mill(), "North")
    for number in range(5):
        look_due(side, f"N-{number}", rule=rule)
    make.MemberFactory(building=side.building)
    rule.then_months = 7
    rule.save()
    assert pulled_at_every_statement(lambda: write(dates_anew(Member.objects.all(), TODAY), None))


def test_a_round_is_made_with_all_its_stops_or_not_at_all() -> None:
    side, by, key = face(mill(), "North"), make.make_crew(), uuid4()
    dues = [look_due(side, f"N-{number}").pk for number in range(5)]
    assert pulled_at_every_statement(
        lambda: act.make_round("Mill Row", TODAY, by, dues, by, key)
    ) == len(("round", "its history", "stops", "their history"))


def test_a_look_is_kept_with_its_tick_and_what_follows_or_not_at_all() -> None:
    stop = round_of(look_due(face(mill(), "North"), "N-1")).stops.get()
    by = make.make_crew()

    def record() -> None:
        due = DueDate.objects.get(pk=stop.due_id)
        look = Inspection(
            member=due.member, due=due, looked_on=TODAY, looked_by_name="Kim", result="sound"
        )
        walk.look_at_stop(stop, InspectionEntry(look), by, TODAY)

    assert pulled_at_every_statement(record) >= 4


def test_a_rule_moved_or_written_leaves_an_order_that_holds() -> None:
    manager = make.make_manager()
    for number in range(3):
        make.DueRuleFactory(kind="member_look", place=number)
    rule = {
        "kind": "member_look", "then_months": "7", "window_days": "5", "words": "By the weir",
        "source": "common practice, no source", "in_force": "on",
    }  # fmt: skip
    lowest = DueRule.objects.filter(kind="member_look").last()
    assert lowest is not None
    assert pulled_at_every_statement(sending(manager, f"/rules/{lowest.pk}/move/", {"to": "up"}))
    assert pulled_at_every_statement(sending(manager, "/rules/new/", rule))


def test_a_round_changed_in_its_order_or_left_out_is_changed_whole() -> None:
    side, by = face(mill(), "North"), make.make_crew()
    round = round_of(*[look_due(side, f"N-{number}") for number in range(4)])
    stops = list(round.stops.all())
    assert pulled_at_every_statement(lambda: act.move(stops[1], True, by))
    assert pulled_at_every_statement(lambda: act.leave_out(stops[2:], "gate locked", by))
    assert pulled_at_every_statement(lambda: act.end_round(round, "rain", TODAY))
