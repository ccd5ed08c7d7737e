"""Planning a repair: one page from a defect, worked out again at each change; and saved plans."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from properties.access import find_defect, properties_for
from properties.exports import ListExport
from properties.models import Defect
from properties.signed_in import signed_in
from properties.units import units_for
from repairs.access import find_plan
from repairs.forms.log_typed import as_sent
from repairs.forms.plan_page import PlanPage
from repairs.forms.plan_typed import as_typed, change
from repairs.forms.plans import DropForm
from repairs.models import Plan
from repairs.plans.keep import drop_plan, save_plan, version_of
from repairs.plans.rows import PlanRows
from repairs.plans.shown import show_plan
from repairs.plans.starting import starting_rows
from repairs.tables.plans import PlanFilter, PlanTable

may_see = permission_required("repairs.view_plan", raise_exception=True)
may_plan = permission_required("repairs.add_plan", raise_exception=True)
may_change = permission_required("repairs.change_plan", raise_exception=True)


@may_plan
def plan_new(request: HttpRequest, pk: int) -> HttpResponse:
    defect, at = find_defect(request.user, pk), timezone.now()
    if closed := _not_to_plan(defect, at):
        messages.error(request, closed)
        return redirect(defect)
    if request.method == "POST":
        return _sent(request, PlanPage(_typed(request), defect, request.user, at))
    units = units_for(request.user, defect.member.building.property)
    typed = as_typed(starting_rows(defect, at), units)
    return _show(request, PlanPage(typed, defect, request.user, at))


def _not_to_plan(defect: Defect, at: datetime) -> str:
    """Why no repair of a defect is planned any more; empty where one may be."""
    if not defect.is_outstanding():
        state = defect.get_state_display().lower()
        return f"This defect is {state}: plan from one that is still open."
    if not defect.member.is_looked_after(defect.member.building.property.day_of(at)):
        return f"{defect.member} is no longer looked after, so nothing is planned for it."
    return ""


@may_change
def plan_edit(request: HttpRequest, pk: int) -> HttpResponse:
    plan, at = find_plan(request.user, pk), timezone.now()
    if not plan.is_still_planned():
        messages.error(request, f"This plan is {plan.get_state_display().lower()}: it stays so.")
        return redirect(plan)
    if request.method == "POST":
        return _sent(request, PlanPage(_typed(request), plan.defect, request.user, at, plan))
    units = units_for(request.user, plan.defect.member.building.property)
    typed = as_typed(PlanRows.of(plan), units)
    typed["seen"] = version_of(plan)
    return _show(request, PlanPage(typed, plan.defect, request.user, at, plan))


@may_plan
@require_POST
def plan_figures(request: HttpRequest, pk: int) -> HttpResponse:
    """What follows from the form as it stands; asked for by the page at each change."""
    defect, at = find_defect(request.user, pk), timezone.now()
    page = PlanPage(_typed(request), defect, request.user, at)
    if not request.htmx:  # type: ignore[attr-defined]
        return _show(request, page)
    return render(request, "repairs/_plan_results.html", _context(page))


def _typed(request: HttpRequest) -> Any:
    """What was sent, changed by the small button that was pressed, if it was one."""
    typed = as_sent(request.POST)
    if (act := typed.get("act", "")) != "save":
        change(typed, act)
    return typed


def _sent(request: HttpRequest, page: PlanPage) -> HttpResponse:
    if page.typed.get("act") != "save":
        return _show(request, page)
    if page.plan is None and (earlier := _sent_before(request, page)):
        messages.info(request, "This plan was already saved; it was not saved twice. Change it.")
        return redirect(earlier)
    if page.plan is not None:
        page.hold_to(version_of(page.plan))
    if page.rows is None:
        return _show(request, page, refused=True)
    try:
        plan = save_plan(page.rows, signed_in(request), page.at)
    except ValidationError as error:
        page.messages.extend(error.messages)
        return _show(request, page, refused=True)
    messages.success(request, f"Saved: {plan}.")
    return redirect(plan)


def _sent_before(request: HttpRequest, page: PlanPage) -> Plan | None:
    mine = Plan.objects.filter(submission=page.key, made_by=signed_in(request))
    return mine.filter(defect=page.defect).first()


def _show(request: HttpRequest, page: PlanPage, *, refused: bool = False) -> HttpResponse:
    return render(request, "repairs/plan_form.html", {**_context(page), "refused": refused})


def _context(page: PlanPage) -> dict[str, Any]:
    """The form, and what follows from it unless something has to be put right."""
    rows = page.rows
    shown = show_plan(rows, page.at, page.system) if rows and not page.messages else None
    return {
        "page": page,
        "defect": page.defect,
        "member": page.member,
        "property": page.place,
        "shown": shown,
        "system": page.system,
        "wrong": page.wrong() if shown is None else [],
    }


@may_see
@require_safe
def plan_detail(request: HttpRequest, pk: int) -> HttpResponse:
    plan, at = find_plan(request.user, pk), timezone.now()
    return _detail(request, plan, at, DropForm())


def _detail(request: HttpRequest, plan: Plan, at: datetime, form: DropForm) -> HttpResponse:
    member = plan.defect.member
    of = member.building.property
    units = units_for(request.user, of)
    context = {
        "plan": plan,
        "defect": plan.defect,
        "member": member,
        "property": of,
        "system": units,
        "shown": show_plan(PlanRows.of(plan), at, units),
        "form": form,
    }
    return render(request, "repairs/plan_detail.html", context)


@may_change
@require_POST
def plan_drop(request: HttpRequest, pk: int) -> HttpResponse:
    plan, form = find_plan(request.user, pk), DropForm(request.POST)
    if not form.is_valid():
        return _detail(request, plan, timezone.now(), form)
    try:
        drop_plan(plan, form.cleaned_data["reason"], signed_in(request))
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, "The plan is dropped. It stays in the records, with the reason.")
    return redirect(plan)


class PlanList(PermissionRequiredMixin, ListExport, SingleTableMixin, FilterView):
    permission_required = "repairs.view_plan"
    model = Plan
    table_class = PlanTable
    filterset_class = PlanFilter
    template_name = "repairs/plan_list.html"
    export_name = "planned-repairs"
    table_pagination = {"per_page": 50}

    def get_queryset(self) -> QuerySet[Plan]:
        return Plan.objects.within(properties_for(self.request.user)).with_place()
