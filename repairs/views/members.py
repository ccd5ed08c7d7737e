"""Pages about one member and about one defect, with what was done to them."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from properties.access import find_defect, find_member
from properties.face_heat import surface_of
from properties.forms.members import SuccessorForm
from properties.models import Member
from properties.signed_in import signed_in
from properties.units import units_for
from properties.views.form_page import FormPage, sent, show_form, today
from properties.views.members import ALIKE
from properties.weather_figures import surface_figure
from repairs.access import cost_lines_for
from repairs.due.facts_for import KnownOf
from repairs.due.first_looks import set_first_looks
from repairs.due.pace import planned_on
from repairs.forms.members import TakeOutForm
from repairs.looks.trend import trend_of
from repairs.replace_member import take_out
from repairs.stories.due_figures import due_figure, rules_figure
from repairs.stories.member_cautions import cautions_about
from repairs.stories.member_page import (
    find_member_in_full,
    moisture_rows,
    records_of,
    worst_of_latest,
    zone_rows,
)
from repairs.stories.member_story import story_of


@permission_required("properties.view_member", raise_exception=True)
def member_detail(request: HttpRequest, pk: int) -> HttpResponse:
    member = find_member_in_full(request.user, pk)
    of = member.building.property
    on = today(of)
    records = records_of(member, on, cost_lines_for(request.user))
    known = KnownOf(member)
    planned = planned_on(member, records.open_due_dates, on, known)
    units, surface = units_for(request.user, of), surface_of(member)
    context = {
        "member": member,
        "property": of,
        "units": units,
        "on": on,
        "records": records,
        "planned": [(each, due_figure(each)) for each in planned],
        "by_the_rules": rules_figure(records, known),
        "zones": zone_rows(records),
        "moisture": moisture_rows(records.readings, units),
        "worst": worst_of_latest(records.readings, of),
        "trend": trend_of(records, planned, known),
        "surface": surface_figure(surface, units) if surface else None,
        "cautions": cautions_about(member, records.open_defects),
        "events": story_of(records),
    }
    return render(request, "repairs/member_detail.html", context)


@permission_required("properties.view_defect", raise_exception=True)
def defect_detail(request: HttpRequest, pk: int) -> HttpResponse:
    defect = find_defect(request.user, pk)
    of = defect.member.building.property
    readings = tuple(defect.moisture_readings.order_by("-taken_at", "-pk"))
    for reading in readings:
        reading.member = defect.member
    units = units_for(request.user, of)
    context = {
        "defect": defect,
        "member": defect.member,
        "property": of,
        "trail": (of, defect.member.building, defect.member),
        "units": units,
        "moisture": moisture_rows(readings, units),
        "worst": worst_of_latest(readings, of),
        "repairs": defect.repairs.standing().order_by("began_at"),
        "plans": defect.plans.order_by("-starts_at", "-pk"),
        "photographs": defect.photographs.all(),
        "cautions": cautions_about(defect.member, (defect,)),
    }
    return render(request, "repairs/defect_detail.html", context)


@permission_required(["properties.change_member", "properties.add_member"], raise_exception=True)
def member_replace(request: HttpRequest, pk: int) -> HttpResponse:
    member = find_member(request.user, pk)
    if not member.is_in_place():
        messages.info(request, f"{member.mark} has been taken out already.")
        return redirect(member)
    of = member.building.property
    form = TakeOutForm(sent(request), latest=today(of), initial={"on": today(of)})
    successor = SuccessorForm(
        sent(request),
        instance=Member(building=member.building),
        replaced=member,
        on=today(of),
        units=units_for(request.user, of),
        prefix="new",
        initial=_carried_over(member),
    )
    sound = request.method == "POST" and form.is_valid()
    if not sound or (form.cleaned_data["replaced"] and not successor.is_valid()):
        return show_form(request, form, _replace_page(member, successor))
    replaced = form.cleaned_data["replaced"]
    new = successor.instance if replaced else None
    take_out(member, form.cleaned_data["on"], form.cleaned_data["reason"], new)
    messages.success(request, f"{member.mark} is taken out. Its history stays with it.")
    if new is not None and new.pk:
        first = set_first_looks([new], signed_in(request))
        messages.success(request, f"{new.mark} takes its place. {first}".rstrip())
    return redirect(new if new and new.pk else member)


def _carried_over(member: Member) -> dict[str, Any]:
    """The facts of the old member, but for its age: new timber has no old paint."""
    facts = {name: getattr(member, name) for name in ALIKE}
    facts["not_applicable"] = [
        name for name in member.not_applicable if name != "oldest_paint_year"
    ]
    return {**facts, "mark": member.mark, "installed_year": None, "oldest_paint_year": None}


def _replace_page(member: Member, successor: SuccessorForm) -> FormPage:
    building = member.building
    return FormPage(
        title=f"Take out or replace {member.mark}",
        lead=f"{member.mark} is closed with its history and its costs as they are; its open due "
        "dates are called off. What takes its place is a new member that points back at it.",
        save=f"Take out {member.mark}",
        template="repairs/member_replace.html",
        trail=(building.property, building, member),
        also={"member": member, "successor": successor},
    )
