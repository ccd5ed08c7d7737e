"""What lies behind outstanding dates: the look that each counts on from, and what it found."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from typing import Any, NamedTuple

from django.db.models import Exists, Min, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

from repairs.due.after_look import judged
from repairs.due.bulk_rows import DateRow
from repairs.due.results import Verdict
from repairs.due.series import Standing
from repairs.models import DueDate, Inspection
from repairs.models.due_dates import DueKind

NOTHING_FOUND = Verdict()


class LookBehind(NamedTuple):
    """The answered date that another follows, when it was answered, and what that look asks."""

    answered: Standing
    looked_on: date
    verdict: Verdict


class BeganOn(NamedTuple):
    """A first date: the day that it counts from, and the one on which it was entered."""

    counted_from: date
    entered_on: date


class Behind:
    """Of the dates of one chunk, read all at once."""

    def __init__(self, dates: Collection[DateRow], members: QuerySet[Any]) -> None:
        answered = [row.before_id for row in dates if row.before_id is not None]
        told = _telling(members, answered)
        self._looks = _looks(answered, [look for look in told if look.due_id is not None])
        self._sooner = _asked_on(look for look in told if look.due_id is None)
        self._entered = _entered([row.pk for row in dates if row.before_id is None])

    def of(self, row: DateRow) -> LookBehind | BeganOn:
        if row.before_id is not None:
            return self._looks[row.before_id]
        # A day past already when it was entered was meant: it is overdue, and stays so.
        entered_on = min(self._entered.get(row.pk, row.counted_from), row.due_on)
        return BeganOn(row.counted_from, entered_on)

    def brought_forward(self, row: DateRow) -> bool:
        """Whether an extra look has asked for a sooner one since: such a date stands until then."""
        asked_on = self._sooner.get((row.member_id, row.repair_id))
        if asked_on is None or row.kind == DueKind.REPAINT:
            return False
        before = self.of(row)
        since = before.looked_on if isinstance(before, LookBehind) else before.counted_from
        return asked_on > since


def _looks(answered: list[int], looks: Iterable[Inspection]) -> dict[int, LookBehind]:
    verdicts = {look.due_id: judged(look) for look in looks}
    columns = ("pk", "done_on", "counted_from", "due_on", "step", "window_days")
    rows = DueDate.objects.filter(pk__in=answered).order_by().values_list(*columns)
    return {
        pk: LookBehind(Standing(*standing), done_on, verdicts.get(pk, NOTHING_FOUND))
        for pk, done_on, *standing in rows
    }


def _entered(dates: list[int]) -> dict[int, date]:
    """As far as the history tells."""
    kept = DueDate.history.model.objects.filter(id__in=dates, history_type="+").order_by()
    first = kept.values_list("id").annotate(at=Min("history_date"))
    return {pk: timezone.localdate(at) for pk, at in first}


def _asked_on(extra: Iterable[Inspection]) -> dict[tuple[int, int | None], date]:
    """When the newest of them asked for a sooner look, by member and repair."""
    asking = (look for look in extra if judged(look).is_sooner)
    return {(look.member_id, look.repair_id): look.looked_on for look in asking}


def _telling(members: QuerySet[Any], answered: list[int]) -> list[Inspection]:
    """The looks that answered one of those dates, or none at all, and have more to tell than a
    sound result; the oldest first."""
    read = Inspection.moisture.through.objects.filter(inspection=OuterRef("pk"))
    empty = Q(edge="", condition="", urgency="")
    unrated = Q(**{f"{name}__isnull": True for name in Inspection.RATINGS})
    plain = Q(result=Inspection.Result.SOUND) & empty & unrated & ~Q(Exists(read))
    # Written so that no index but the members' is of use: one of dates holds all that have none.
    looks = Inspection.objects.alias(answers=Coalesce("due_id", 0)).filter(
        ~plain, member__in=members, answers__in=[0, *answered]
    )
    found = looks.exclude(result=Inspection.Result.NOT_REACHED).order_by()
    return sorted(found.prefetch_related("moisture"), key=lambda look: (look.looked_on, look.pk))
