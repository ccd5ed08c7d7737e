"""Who is to look: whoever a manager gave the date to, and whoever walks the open round that it
stands in. A round gives for one day, so it leaves the date's own person alone: the date after it
is nobody's again, and a round that ends or goes to somebody else has nothing to take back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db.models import Prefetch, Q, prefetch_related_objects

from repairs.models import DueDate, RoundStop
from repairs.models.due_dates import DueDateQuerySet
from repairs.models.rounds import RoundStopQuerySet

if TYPE_CHECKING:
    from django.contrib.auth.models import User


def of_person(user: User) -> Q:
    """Dates that the person is to see to."""
    return Q(person=user) | Q(pk__in=_being_walked().filter(round__person=user).values("due"))


def of_nobody() -> Q:
    taken = _being_walked().filter(round__person__isnull=False)
    return Q(person__isnull=True) & ~Q(pk__in=taken.values("due"))


def with_rounds(dates: DueDateQuerySet) -> DueDateQuerySet:
    """With the rounds that `who_looks` tells of: one query more."""
    return dates.prefetch_related(_rounds())


def who_looks_at(due: DueDate) -> str:
    """The same of one date, read from wherever."""
    prefetch_related_objects([due], _rounds())
    return who_looks(due)


def _rounds() -> Prefetch[Any, Any, Any]:
    stops = _being_walked().filter(round__person__isnull=False).select_related("round__person")
    return Prefetch("stops", queryset=stops, to_attr="being_walked")


def who_looks(due: DueDate) -> str:
    """'Robin Larch, on the round of 28 November 2026'; empty where it is nobody's yet. Needs a
    date of `with_rounds`."""
    stops: list[RoundStop] = due.being_walked  # type: ignore[attr-defined]
    told = [
        f"{_name(stop.round.person)}, on the round of {stop.round.walk_on:%-d %B %Y}"
        for stop in stops
        if stop.round.person is not None
    ]
    if due.person is not None and all(stop.round.person != due.person for stop in stops):
        told.insert(0, _name(due.person))
    return "; ".join(told)


def _being_walked() -> RoundStopQuerySet:
    stops: RoundStopQuerySet = RoundStop.objects.to_do().filter(round__ended_on__isnull=True)
    return stops.order_by("round__walk_on", "pk")


def _name(user: User) -> str:
    return user.get_full_name() or user.get_username()
