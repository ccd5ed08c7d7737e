"""Pages of repairs: the list, one repair's whole story, and a person's word on it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from properties.access import properties_for
from properties.exports import ListExport
from properties.signed_in import signed_in
from properties.units import units_for
from repairs.access import cost_lines_for, find_repair
from repairs.forms.repairs import FinishForm, ReleaseForm, SignOffForm, WithdrawForm
from repairs.logbook.change import CannotChange, finish, release, withdraw
from repairs.models import KeptRemark, Repair
from repairs.plans.beside import beside_of
from repairs.stories.repair_story import story_of
from repairs.tables.repairs import RepairFilter, RepairTable


class RepairList(PermissionRequiredMixin, ListExport, SingleTableMixin, FilterView):
    permission_required = "repairs.view_repair"
    model = Repair
    table_class = RepairTable
    filterset_class = RepairFilter
    template_name = "repairs/repair_list.html"
    export_name = "repairs"
    table_pagination = {"per_page": 50}

    def get_queryset(self) -> QuerySet[Repair]:
        seen = Repair.objects.within(properties_for(self.request.user))
        return seen.with_place().with_standing(cost_lines_for(self.request.user))

    def get_filterset_kwargs(self, filterset_class: Any) -> dict[str, Any]:
        return {**super().get_filterset_kwargs(filterset_class), "at": timezone.now()}

    def get_table_kwargs(self) -> dict[str, Any]:
        return {"at": timezone.now()}


@permission_required("repairs.view_repair", raise_exception=True)
def repair_detail(request: HttpRequest, pk: int) -> HttpResponse:
    repair = find_repair(request.user, pk)
    prop = repair.member.building.property
    system = units_for(request.user, prop)
    story = story_of(
        repair,
        timezone.now(),
        system,
        properties_for(request.user),
        cost_lines_for(request.user),
    )
    return render(
        request,
        "repairs/repair_detail.html",
        {
            "story": story,
            "repair": story.repair,
            "member": story.repair.member,
            "property": prop,
            "system": system,
            "beside": beside_of(story.repair, story.stages, system),
        },
    )


@permission_required("repairs.change_repair", raise_exception=True)
def repair_sign_off(request: HttpRequest, pk: int) -> HttpResponse:
    repair = find_repair(request.user, pk)
    today = timezone.localdate(timezone=repair.member.building.property.zone)
    form = SignOffForm(
        request.POST or None,
        repair=repair,
        on=today,
        initial={"signed_on": today, "name": signed_in(request).get_full_name()},
    )
    if repair.state == Repair.State.WITHDRAWN:
        messages.error(request, "This repair was withdrawn, so there is nothing to sign.")
        return redirect(repair)
    if request.method == "POST" and form.is_valid():
        form.instance.entered_by = request.user
        form.save()
        messages.success(request, f"Signed: {form.instance}.")
        return redirect(repair)
    return render(request, "repairs/repair_sign_off.html", {"form": form, "repair": repair})


@permission_required("repairs.change_keptremark", raise_exception=True)
def repair_release(request: HttpRequest, pk: int, remark_pk: int) -> HttpResponse:
    repair = find_repair(request.user, pk)
    remark = get_object_or_404(KeptRemark, pk=remark_pk, repair=repair)
    form = ReleaseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        today = timezone.localdate(timezone=repair.member.building.property.zone)
        return _done(
            request,
            repair,
            "Your word is in the record; this remark no longer waits.",
            lambda: release(remark, form.cleaned_data["word"], signed_in(request), today),
        )
    return render(
        request,
        "repairs/repair_release.html",
        {
            "form": form,
            "repair": repair,
            "remark": remark,
        },
    )


@permission_required("repairs.change_repair", raise_exception=True)
def repair_finish(request: HttpRequest, pk: int) -> HttpResponse:
    repair, now = find_repair(request.user, pk), timezone.now()
    local = timezone.localtime(now, repair.member.building.property.zone)
    form = FinishForm(
        request.POST or None,
        repair=repair,
        at=now,
        initial={"ended_on": local.date(), "ended_time": local.time()},
    )
    if request.method == "POST" and form.is_valid():
        return _done(
            request,
            repair,
            "Finished. The next look is set.",
            lambda: finish(
                repair,
                form.cleaned_data["ended_at"],
                signed_in(request),
                now,
                form.cleaned_data["next_look_on"],
            ),
        )
    return render(request, "repairs/repair_finish.html", {"form": form, "repair": repair})


# Crew has no right to remove a repair, so this is a manager's act.
@permission_required("repairs.delete_repair", raise_exception=True)
def repair_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    repair = find_repair(request.user, pk)
    form = WithdrawForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        return _done(
            request,
            repair,
            "Withdrawn. Stores, costs and due dates are put right.",
            lambda: withdraw(
                repair, form.cleaned_data["reason"], signed_in(request), timezone.now()
            ),
        )
    return render(request, "repairs/repair_withdraw.html", {"form": form, "repair": repair})


def _done(
    request: HttpRequest, repair: Repair, sentence: str, act: Callable[[], None]
) -> HttpResponse:
    """Do the act and say so, or say why it cannot be done."""
    try:
        act()
    except CannotChange as error:
        messages.error(request, str(error))
    else:
        messages.success(request, sentence)
    return redirect(repair)
