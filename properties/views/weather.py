"""The page of a property's weather file, and of the heat on its faces that follows from it."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect, render

from properties.access import find_property
from properties.face_heat import weather_of
from properties.forms.weather import WeatherForm
from properties.models import Property, WeatherFile
from properties.units import units_for
from properties.weather_figures import elevations_of, faces_of, heat_tables


@permission_required("properties.view_weatherfile", raise_exception=True)
def weather_file(request: HttpRequest, pk: int) -> HttpResponse:
    of = find_property(request.user, pk)
    if request.method != "POST":
        return _show(request, of, WeatherForm())
    if not request.user.has_perm("properties.change_weatherfile"):
        raise PermissionDenied
    form = WeatherForm(request.POST, request.FILES)
    if not form.is_valid():
        return _show(request, of, form)
    file = form.save(of, request.user)
    messages.success(request, f"The weather of {file} is attached.")
    return redirect("weather-file", of.pk)


@permission_required("properties.delete_weatherfile", raise_exception=True)
def weather_remove(request: HttpRequest, pk: int) -> HttpResponse:
    of = find_property(request.user, pk)
    if request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    for file in WeatherFile.objects.filter(property=of).defer("hours"):
        file.delete()
        messages.success(request, f"The weather of {file} is removed.")
    return redirect("weather-file", of.pk)


def _show(request: HttpRequest, of: Property, form: WeatherForm) -> HttpResponse:
    units = units_for(request.user, of)
    placed = of.buildings.standing().filter(latitude__isnull=False).order_by("pk").first()
    weather = weather_of(
        of, placed.latitude if placed else None, placed.altitude_m if placed else None
    )
    faces = faces_of(elevations_of(of))
    context = {
        "property": of,
        "trail": (of,),
        "units": units,
        "form": form,
        "file": weather.file if weather else None,
        "weather": weather,
        "placed": placed,
        "heat": heat_tables(weather, faces, units) if weather else None,
    }
    return render(request, "properties/weather.html", context)
