"""Two people on one round at the same moment, each with a connection of its own."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from repairs.looks.record import AlreadyRecorded, InspectionEntry
from repairs.models import DueDate, Inspection, Round, RoundStop
from repairs.rounds import act, walk
from tests import factories as make
from tests.at_once import at_once, sending
from tests.repairs.walking import (
    DUE_ON,
    NOW,
    TODAY,
    face,
    look,
    look_due,
    mill,
    new_round,
    round_of,
    stop_url,
)

pytestmark = pytest.mark.django_db(transaction=True)


def seen(stop: RoundStop, who: str) -> InspectionEntry:
    due = DueDate.objects.get(pk=stop.due_id)
    return InspectionEntry(
        Inspection(member=due.member, due=due, looked_on=TODAY, looked_by_name=who, result="sound")
    )


def test_of_two_who_save_one_stop_the_second_is_told_whose_look_it_was() -> None:
    stop = round_of(look_due(face(mill(), "North"), "N-1")).stops.get()
    by = make.make_crew()

    def save(who: str) -> Callable[[], Any]:
        return lambda: walk.look_at_stop(stop, seen(stop, who), by, TODAY)

    answers = at_once(save("Kim"), save("Robin"), told=AlreadyRecorded)
    made = Inspection.objects.get()
    told = [answer for answer in answers if isinstance(answer, AlreadyRecorded)]
    assert [each.inspection for each in told] == [made]
    stop.refresh_from_db()
    assert stop.inspection == made


def test_one_form_sent_by_two_requests_makes_one_round() -> None:
    dues = [look_due(face(mill(), "North"), "N-1").pk]
    by, key = make.make_crew(), uuid4()
    rounds = at_once(
        *[lambda: act.make_round("Mill Row", TODAY, by, dues, by, key) for _ in range(4)]
    )
    assert len({made.pk for made in rounds}) == Round.objects.count() == 1
    assert RoundStop.objects.count() == 1


def test_stops_moved_by_several_people_at_once_keep_one_place_each() -> None:
    side, manager = face(mill(), "North"), make.make_manager()
    round = round_of(*[look_due(side, f"N-{number}") for number in range(6)])
    stops = list(round.stops.all())
    path = f"/rounds/{round.pk}/edit/"
    moved = [("up", stops[3]), ("down", stops[0]), ("down", stops[2]), ("up", stops[5])]
    sent = at_once(*[sending(manager, path, {way: stop.pk}) for way, stop in moved])
    assert {answer.status_code for answer in sent} == {302}
    assert list(round.stops.values_list("position", flat=True)) == [1, 2, 3, 4, 5, 6]


def test_nothing_is_added_to_a_round_that_ends_at_the_same_moment() -> None:
    side, by = face(mill(), "North"), make.make_crew()
    round, more = round_of(look_due(side, "N-1")), look_due(side, "N-2")
    told = at_once(
        lambda: act.end_round(Round.objects.get(pk=round.pk), "rain", TODAY),
        lambda: act.add_dates(Round.objects.get(pk=round.pk), [more.pk], by),
        told=act.RoundEnded,
    )[1]
    ended = Round.objects.get(pk=round.pk)
    assert not ended.is_open()
    assert ended.stops.count() == (1 if isinstance(told, act.RoundEnded) else 2)


def test_dates_set_anew_rounds_made_and_looks_recorded_at_once_wait_for_each_other() -> None:
    """Each needs the same rows; in unlike orders, two of them would wait for ever."""
    side, manager, crew = face(mill(), "North"), make.make_manager(), make.make_crew()
    rule = make.DueRuleFactory(kind="member_look", place=0, then_months=12, first_months=[])
    with time_machine.travel(NOW, tick=False):
        dues = [look_due(side, f"N-{number}", rule=rule) for number in range(12)]
        stop = round_of(dues[6]).stops.get()
        for months in (7, 8, 9):
            rule.then_months = months
            rule.save()
            sent = at_once(
                sending(manager, "/rules/dates/", {}),
                sending(manager, "/rules/dates/", {}),
                sending(manager, f"/rules/{rule.pk}/move/", {"to": "down"}),
                sending(crew, "/rounds/new/", new_round(*dues[::-1])),
                sending(crew, stop_url(stop), look()),
            )
            assert {answer.status_code for answer in sent} <= {200, 302}
    assert Inspection.objects.count() == 1


def test_a_repair_withdrawn_while_its_dates_are_set_anew_waits_and_calls_them_off() -> None:
    rule = make.DueRuleFactory(kind="repair_look", place=0, then_months=12, first_months=[])
    repair = make.RepairFactory()
    manager = make.make_manager()
    for number in range(6):
        facts = {"kind": "repair_look", "rule": rule, "due_on": DUE_ON.replace(month=12 - number)}
        make.DueDateFactory(member=repair.member, repair=repair, **facts)
    with time_machine.travel(NOW, tick=False):
        sent = at_once(
            sending(manager, "/rules/dates/", {}),
            sending(manager, f"/repairs/{repair.pk}/withdraw/", {"reason": "entered twice"}),
            sending(manager, "/rules/dates/", {}),
        )
    assert {answer.status_code for answer in sent} == {302}
    assert not DueDate.objects.outstanding().filter(repair=repair).exists()
