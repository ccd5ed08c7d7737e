"""Recall: from a suspect lot, product or sheet revision to every repair that holds some of it,
as page, PDF, XLSX and CSV, and the looks that are set for all of them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_safe

from materials.models import Product, SheetRevision
from properties.pages import ROWS
from properties.signed_in import signed_in
from properties.units import units_for
from properties.views.form_page import today
from repairs.costs.sheets import XLSX
from repairs.due.recall_looks import RecallLook, set_recall_looks
from repairs.forms.recall import ChooseForm, RecallLooksForm
from repairs.paper import chosen_sheet, pdf_response
from repairs.stories.recall import Affected, Recall, Subject, recall_of
from repairs.stories.recall_files import recall_csv, recall_workbook
from repairs.stories.recall_words import told_accounts, told_rows
from repairs.views.lots import find_lot, properties_seen_by

may_read = permission_required("materials.view_lot", raise_exception=True)
FILES = {"xlsx": (recall_workbook, XLSX), "csv": (recall_csv, "text/csv; charset=utf-8")}
# Common practice, no source: soon, and yet with time to get there.
SOON = timedelta(days=14)


def _subject(what: str, pk: int) -> Subject:
    if what == "lot":
        lot = find_lot(pk)
        return Subject(lot.product, lot=lot)
    if what == "sheet":
        sheet = get_object_or_404(SheetRevision.objects.select_related("product"), pk=pk)
        return Subject(sheet.product, sheet=sheet)
    if what == "product":
        return Subject(get_object_or_404(Product, pk=pk))
    raise Http404(what)


def _recall(request: HttpRequest, what: str, pk: int) -> Recall:
    return recall_of(_subject(what, pk), today(), properties_seen_by(request.user))


@require_safe
@may_read
def recall_choose(request: HttpRequest) -> HttpResponse:
    form = ChooseForm(request.GET if "number" in request.GET else None)
    if subject := form.subject():
        return redirect(subject)
    context = {"form": form, "lots": form.lots(), "asked": form.is_bound}
    return render(request, "repairs/recall_choose.html", context)


def _told(request: HttpRequest, found: Recall, rows: Sequence[Affected]) -> dict[str, Any]:
    system = units_for(request.user)
    return {"rows": told_rows(rows, system), "accounts": told_accounts(found.accounts, system)}


@require_safe
@may_read
def recall(request: HttpRequest, what: str, pk: int) -> HttpResponse:
    found = _recall(request, what, pk)
    page = Paginator(found.affected, ROWS).get_page(request.GET.get("page"))
    context = {
        "recall": found,
        "page": page,
        **_told(request, found, list(page.object_list)),
    }
    return render(request, "repairs/recall.html", context)


@require_safe
@may_read
def recall_file(request: HttpRequest, what: str, pk: int, kind: str) -> HttpResponse:
    found = _recall(request, what, pk)
    name = slugify(f"recall {found.subject.words}")[:100]
    if kind in FILES:
        content, content_type = FILES[kind]
        response = HttpResponse(content(found), content_type=content_type)
        response["Content-Disposition"] = f'attachment; filename="{name}.{kind}"'
        return response
    context = {
        "recall": found,
        **_told(request, found, found.affected),
        "made_on": timezone.now(),
        "on_paper": True,
    }
    return pdf_response("repairs/recall_pdf.html", context, chosen_sheet(request), name)


@require_http_methods(["GET", "HEAD", "POST"])
@may_read
@permission_required("repairs.add_duedate", raise_exception=True)
def recall_looks(request: HttpRequest, what: str, pk: int) -> HttpResponse:
    """Shows what will be set, and sets it when it is sent."""
    found = _recall(request, what, pk)
    possible = [row for row in found.possible if row.stands]
    form = RecallLooksForm(
        request.POST or None,
        today=found.on,
        any_possible=bool(possible),
        initial={"due_on": found.on + SOON},
    )
    sure = [row for row in found.sure if row.stands]
    if request.method == "POST" and form.is_valid():
        rows = [*sure, *(possible if form.cleaned_data.get("also_possible") else ())]
        messages.success(request, _set(request, found, rows, form))
        return redirect(found.subject)
    context = {"recall": found, "form": form, "sure": sure, "possible": possible}
    return render(request, "repairs/recall_looks.html", context)


def _set(request: HttpRequest, found: Recall, rows: list[Affected], form: RecallLooksForm) -> str:
    typed = form.cleaned_data
    look = RecallLook(found.subject.words, typed["due_on"], typed["reason"], typed["person"])
    repairs = [row.repair for row in rows]
    done = set_recall_looks(found.subject.product, repairs, look, signed_in(request))
    return done.in_words(look.due_on)
