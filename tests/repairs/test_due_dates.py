"""Questions asked of all due dates at once, and of one: the two agree."""

from datetime import date, timedelta

import pytest

from repairs.models import DueDate
from tests.factories import DueDateFactory

pytestmark = pytest.mark.django_db
ON = date(2026, 5, 4)
AROUND = (ON - timedelta(days=1), ON, ON + timedelta(days=1))


def sample_dates() -> list[DueDate]:
    """Dates before, on and after the day: to come, done and called off."""
    for due_on in AROUND:
        DueDateFactory(due_on=due_on)
        DueDateFactory(due_on=due_on, done_on=ON)
        DueDateFactory(due_on=due_on, cancelled_on=ON, cancelled_reason="taken out")
    return list(DueDate.objects.all())


def test_outstanding_dates_are_those_that_say_so_themselves() -> None:
    dates = sample_dates()
    assert set(DueDate.objects.outstanding()) == {due for due in dates if due.is_outstanding()}


def test_overdue_dates_are_those_that_say_so_themselves() -> None:
    dates = sample_dates()
    overdue = set(DueDate.objects.overdue(ON))
    assert overdue == {due for due in dates if due.is_overdue(ON)}
    assert [due.days_late(ON) for due in overdue] == [1]
    assert set(DueDate.objects.coming(ON, AROUND[-1])) == (
        set(DueDate.objects.outstanding()) - overdue
    )


def test_a_date_reminds_as_long_as_its_member_is_looked_after() -> None:
    for ends in (None, *AROUND):
        DueDateFactory(member__removed_on=ends, member__removed_reason="rotten" if ends else "")
        DueDateFactory(member__building__demolished_on=ends)
        DueDateFactory(
            member__building__property__given_up_on=ends,
            member__building__property__given_up_reason="sold" if ends else "",
        )
    reminding = {due for due in DueDate.objects.all() if due.member.is_looked_after(ON)}
    assert set(DueDate.objects.reminding(ON)) == reminding
    assert len(reminding) == 6
