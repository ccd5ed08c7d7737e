"""The screen Inspections: looks and repaints as a list and as a calendar, and one look."""

from __future__ import annotations

from collections import Counter
from datetime import date
from types import SimpleNamespace

from django.contrib.auth.decorators import permission_required
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig, Table

from properties.exports import PlainTableExport
from properties.pages import ROWS_OF_A_TABLE
from repairs.access import find_inspection
from repairs.due.calendar_year import month_start, months_later, twelve_months
from repairs.due.words import capital, counted, standing, standing_words
from repairs.looks.page import look_page
from repairs.tables.inspections import RESULT_SIGNS, DueTable, LookTable, ScheduleFilter

EXPORT_PARAM = "_export"
EXPORTS = SimpleNamespace(export_formats=("csv", "xlsx"), export_trigger_param=EXPORT_PARAM)


@require_safe
@permission_required("repairs.view_duedate", raise_exception=True)
def inspection_list(request: HttpRequest) -> HttpResponse:
    on = timezone.localdate()
    asked = ScheduleFilter(request.GET, user=request.user, on=on)
    asked.is_valid()
    looks = asked.shows_looks()
    table = LookTable(asked.looks()) if looks else DueTable(asked.dates(), on=on)
    RequestConfig(request, paginate=ROWS_OF_A_TABLE).configure(table)
    wanted = request.GET.get(EXPORT_PARAM)
    if PlainTableExport.is_valid_format(wanted):
        export = PlainTableExport(wanted, table)
        return export.response(f"{'looks' if looks else 'due-dates'}-{on:%Y-%m-%d}.{wanted}")
    context = {
        "table": table, "filter": asked, "view": EXPORTS,
        "lead": _looks_words(table) if looks else standing_words(standing(asked.outstanding(), on)),
    }  # fmt: skip
    return render(request, "repairs/inspection_list.html", context)


def _looks_words(table: Table) -> str:
    count = table.paginator.count
    verb = "stands" if count == 1 else "stand"
    return f"{capital(counted(count, 'look', 'looks'))} {verb} here, the newest first."


@require_safe
@permission_required("repairs.view_duedate", raise_exception=True)
def inspection_calendar(request: HttpRequest) -> HttpResponse:
    on = timezone.localdate()
    asked = ScheduleFilter(request.GET, user=request.user, on=on).for_a_year()
    asked.is_valid()
    first = month_start(asked.asked("first") or on)
    after = months_later(first, 12)
    planned = asked.outstanding(every_day=True)
    days = planned.filter(due_on__gte=first, due_on__lt=after).order_by()
    counts = dict(days.values_list("due_on").annotate(Count("pk")))
    context = {
        "filter": asked, "months": twelve_months(first, counts, on), "on": on,
        "earlier": months_later(first, -12), "later": after,
        "place": asked.asked("property"),
        "lead": _year_words(Counter(counts), first, after)
        + " " + standing_words(standing(planned, on)),
    }  # fmt: skip
    return render(request, "repairs/inspection_calendar.html", context)


def _year_words(counts: Counter[date], first: date, after: date) -> str:
    number = counted(counts.total(), "date falls", "dates fall")
    last = months_later(after, -1)
    return f"{capital(number)} from {first:%B %Y} to {last:%B %Y}."


@require_safe
@permission_required("repairs.view_inspection", raise_exception=True)
def inspection_detail(request: HttpRequest, pk: int) -> HttpResponse:
    inspection = find_inspection(request.user, pk)
    on = inspection.member.building.property.day_of(timezone.now())
    context = {
        "inspection": inspection, "page": look_page(inspection, on),
        "sign": RESULT_SIGNS[inspection.result],
    }  # fmt: skip
    return render(request, "repairs/inspection_detail.html", context)
