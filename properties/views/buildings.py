"""Pages that enter and change buildings and their elevations."""

from __future__ import annotations

from copy import copy

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse

from properties.access import find_building, find_elevation, find_property
from properties.forms.buildings import BuildingForm, ElevationForm
from properties.models import Building, Elevation
from properties.units import units_for

from .form_page import FormPage, answer_form, sent, today


@permission_required("properties.add_building", raise_exception=True)
def building_new(request: HttpRequest, pk: int) -> HttpResponse:
    of = find_property(request.user, pk)
    form = BuildingForm(sent(request), instance=Building(property=of), on=today(of))
    page = FormPage(
        title="A new building",
        lead=f"One structure at {of}. Its elevations and members are entered next.",
        save="Save this building",
        template="properties/building_form.html",
        trail=(of,),
    )
    return answer_form(request, form, page, form.save)


@permission_required("properties.change_building", raise_exception=True)
def building_edit(request: HttpRequest, pk: int) -> HttpResponse:
    building = find_building(request.user, pk)
    form = BuildingForm(sent(request), instance=building, on=today(building.property))
    page = FormPage(
        title=f"Change {building.name}",
        lead=f"What is known of this building at {building.property}. A demolished building "
        "keeps its history.",
        save="Save this building",
        template="properties/building_form.html",
        trail=(building.property, copy(building)),
    )
    return answer_form(request, form, page, form.save)


@permission_required("properties.add_elevation", raise_exception=True)
def elevation_new(request: HttpRequest, pk: int) -> HttpResponse:
    building = find_building(request.user, pk)
    form = ElevationForm(
        sent(request),
        instance=Elevation(building=building),
        on=today(building.property),
        units=units_for(request.user, building.property),
    )
    page = FormPage(
        title="A new elevation",
        lead=f"One face of {building.name}, by the way it faces.",
        save="Save this elevation",
        trail=(building.property, building),
    )
    return answer_form(request, form, page, form.save)


@permission_required("properties.change_elevation", raise_exception=True)
def elevation_edit(request: HttpRequest, pk: int) -> HttpResponse:
    elevation = find_elevation(request.user, pk)
    building = elevation.building
    form = ElevationForm(
        sent(request),
        instance=elevation,
        on=today(building.property),
        units=units_for(request.user, building.property),
    )
    page = FormPage(
        title=f"Change the {elevation.name} elevation",
        lead=f"One face of {building.name}, by the way it faces.",
        save="Save this elevation",
        trail=(building.property, building),
    )
    return answer_form(request, form, page, form.save)
