"""What can be done to a round: made, given, put in order, left out of, walked, ended."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING
from uuid import UUID

from django.db import transaction
from django.db.models import Max
from simple_history.utils import bulk_create_with_history, bulk_update_with_history

from repairs.due.held import hold_members
from repairs.models import DueDate, Round, RoundStop
from repairs.rounds.stops import in_walking_order

if TYPE_CHECKING:
    from django.contrib.auth.models import User

BATCH = 500


class RoundEnded(Exception):
    """Nothing is added to it any more."""


class DatesGone(Exception):
    """Some of the dates were answered or called off since they were shown."""

    def __init__(self, gone: Sequence[DueDate]) -> None:
        super().__init__(", ".join(map(str, gone)))
        self.gone = gone

    def in_words(self) -> str:
        named = ", ".join(due.member.mark for due in self.gone[:5])
        more = f" and {len(self.gone) - 5} more" if len(self.gone) > 5 else ""
        verb = "was" if len(self.gone) == 1 else "were"
        return (
            f"{named}{more} {verb} looked at or called off since this page was opened, and stand"
            f"{'s' if len(self.gone) == 1 else ''} here no more. The rest is ticked as you left "
            "it: look it over and save again."
        )


@transaction.atomic
def make_round(
    name: str,
    walk_on: date,
    person: User | None,
    dues: Collection[int],
    by: User,
    submission: UUID,
    notes: str = "",
) -> Round:
    """A round of those due dates, by their keys, in walking order. Whose the dates are is told
    by the round alone, and they stay as they are. One form sent twice makes one round."""
    dates = _held(dues)
    # Sent twice at once, the second waits for the dates and then finds the round of the first.
    earlier = Round.objects.filter(submission=submission).first()
    if earlier is not None:
        return earlier
    _refuse_gone(dates)
    made = Round.objects.create(
        name=name, walk_on=walk_on, person=person, notes=notes, submission=submission, made_by=by
    )
    _add(made, dates, by)
    return made


@transaction.atomic
def add_dates(round: Round, dues: Collection[int], by: User) -> int:
    """Further dates, put in walking order behind those that stand in it; how many are new."""
    _hold(round)
    if not round.is_open():
        raise RoundEnded
    known = set(round.stops.values_list("due_id", flat=True))
    dates = _held([pk for pk in dues if pk not in known])
    _refuse_gone(dates)
    return _add(round, dates, by)


def _held(dues: Collection[int]) -> list[DueDate]:
    """The rows of the dates, held until the round is saved."""
    hold_members(DueDate.objects.filter(pk__in=dues).values_list("member_id", flat=True))
    dates = DueDate.objects.select_for_update(of=("self",)).filter(pk__in=dues)
    return in_walking_order(dates.with_place())


def _hold(round: Round) -> None:
    """The round as it stands now, and until the transaction ends."""
    round.refresh_from_db(from_queryset=Round.objects.select_for_update())


def _refuse_gone(dates: Sequence[DueDate]) -> None:
    if gone := [due for due in dates if not due.is_outstanding()]:
        raise DatesGone(gone)


def _add(round: Round, dates: Sequence[DueDate], by: User) -> int:
    last = round.stops.aggregate(last=Max("position"))["last"] or 0
    stops = [
        RoundStop(round=round, due=due, position=position)
        for position, due in enumerate(dates, last + 1)
    ]
    bulk_create_with_history(stops, RoundStop, batch_size=BATCH, default_user=by)
    return len(stops)


@dataclass(frozen=True)
class RoundFacts:
    """What a round is called, when it is walked, by whom, and what goes with it."""

    name: str
    walk_on: date
    person: User | None
    notes: str = ""


def change(round: Round, facts: RoundFacts) -> None:
    """Called anew, or given to another person or for another day; what is done of it stays as it
    was done."""
    round.name, round.notes = facts.name, facts.notes
    round.person, round.walk_on = facts.person, facts.walk_on
    round.save(update_fields=["name", "walk_on", "person", "notes"])


# The order


@transaction.atomic
def reorder(round: Round, by: User) -> None:
    """Back into walking order."""
    _hold(round)
    stops = {stop.due_id: stop for stop in round.stops.with_place()}
    ordered = in_walking_order(stop.due for stop in stops.values())
    _number([stops[due.pk] for due in ordered], by)


@transaction.atomic
def move(stop: RoundStop, up: bool, by: User) -> None:
    """One place up or down; at either end it stays where it is."""
    _hold(stop.round)
    stops = list(stop.round.stops.all())
    here = stops.index(stop)
    there = here - 1 if up else here + 1
    if 0 <= there < len(stops):
        stops[here], stops[there] = stops[there], stops[here]
        _number(stops, by)


def _number(stops: Sequence[RoundStop], by: User) -> None:
    changed = [stop for position, stop in enumerate(stops, 1) if stop.position != position]
    for position, stop in enumerate(stops, 1):
        stop.position = position
    bulk_update_with_history(changed, RoundStop, ["position"], batch_size=BATCH, default_user=by)


# Left out, and ended


@transaction.atomic
def leave_out(stops: Iterable[RoundStop], reason: str, by: User) -> int:
    """Not on this round: their dates stay as they are; how many were left out. What was looked at
    cannot be left out any more."""
    keys = [stop.pk for stop in stops]
    of = RoundStop.objects.filter(pk__in=keys).order_by().values("round")
    list(Round.objects.select_for_update().filter(pk__in=of).order_by("pk").values_list("pk"))
    held = RoundStop.objects.select_for_update().filter(pk__in=keys, inspection__isnull=True)
    left_out = list(held)
    for stop in left_out:
        stop.left_out_because = reason[:300]
    bulk_update_with_history(
        left_out, RoundStop, ["left_out_because"], batch_size=BATCH, default_user=by
    )
    return len(left_out)


def put_back(stop: RoundStop) -> None:
    stop.left_out_because = ""
    stop.save(update_fields=["left_out_because"])


@transaction.atomic
def end_round(round: Round, reason: str, on: date) -> None:
    """Closes it to further looks; dates not answered stay due. Ended twice, the first holds."""
    _hold(round)
    if round.is_open():
        round.ended_on, round.ended_because = on, reason[:300]
        round.save(update_fields=["ended_on", "ended_because"])
