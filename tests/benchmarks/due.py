"""The due list of 200,000 members set anew after one rule changes, beside plain SQL that writes
the same rows."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db import connection, transaction
from django.utils import timezone

from properties.models import Member
from repairs.due.bulk import dates_anew
from repairs.due.bulk_write import write
from repairs.due.intervals import add_months
from repairs.models import DueDate, DueRule
from repairs.models.due_dates import DueKind
from tests.benchmarks.fill import FIRST_DAY, MEMBERS, fill_rows
from tests.benchmarks.stopwatch import Act, Ratio, compare

Rows = list[tuple[Any, ...]]
HISTORY = DueDate.history.model._meta.db_table


def due_ratio() -> Ratio:
    """A look at each member is planned, half of them after one that was kept; then the rule goes
    from a year to eight months. Each time all is rolled back, and done again."""
    with transaction.atomic():
        _plan_a_look_at_each()
        DueRule.objects.filter(code="member-look").update(then_months=8)
        ratio = _ratio()
        transaction.set_rollback(True)
    return ratio


def _ratio() -> Ratio:
    by, on = User.objects.get(), timezone.localdate()
    dates, history = _written(lambda: write(dates_anew(Member.objects.all(), on), by))
    # A few stand on the same day by the new months too, once moved into the rule's season.
    assert MEMBERS >= len(dates) == len(history) > 0.99 * MEMBERS
    return compare(
        f"the due list of {len(dates):,} members after a rule changed, against plain SQL that "
        "writes the same rows",
        lambda: _rolled_back(lambda: write(dates_anew(Member.objects.all(), on), by)),
        lambda: _rolled_back(lambda: _plain(dates, history)),
        "3",
    )


def _rolled_back(act: Act) -> None:
    with transaction.atomic():
        act()
        transaction.set_rollback(True)


def _written(act: Act) -> tuple[Rows, Rows]:
    """The rows that the act changes, and those of history that it adds, as they are stored."""
    before = _all(f"SELECT COALESCE(MAX(history_id), 0) FROM {HISTORY}")[0][0]
    with transaction.atomic():
        act()
        history = _all(f"SELECT {_columns()} FROM {HISTORY} WHERE history_id > {before}")
        dates = _all(
            "SELECT due_on, window_days, step, counted_from, rule_id, set_because, id FROM "
            f"repairs_duedate WHERE id IN (SELECT id FROM {HISTORY} WHERE history_id > {before})"
        )
        transaction.set_rollback(True)
    return dates, history


def _columns() -> str:
    fields = DueDate.history.model._meta.concrete_fields
    return ", ".join(field.column for field in fields if not field.primary_key)


def _all(statement: str) -> Rows:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchall()


def _plain(dates: Rows, history: Rows) -> None:
    marks = ", ".join(["%s"] * len(history[0]))
    with connection.cursor() as cursor:
        cursor.executemany(
            "UPDATE repairs_duedate SET due_on = %s, window_days = %s, step = %s, "
            "counted_from = %s, rule_id = %s, set_because = %s WHERE id = %s",
            dates,
        )
        cursor.executemany(f"INSERT INTO {HISTORY} ({_columns()}) VALUES ({marks})", history)


def _plan_a_look_at_each() -> None:
    rule = DueRule.objects.get(code="member-look")
    common = {
        "kind": DueKind.MEMBER_LOOK,
        "rule_id": rule.pk,
        "window_days": rule.window_days,
        "set_because": rule.words,
    }

    def kept(n: int) -> dict[str, Any]:
        due_on = add_months(_began(2 * n), 12)
        done_on = due_on + timedelta(days=n % 20)
        return _date(2 * n, due_on) | {"done_on": done_on, **common}

    def planned(n: int) -> dict[str, Any]:
        step = 0 if n % 2 else 1
        return _date(n, add_months(_began(n), 12 * (step + 1))) | {"step": step, **common}

    fill_rows(DueDate, MEMBERS // 2, kept)
    first = _all("SELECT MAX(id) FROM repairs_duedate")[0][0]
    fill_rows(DueDate, MEMBERS, planned)
    fill_rows(DueDate.history.model, MEMBERS, lambda n: planned(n) | _entered(n, first + n))
    _all_done("ANALYZE")


def _began(n: int) -> date:
    """Spread over three years and a half."""
    return FIRST_DAY + timedelta(days=8_000 + n * 7919 % 1_300)


def _date(n: int, due_on: date) -> dict[str, Any]:
    return {"member_id": n, "counted_from": _began(n), "due_on": due_on}


def _entered(n: int, pk: int) -> dict[str, Any]:
    at = datetime.combine(_began(n), datetime.min.time(), UTC)
    return {"id": pk, "history_date": at, "history_type": "+"}


def _all_done(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)
