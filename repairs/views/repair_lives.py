"""How long repairs last: one page, and the same as PDF, XLSX and CSV."""

from __future__ import annotations

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from properties.access import properties_for
from repairs.costs.sheets import XLSX
from repairs.forms.repair_lives import LivesForm
from repairs.lives.chart import chart_of
from repairs.lives.report import CAVEAT, LivesReport, lives_report
from repairs.lives.sheets import steps_csv, workbook
from repairs.models import Repair
from repairs.paper import chosen_sheet, pdf_response
from repairs.survival import FEW_WORDS, SHARE_STILL_SOUND

NAME = "how-long-repairs-last"


@require_safe
@permission_required("repairs.view_repair", raise_exception=True)
def repair_lives(request: HttpRequest, kind: str = "") -> HttpResponse:
    form = LivesForm(request.GET, user=request.user)
    report = _report(request, form)
    if kind in FILES:
        content, content_type = FILES[kind]
        response = HttpResponse(content(report), content_type=content_type)
        response["Content-Disposition"] = f'attachment; filename="{NAME}.{kind}"'
        return response
    context = {
        "form": form,
        "report": report,
        "chart": chart_of(report),
        "caveat": CAVEAT,
        "few": FEW_WORDS,
        "formula": SHARE_STILL_SOUND,
        "made_on": timezone.now(),
    }
    if kind == "pdf":
        return pdf_response("repairs/repair_lives_pdf.html", context, chosen_sheet(request), NAME)
    return render(request, "repairs/repair_lives.html", context)


FILES = {"xlsx": (workbook, XLSX), "csv": (steps_csv, "text/csv; charset=utf-8")}


def _report(request: HttpRequest, form: LivesForm) -> LivesReport:
    repairs = Repair.objects.within(properties_for(request.user))
    place = form.typed().get("property")
    if place is not None:
        repairs = repairs.filter(member__building__property=place)
    return lives_report(
        repairs,
        timezone.localdate(),
        form.chosen(),
        against=form.against_what(),
        again_fails=bool(form.typed().get("again")),
        what=form.what(),
    )
