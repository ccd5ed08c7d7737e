"""Pages that list, enter and change defects and moisture readings."""

from __future__ import annotations

from copy import copy
from typing import Any

from django.contrib.auth.decorators import permission_required
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from properties.access import find_defect, find_member, properties_for
from properties.exports import ListExport
from properties.filters import DefectFilter
from properties.forms.defects import DefectEditForm, DefectForm, MoistureForm
from properties.models import Defect, Member, MoistureReading
from properties.models.members import Zone
from properties.signed_in import signed_in
from properties.tables import DefectTable
from properties.units import units_for

from .form_page import FormPage, answer_form, number_in, sent, today


class DefectList(PermissionRequiredMixin, ListExport, SingleTableMixin, FilterView):
    permission_required = "properties.view_defect"
    table_class = DefectTable
    filterset_class = DefectFilter
    template_name = "properties/defect_list.html"
    paginate_by = 50
    export_name = "defects"

    def get_queryset(self) -> QuerySet[Defect]:
        return Defect.objects.within(properties_for(self.request.user)).with_place()

    def get_filterset_kwargs(self, filterset_class: Any) -> dict[str, Any]:
        # Also without a query, so that what is made good is left out from the start.
        return {**super().get_filterset_kwargs(filterset_class), "data": self.request.GET}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        urgent = self.object_list.filter(urgency="UC3").count()
        return super().get_context_data(urgent=urgent, **kwargs)


@permission_required("properties.add_defect", raise_exception=True)
def defect_new(request: HttpRequest, pk: int) -> HttpResponse:
    by, member = signed_in(request), find_member(request.user, pk)
    of = member.building.property
    form = DefectForm(
        sent(request),
        instance=Defect(member=member, recorded_by=by),
        on=today(of),
        units=units_for(request.user, of),
        initial={
            "found_on": today(of),
            "found_by": by.get_full_name(),
            "zone": request.GET.get("zone", Zone.WHOLE),
        },
    )
    page = FormPage(
        title=f"A defect on {member.mark}",
        lead="What is wrong, where, and above all why: a repair lasts once its cause is put right.",
        save="Save this defect",
        template="properties/defect_form.html",
        trail=(of, member.building, member),
        also={"member": member},
    )
    return answer_form(request, form, page, form.save)


@permission_required("properties.change_defect", raise_exception=True)
def defect_edit(request: HttpRequest, pk: int) -> HttpResponse:
    defect = find_defect(request.user, pk)
    member = defect.member
    of = member.building.property
    page = FormPage(
        title=f"Change the defect: {defect}",
        lead="What is known of it, and whether it is made good. Earlier states stay in the log.",
        save="Save this defect",
        template="properties/defect_form.html",
        trail=(of, member.building, member, copy(defect)),
        also={"member": member},
    )
    form = DefectEditForm(
        sent(request), instance=defect, on=today(of), units=units_for(request.user, of)
    )
    return answer_form(request, form, page, form.save)


@permission_required("properties.add_moisturereading", raise_exception=True)
def moisture_new(request: HttpRequest, pk: int) -> HttpResponse:
    by, member = signed_in(request), find_member(request.user, pk)
    of = member.building.property
    defect = _defect_named(request, member)
    now = timezone.now().astimezone(of.zone)
    form = MoistureForm(
        sent(request),
        instance=MoistureReading(member=member, defect=defect, recorded_by=by),
        on=now.date(),
        zone=of.zone,
        units=units_for(request.user, of),
        initial={
            "taken_on": now.date(),
            "taken_time": now.time(),
            "taken_by": by.get_full_name(),
            "zone": defect.zone if defect else Zone.WHOLE,
        },
    )
    page = FormPage(
        title=f"A moisture reading on {member.mark}",
        lead="Type what the meter shows. The figure is corrected for the temperature of the wood "
        "and its species where these are known, and both figures are kept.",
        save="Save this reading",
        template="properties/moisture_form.html",
        trail=(of, member.building, member, *([defect] if defect else [])),
        saved="The reading is saved.",
        also={"member": member, "defect": defect},
    )
    return answer_form(request, form, page, lambda: _save_reading(form))


def _defect_named(request: HttpRequest, member: Member) -> Defect | None:
    """The defect in the address (?defect=5), which must be on this member."""
    pk = number_in(request.GET.get("defect", ""))
    return get_object_or_404(member.defects, pk=pk) if pk is not None else None


def _save_reading(form: MoistureForm) -> Defect | Member:
    """Keep the reading with its correction, and go on to what it was taken for."""
    reading: MoistureReading = form.instance
    reading.keep_correction(form.cleaned_data["set_for"])
    reading.save()
    return reading.defect or reading.member
