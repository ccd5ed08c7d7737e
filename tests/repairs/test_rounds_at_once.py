"""Two people on one round at the same moment, each with a connection of its own."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection

from repairs.looks.record import AlreadyRecorded, InspectionEntry
from repairs.models import DueDate, Inspection, Round, RoundStop
from repairs.rounds import act, walk
from tests import factories as make
from tests.repairs.walking import TODAY, face, look_due, mill, round_of

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """Do each from a thread of its own, all begun together; what it gives, or why it failed."""
    begin = Barrier(len(acts))

    def one(do: Callable[[], Any]) -> Any:
        try:
            begin.wait()
            return do()
        except AlreadyRecorded as already:
            return already
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(one, acts))


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

    answers = at_once(save("Kim"), save("Robin"))
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
