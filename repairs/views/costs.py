"""The cost pages: what buildings have cost, and the lines behind every figure."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django_filters.views import FilterView
from django_tables2 import RequestConfig
from django_tables2.views import SingleTableMixin

from properties.access import find_building, find_property, properties_for
from properties.exports import ListExport, PlainTableExport
from properties.models import Building
from properties.pages import ROWS_OF_A_TABLE
from properties.signed_in import signed_in
from repairs.access import cost_lines_for, find_cost_line
from repairs.costs import ledger
from repairs.costs.charts import page_sections, total_in_words
from repairs.costs.reports import (
    CostReport,
    building_report,
    buildings_with_cost,
    portfolio_reports,
    property_report,
)
from repairs.costs.sheets import XLSX, workbook_of
from repairs.forms.costs import CostLineForm, PeriodForm, TakeBackForm
from repairs.models import CostLine
from repairs.paper import chosen_sheet, pdf_response
from repairs.stories.home_figures import home_figure
from repairs.tables.costs import (
    BuildingCostFilter,
    BuildingCostTable,
    CostLineFilter,
    CostLineTable,
)

may_read = permission_required("repairs.view_costline", raise_exception=True)
may_write = permission_required("repairs.add_costline", raise_exception=True)


class CostTableExport:
    """What the table template asks for to draw its line of downloads."""

    export_formats = ("csv", "xlsx")
    export_trigger_param = "_export"


@may_read
def cost_list(request: HttpRequest) -> HttpResponse:
    seen, told = properties_for(request.user), cost_lines_for(request.user)
    period = PeriodForm(request.GET).period()
    buildings = Building.objects.filter(property__in=seen).select_related("property")
    filtered = BuildingCostFilter(request.GET, buildings, request=request)
    table = BuildingCostTable(buildings_with_cost(filtered.qs, period, told), order_by="-cost")
    RequestConfig(request, paginate=ROWS_OF_A_TABLE).configure(table)
    wanted = request.GET.get("_export", "")
    if PlainTableExport.is_valid_format(wanted):
        return PlainTableExport(wanted, table).response(f"lifetime-cost.{wanted}")
    reports = portfolio_reports(seen, period, told)
    context = {
        "table": table,
        "filter": filtered,
        "period": period,
        "view": CostTableExport,
        "totals": [total_in_words(report) for report in reports],
    }
    return render(request, "repairs/cost_list.html", context)


def _answer(request: HttpRequest, reports: list[CostReport], **context: Any) -> HttpResponse:
    """The same reports as page, PDF or workbook, by the ending of the address."""
    kind = request.resolver_match.kwargs.get("kind", "") if request.resolver_match else ""
    name = slugify(f"costs {reports[0].title}") if len(reports) == 1 else "costs"
    if kind == "xlsx":
        response = HttpResponse(workbook_of(reports), content_type=XLSX)
        response["Content-Disposition"] = f'attachment; filename="{name}.xlsx"'
        return response
    context |= {
        "reports": [(report, page_sections(report), total_in_words(report)) for report in reports],
        "made_on": timezone.now(),
    }
    if kind == "pdf":
        return pdf_response("repairs/cost_pdf.html", context, chosen_sheet(request), name)
    return render(request, "repairs/cost_report.html", context)


@may_read
def cost_portfolio(request: HttpRequest, kind: str = "") -> HttpResponse:
    form = PeriodForm(request.GET)
    reports = portfolio_reports(
        properties_for(request.user), form.period(), cost_lines_for(request.user)
    )
    return _answer(request, reports, form=form)


@may_read
def cost_property(request: HttpRequest, pk: int, kind: str = "") -> HttpResponse:
    found = find_property(request.user, pk)
    form = PeriodForm(request.GET)
    report = property_report(found, form.period(), cost_lines_for(request.user))
    return _answer(request, [report], form=form, property=found)


@may_read
def cost_building(request: HttpRequest, pk: int, kind: str = "") -> HttpResponse:
    building = find_building(request.user, pk)
    form = PeriodForm(request.GET)
    report = building_report(building, form.period(), cost_lines_for(request.user))
    return _answer(request, [report], form=form, building=building, property=building.property)


class CostLineList(PermissionRequiredMixin, ListExport, SingleTableMixin, FilterView):
    permission_required = "repairs.view_costline"
    table_class = CostLineTable
    filterset_class = CostLineFilter
    template_name = "repairs/cost_line_list.html"
    paginate_by = 50
    export_name = "cost-lines"

    def get_queryset(self) -> Any:
        return cost_lines_for(self.request.user).for_list()


@may_read
def cost_line_detail(request: HttpRequest, pk: int) -> HttpResponse:
    line = find_cost_line(request.user, pk)
    form = TakeBackForm(initial={"on": timezone.localdate(timezone=line.building.property.zone)})
    return render(request, "repairs/cost_line_detail.html", _told_of(line, form))


def _told_of(line: CostLine, form: TakeBackForm) -> dict[str, Any]:
    return {"line": line, "form": form, "home": home_figure(line)}


@may_write
def cost_line_reverse(request: HttpRequest, pk: int) -> HttpResponse:
    line = find_cost_line(request.user, pk)
    form = TakeBackForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            ledger.reverse(
                line, signed_in(request), form.cleaned_data["on"], form.cleaned_data["reason"]
            )
        except ledger.LedgerRefusal as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The line is taken back by a reversing line.")
            return redirect("cost-line-detail", pk=pk)
    return render(request, "repairs/cost_line_detail.html", _told_of(line, form))


@may_write
def cost_line_new(request: HttpRequest, pk: int) -> HttpResponse:
    building = find_building(request.user, pk)
    today = timezone.localdate(timezone=building.property.zone)
    initial = {"worked_on": today} | {
        name: request.GET[name] for name in ("member", "repair") if name in request.GET
    }
    form = CostLineForm(building, request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            line = ledger.post(form.line(), signed_in(request), form.cleaned_data["rate"])
        except ledger.LedgerRefusal as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Saved: {line}.")
            return redirect("cost-building", pk=building.pk)
    context = {"form": form, "building": building, "shared": False}
    return render(request, "repairs/cost_line_new.html", context)
