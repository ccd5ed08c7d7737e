"""Writes dates set anew, thousands at a time, each with its row of history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.db import connection, models, transaction
from django.db.models import Value
from django.utils import timezone

from repairs.due.bulk import Change, Changes, FirstDate
from repairs.due.rule_order import hold_rules
from repairs.models import DueDate
from repairs.models.due_dates import DueKind

if TYPE_CHECKING:
    from django.contrib.auth.models import User

_SET = ("due_on", "window_days", "step", "counted_from", "rule_id", "set_because")


@dataclass(frozen=True)
class Written:
    """How many dates moved, how many kept their day and got another rule or window, and how many
    members got a first look."""

    moved: int = 0
    kept: int = 0
    first: int = 0

    @property
    def all(self) -> int:
        return self.moved + self.kept + self.first

    def in_words(self) -> str:
        """'312 dates moved; 20 members have a first look planned.'"""
        told = []
        if self.moved:
            told.append(f"{self.moved:,} date{'' if self.moved == 1 else 's'} moved")
        if self.kept:
            told.append(f"{self.kept:,} kept the day, with another rule or window")
        if self.first:
            members = "member has" if self.first == 1 else "members have"
            told.append(f"{self.first:,} {members} a first look planned")
        if not told:
            return "Nothing changed: every date stands where the rules put it."
        return f"{'; '.join(told)}."


@transaction.atomic
def write(changes: Changes, by: User | None) -> Written:
    """Set every date that the rules now give another day. It is worked out anew behind a lock:
    whoever sends it at the same time waits, and then finds nothing to change; a date that was
    answered or moved meanwhile is taken as it then stands."""
    at, done = timezone.now(), Written()
    hold_rules()
    for part in changes.parts(locked=True):
        _change(part.changes, by, at)
        _begin(part.first, by, at)
        moves = sum(change.moves for change in part.changes)
        kept = len(part.changes) - moves
        done = Written(done.moved + moves, done.kept + kept, done.first + len(part.first))
    return done


def _change(changes: Sequence[Change], by: User | None, at: datetime) -> None:
    if not changes:
        return
    quoted, table = connection.ops.quote_name, DueDate._meta
    columns = ", ".join(f"{quoted(name)} = %s" for name in _SET)
    statement = f"UPDATE {quoted(table.db_table)} SET {columns} WHERE id = %s"
    with connection.cursor() as cursor:
        cursor.executemany(statement, [_row(change) for change in changes])
    _keep_history([change.pk for change in changes], "~", by, at)


def _row(change: Change) -> tuple[str | int, ...]:
    """In the order of `_SET`, and then the number of the date."""
    step = change.step
    return (
        step.due_on.isoformat(),
        change.window_days,
        step.step,
        step.counted_from.isoformat(),
        change.rule.pk,
        change.because,
        change.pk,
    )


def _begin(first: Sequence[FirstDate], by: User | None, at: datetime) -> None:
    dates = [
        DueDate(
            member_id=each.member_id,
            kind=DueKind.MEMBER_LOOK,
            due_on=each.step.due_on,
            window_days=each.pace.window_days(),
            step=each.step.step,
            counted_from=each.step.counted_from,
            rule=each.pace.rule,
            set_because=each.pace.because(each.step)[:300],
        )
        for each in first
    ]
    _keep_history([due.pk for due in DueDate.objects.bulk_create(dates)], "+", by, at)


def _keep_history(dates: Sequence[int], change: str, by: User | None, at: datetime) -> None:
    """One statement copies the rows as they now stand; what is kept is what the history tracks."""
    if not dates:
        return
    history: Any = DueDate.history.model
    constants = {
        "history_date": Value(at, models.DateTimeField()),
        "history_type": Value(change, models.CharField()),
        "history_user_id": Value(by.pk if by else None, models.IntegerField()),
    }
    tracked = [field.column for field in history.tracked_fields]
    rows = DueDate.objects.order_by().annotate(**constants).values_list(*tracked, *constants)
    selected, values = rows.query.sql_with_params()
    columns = ", ".join(map(connection.ops.quote_name, (*tracked, *constants)))
    table = connection.ops.quote_name(history._meta.db_table)
    # Whole numbers of our own; handed over one by one they would take longer than the writing.
    chosen = ", ".join(str(int(date)) for date in dates)
    with connection.cursor() as cursor:
        cursor.execute(f"INSERT INTO {table} ({columns}) {selected} WHERE id IN ({chosen})", values)
