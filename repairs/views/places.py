"""Pages about a property, a building and an elevation, with what was done there."""

from __future__ import annotations

from django.contrib.auth.decorators import permission_required
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from properties.access import find_building, find_elevation, find_property
from properties.elevation_drawing import draw
from properties.units import units_for
from properties.views.form_page import today
from repairs.access import cost_lines_for
from repairs.stories import places

MEMBERS_ON_A_PAGE = 50


@permission_required("properties.view_property", raise_exception=True)
def property_detail(request: HttpRequest, pk: int) -> HttpResponse:
    of = find_property(request.user, pk)
    on = today(of)
    buildings = places.buildings_of(of, on, cost_lines_for(request.user))
    context = {
        "property": of,
        "on": on,
        "buildings": buildings,
        "sums": places.sums_of(buildings),
        "costs": places.property_costs(of, cost_lines_for(request.user)),
        "defects": places.open_defects(
            Q(member__building__property=of, member__building__demolished_on=None)
        ),
        "due": places.next_due(Q(member__building__property=of), on),
    }
    return render(request, "repairs/place_property.html", context)


@permission_required("properties.view_building", raise_exception=True)
def building_detail(request: HttpRequest, pk: int) -> HttpResponse:
    building = find_building(request.user, pk)
    on = today(building.property)
    members = places.members_to_list(building.members, request.GET, on)
    page = Paginator(members, MEMBERS_ON_A_PAGE).get_page(request.GET.get("page"))
    elevations = list(places.elevations_of(building))
    context = {
        "building": building,
        "property": building.property,
        "trail": (building.property,),
        "on": on,
        "units": units_for(request.user, building.property),
        "elevations": elevations,
        "page": page,
        "q": request.GET.get("q", ""),
        "all": request.GET.get("show") == "all",
        "sort": request.GET.get("sort", ""),
        "orders": places.MEMBER_ORDER_WORDS,
        "cost_minor": places.cost_to_date(cost_lines_for(request.user).filter(building=building)),
        "defects": places.open_defects(Q(member__building=building)),
        "due": places.next_due(Q(member__building=building), on),
    }
    return render(request, "repairs/place_building.html", context)


@permission_required("properties.view_elevation", raise_exception=True)
def elevation_detail(request: HttpRequest, pk: int) -> HttpResponse:
    elevation = find_elevation(request.user, pk)
    of = elevation.building.property
    on = today(of)
    members = places.with_condition(elevation.members.in_place(), on)
    page = Paginator(members.order_by("position", "mark"), MEMBERS_ON_A_PAGE).get_page(
        request.GET.get("page")
    )
    context = {
        "elevation": elevation,
        "building": elevation.building,
        "property": of,
        "trail": (of, elevation.building),
        "on": on,
        "units": units_for(request.user, of),
        "page": page,
        "drawing": draw(page, places.defects_on(page)),
        "cost_minor": places.cost_to_date(cost_lines_for(request.user).filter(elevation=elevation)),
        "due": places.next_due(Q(member__elevation=elevation), on),
    }
    return render(request, "repairs/place_elevation.html", context)
