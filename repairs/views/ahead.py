"""The years ahead of one property or of several: page, PDF, XLSX and CSV from the same outlook."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from properties.access import find_property, properties_for
from properties.views.form_page import number_in, today
from repairs.access import cost_lines_for
from repairs.ahead.ground import Ground
from repairs.ahead.offers import offers
from repairs.ahead.outlook import (
    Asked,
    Outlook,
    ground_of,
    jobs_of,
    jobs_of_every_year,
    outlook_of,
    outlooks,
)
from repairs.ahead.price_hint import PriceHint, price_hint
from repairs.ahead.sheets import workbook, years_csv
from repairs.ahead.shown import ShownYear, show_outlook, show_year
from repairs.ahead.words import BEGIN, NOTHING_AHEAD, asked_facts
from repairs.costs.prices import index_of
from repairs.costs.sheets import XLSX
from repairs.forms.ahead import PlacesForm, YearsForm, kept_query
from repairs.models import Repair
from repairs.paper import chosen_sheet, pdf_response

may_read = permission_required("repairs.view_workrate", raise_exception=True)
CSV = "text/csv; charset=utf-8"


def _seen(request: HttpRequest) -> dict[str, Any]:
    """The money and the lives that the reader may see; the same for one property and for all,
    so that both say the same of it."""
    return {
        "told": cost_lines_for(request.user),
        "record": Repair.objects.within(properties_for(request.user)),
    }


@require_safe
@may_read
def ahead_list(request: HttpRequest, kind: str = "") -> HttpResponse:
    on = timezone.localdate()
    places = PlacesForm(request.GET, request.user, on)
    named = list(places.chosen().values_list("pk", "name", "currency"))
    years = YearsForm(request.GET, (currency for _, _, currency in named))
    asked, kept = years.asked(on), kept_query(request.GET)
    found = outlooks(places.chosen(), asked, **_seen(request))
    if kind == "xlsx":
        return _file(workbook(found, None), XLSX, f"years-ahead.{kind}")
    context = {
        "places": places,
        "years": years,
        "outlooks": [show_outlook(each) for each in found],
        "properties": [
            {"name": name, "url": reverse("ahead-property", args=[pk]) + kept}
            for pk, name, _ in named
        ],
    }
    return _answer(request, kind, "ahead_list", found, asked, context)


@require_safe
@may_read
def ahead_property(request: HttpRequest, pk: int, kind: str = "") -> HttpResponse:
    of = find_property(request.user, pk)
    years = YearsForm(request.GET, [of.currency])
    asked, seen, kept = years.asked(today(of)), _seen(request), kept_query(request.GET)
    ground = ground_of(of, asked, **seen) if of.is_looked_after(asked.first) else None
    found = [outlook_of(ground)] if ground else []
    if kind == "xlsx":
        jobs = jobs_of_every_year(ground) if ground else []
        return _file(workbook(found, jobs), XLSX, f"{slugify(f'years ahead {of}')}.xlsx")
    offered = offers(ground) if ground else []
    shown = [show_outlook(each, offered, kept) for each in found]
    context = {
        "property": of,
        "years": years,
        "outlooks": shown,
        "shown": shown[0] if shown else None,
        "kept_query": kept,
        "year": _year(request, ground, found) if ground and not kind else None,
    }
    return _answer(request, kind, "ahead_property", found, asked, context)


def _year(request: HttpRequest, ground: Ground, found: Sequence[Outlook]) -> ShownYear | None:
    """The year that was opened; none for a year out of those asked for."""
    year = number_in(request.GET.get("year", ""))
    line = next((line for each in found for line in each.lines if line.year == year), None)
    if line is None:
        return None
    return show_year(line, jobs_of(ground, line.year), ground.currency)


def _answer(
    request: HttpRequest,
    kind: str,
    page: str,
    found: Sequence[Outlook],
    asked: Asked,
    context: dict[str, Any],
) -> HttpResponse:
    of = context.get("property")
    name = slugify(f"years ahead {of or ''}")
    if kind == "csv":
        return _file(years_csv(found), CSV, f"{name}.csv")
    context |= {"nothing": NOTHING_AHEAD, "begin": BEGIN}
    if kind == "pdf":
        context |= {"facts": asked_facts(asked, found), "made_on": timezone.now()}
        return pdf_response("repairs/ahead_pdf.html", context, chosen_sheet(request), name)
    context["hints"] = _hints(request, found)
    return render(request, f"repairs/{page}.html", context)


def _hints(request: HttpRequest, found: Sequence[Outlook]) -> list[dict[str, Any]]:
    """How prices rose, where nobody has typed how they are to rise."""
    if request.GET.get("rise"):
        return []
    hints = (price_hint(each.currency, index_of(each.currency)) for each in found)
    return [{"hint": hint, "url": _with_rise(request, hint)} for hint in hints if hint]


def _with_rise(request: HttpRequest, hint: PriceHint) -> str:
    query = request.GET.copy()
    query["rise"] = str(hint.rise_pct)
    return f"?{query.urlencode()}"


def _file(content: bytes, content_type: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
