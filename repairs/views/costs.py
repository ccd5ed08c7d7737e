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
from repairs.costs.account import (
    CostAccount,
    building_account,
    portfolio_accounts,
    property_account,
)
from repairs.costs.account_words import account_in_words
from repairs.costs.charts import total_in_words
from repairs.costs.divisions import tax_within
from repairs.costs.layout import tables_of
from repairs.costs.reports import buildings_with_cost, portfolio_reports
from repairs.costs.sheets import XLSX, workbook_of
from repairs.costs.sums import counts_in, sums_by_currency, sums_in_words
from repairs.forms.costs import CostLineForm, PeriodForm, TakeBackForm
from repairs.models import CostLine
from repairs.paper import chosen_sheet, pdf_response
from repairs.stories.home_figures import home_figure
from repairs.tables.cost_line_words import conditions_of, lines_in_words, problems_of
from repairs.tables.cost_lines import CostLineFilter
from repairs.tables.costs import BuildingCostFilter, BuildingCostTable, CostLineTable

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


def _answer(request: HttpRequest, accounts: list[CostAccount], **context: Any) -> HttpResponse:
    """The same accounts as page, PDF or workbook, by the ending of the address."""
    kind = request.resolver_match.kwargs.get("kind", "") if request.resolver_match else ""
    name = slugify(f"costs {accounts[0].title}") if len(accounts) == 1 else "costs"
    if kind == "xlsx":
        response = HttpResponse(workbook_of(accounts), content_type=XLSX)
        response["Content-Disposition"] = f'attachment; filename="{name}.xlsx"'
        return response
    context |= {
        "accounts": [
            (account, tables_of(account), account_in_words(account)) for account in accounts
        ],
        "heading": "h3" if len(accounts) > 1 else "h2",
        "made_on": timezone.now(),
    }
    if kind == "pdf":
        return pdf_response("repairs/cost_pdf.html", context, chosen_sheet(request), name)
    return render(request, "repairs/cost_report.html", context)


@may_read
def cost_portfolio(request: HttpRequest, kind: str = "") -> HttpResponse:
    form = PeriodForm(request.GET)
    accounts = portfolio_accounts(
        properties_for(request.user),
        form.period(),
        timezone.localdate(),
        cost_lines_for(request.user),
    )
    return _answer(request, accounts, form=form)


@may_read
def cost_property(request: HttpRequest, pk: int, kind: str = "") -> HttpResponse:
    found = find_property(request.user, pk)
    form = PeriodForm(request.GET)
    today = timezone.localdate(timezone=found.zone)
    account = property_account(found, form.period(), today, cost_lines_for(request.user))
    return _answer(request, [account], form=form, property=found)


@may_read
def cost_building(request: HttpRequest, pk: int, kind: str = "") -> HttpResponse:
    building = find_building(request.user, pk)
    form = PeriodForm(request.GET)
    today = timezone.localdate(timezone=building.property.zone)
    account = building_account(building, form.period(), today, cost_lines_for(request.user))
    return _answer(request, [account], form=form, building=building, property=building.property)


class CostLineList(PermissionRequiredMixin, ListExport, SingleTableMixin, FilterView):
    """Every line, or those behind a figure that was opened; the sum stands at its foot."""

    permission_required = "repairs.view_costline"
    table_class = CostLineTable
    table_pagination = ROWS_OF_A_TABLE
    filterset_class = CostLineFilter
    template_name = "repairs/cost_line_list.html"
    export_name = "cost-lines"

    def get_queryset(self) -> Any:
        return cost_lines_for(self.request.user).for_list()

    def get_table_kwargs(self) -> dict[str, Any]:
        self.sums = sums_by_currency(self.object_list, properties_for(self.request.user))
        return {"sum_in_words": sums_in_words(self.sums)}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context_data(**kwargs)
        chosen, conditions = context["filter"], conditions_of(context["filter"])
        count = context["table"].paginator.count
        return context | {
            "conditions": conditions,
            "problems": problems_of(chosen),
            "lead": lines_in_words(count, conditions, sums_in_words(self.sums), self._tax(chosen)),
        }

    def _tax(self, chosen: CostLineFilter) -> str:
        """Told only where it was asked for, in each currency that the lines count in."""
        if chosen.data.get("tax") != "recorded":
            return ""
        told = [
            (home, tax_within(self.object_list.filter(**counts_in(home)), home).minor)
            for home, _ in self.sums
        ]
        return sums_in_words(told)


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
