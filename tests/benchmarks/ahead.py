"""Ten years ahead of 10,000 buildings: 200,000 members, each with a date that stands, beside plain
SQL that reads the same rows."""

from __future__ import annotations

from django.db import connection, transaction
from django.db.models import F
from django.db.models.functions import Mod
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from properties.models import Elevation, Member, Property
from repairs.ahead.outlook import Asked, Outlook, outlooks
from repairs.models import CostLine, DueDate, DueRule, Repair, WorkRate
from tests.benchmarks.fill import BUILDINGS, MEMBERS, PROPERTIES, Row, fill_rows
from tests.benchmarks.stopwatch import Ratio, compare

RATES = (("look", "member", 1_500), ("repaint", "metre", 6_000), ("repair", "metre", 20_000))


def ahead_ratio() -> Ratio:
    """Half of the dates are repaints and half looks, all by rules; every fifth repair failed, so
    that others are expected to. All of it is rolled back."""
    with transaction.atomic():
        _give_work()
        ratio = _ratio()
        transaction.set_rollback(True)
    return ratio


def _ratio() -> Ratio:
    asked = Asked(timezone.localdate(), years=10)
    with CaptureQueriesContext(connection) as captured:
        (found,) = _years(asked)
    statements = [query["sql"] for query in captured if query["sql"].startswith("SELECT")]
    assert sum(line.looks + line.repaints for line in found.lines) > MEMBERS
    return compare(
        f"ten years ahead of {BUILDINGS:,} buildings, {MEMBERS:,} members, against plain SQL that "
        "reads the same rows",
        lambda: _years(asked),
        lambda: _read(statements),
        "4",
        rounds=3,
    )


def _years(asked: Asked) -> list[Outlook]:
    return outlooks(Property.objects.all(), asked, CostLine.objects.all())


def _read(statements: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
            cursor.fetchall()


def _give_work() -> None:
    Member.objects.update(finish="paint", exposure="partly")
    Elevation.objects.update(access="scaffold")
    dates = DueDate.objects.alias(rest=Mod(F("pk"), 2))
    rule = DueRule.objects.get(code="coating-look")
    DueDate.objects.update(done_on=None, rule=rule)
    dates.filter(rest=0).update(kind="repaint", rule=DueRule.objects.get(code="repaint-paint"))
    fifth = Repair.objects.alias(rest=Mod(F("pk"), 5)).filter(rest=0)
    fifth.update(state="failed", failed_on=timezone.localdate())
    fill_rows(WorkRate, PROPERTIES * len(RATES), _rate)


def _rate(n: int) -> Row:
    what, per, minor = RATES[n % len(RATES)]
    return {
        "property_id": (n - 1) // len(RATES) + 1,
        "what": what,
        "per": per,
        "likely_minor": minor,
        "source": "made up by counting",
    }
