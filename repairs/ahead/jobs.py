"""The jobs of one year in words: what, where, why, at what price."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from django.urls import reverse

from properties.models import Elevation, Member
from repairs.ahead.figures import Job
from repairs.ahead.ground import Ground
from repairs.ahead.lines import decimal_of
from repairs.ahead.missing import begin_of
from repairs.ahead.money import Band
from repairs.ahead.occurrences import first_of, month_number
from repairs.ahead.prices import Quote
from repairs.ahead.works import DATES, FACES, FAILURES, KINDS, TASKS, Works
from repairs.due.pace import Pace, months_in_words
from repairs.models import Repair
from repairs.models.due_dates import DueKind


@dataclass(frozen=True)
class Labels:
    """How members and elevations are named; read once for all jobs."""

    members: dict[int, tuple[str, str]]
    faces: dict[int, str]


def jobs_in(ground: Ground, work: Works, year: int) -> list[Job]:
    """In the order of the months; in a month by mark."""
    work = work.only(work.year == year)
    labels = labels_of(work.member.tolist(), work.face.tolist())
    jobs = [_job(ground, work, at, labels) for at in range(len(work))]
    return sorted(jobs, key=lambda job: (job.on, job.kind, job.mark, job.url))


def labels_of(members: Collection[int], faces: Collection[int]) -> Labels:
    """Mark and place of each member, name of each elevation."""
    known = Member.objects.filter(pk__in=set(members)).order_by()
    columns = ("pk", "mark", "building__name", "elevation__name", "position")
    found = {
        pk: (mark, ", ".join(filter(None, [building, face and f"{face} elevation", position])))
        for pk, mark, building, face, position in known.values_list(*columns)
    }
    elevations = Elevation.objects.filter(pk__in=set(faces)).order_by()
    named = elevations.values_list("pk", "name", "building__name")
    return Labels(found, {pk: f"{building}, {name} elevation" for pk, name, building in named})


@dataclass(frozen=True)
class _Told:
    why: str
    url: str
    quote: Quote | None


def _job(ground: Ground, work: Works, at: int, labels: Labels) -> Job:
    kind, table, source = (int(column[at]) for column in (work.kind, work.table, work.source))
    member, face = int(work.member[at]), int(work.face[at])
    told = _told(ground, table, source, int(work.month[at]), int(work.moved_from[at]))
    mark, place = labels.members.get(member, ("", labels.faces.get(face, "")))
    priced = bool(work.priced[at])
    band = Band(int(work.low[at]), int(work.likely[at]), int(work.high[at]))
    missing = "" if priced else begin_of(ground, kind, int(work.site[at]), face)
    return Job(
        kind=KINDS[kind],
        member_id=member or None,
        mark=mark,
        place=place,
        elevation_id=face or None,
        on=max(first_of(int(work.month[at])), ground.asked.first),
        number=decimal_of(work.number[at]),
        today=band if priced else None,
        money_from=told.quote.words if told.quote else missing,
        why=told.why,
        moved_from=int(work.moved_from[at]) or None,
        url=told.url,
    )


def _told(ground: Ground, table: int, source: int, month: int, moved_from: int) -> _Told:
    if table == DATES:
        row = ground.rows.dates[source]
        why = _why_date(ground, source, month if not moved_from else 0)
        return _Told(why, reverse("due-detail", args=[row.pk]), ground.date_quote(source))
    if table == TASKS:
        task = ground.tasks[source]
        name, pk = ("plan-detail", task.plan) if task.plan else ("defect-detail", task.defect)
        return _Told(task.why, reverse(name, args=[pk]), ground.task_quote(source))
    if table == FAILURES:
        repair = ground.standing[source]
        name = Repair.Kind(repair.kind).label
        why = f"{name}, {repair.age_days / 365.2425:.1f} years old at the first day, may fail"
        url = reverse("repair-detail", args=[repair.pk])
        return _Told(why, url, ground.standing_quote(source))
    assert table == FACES
    return _Told(
        _why_access(ground, source),
        reverse("elevation-detail", args=[source]),
        ground.access_quote(source),
    )


def _why_date(ground: Ground, source: int, month: int) -> str:
    row = ground.rows.dates[source]
    label = DueKind(row.kind).label
    if row.due_on < ground.asked.first and month == month_number(ground.asked.first):
        return f"{label}: overdue since {row.due_on:%-d %B %Y}"
    if month == month_number(row.due_on):
        return f"{label}: due on {row.due_on:%-d %B %Y}"
    words = pace_words(ground.paces[int(ground.pace_of[source])])
    return f"{label}: {words}" if words else label


def pace_words(pace: Pace) -> str:
    if pace.own is not None:
        return f"every {months_in_words(pace.own.months)}, set for this member"
    return pace.words()


def _why_access(ground: Ground, face: int) -> str:
    elevation = ground.rows.elevations[face]
    if elevation.access == Elevation.Access.UNKNOWN:
        return "How this elevation is reached is not recorded"
    name = Elevation.Access(elevation.access).label
    return f"{name}, once for the year's repaints and repairs"
