"""The page of what the months of a property are like, and what that means for its timber."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from properties.access import find_property
from properties.climate_figures import hazard_figure, missing_months, month_rows
from properties.decay_hazard import ONE_YEAR_IS_NOT_A_CLIMATE, MonthNormals
from properties.forms.climate import NormalsForm
from properties.models import MonthlyNormal, Property, WeatherFile
from properties.normals import (
    file_of,
    from_file,
    hazard_of,
    keep_normals,
    months_of,
    normals_of,
    without_rain,
)
from properties.units import units_for

from .form_page import sent


@permission_required("properties.view_monthlynormal", raise_exception=True)
def monthly_normals(request: HttpRequest, pk: int) -> HttpResponse:
    of = find_property(request.user, pk)
    normals = normals_of(of)
    form = NormalsForm(sent(request), units=units_for(request.user, of), normals=normals)
    if request.method != "POST":
        return _show(request, of, normals, form)
    if not request.user.has_perm("properties.change_monthlynormal"):
        raise PermissionDenied
    if "from_file" in request.POST:
        return _take_from_file(request, of)
    if not form.is_valid():
        return _show(request, of, normals, form)
    keep_normals(of, form.typed())
    messages.success(request, "The twelve months are saved.")
    return redirect("monthly-normals", of.pk)


def _take_from_file(request: HttpRequest, of: Property) -> HttpResponse:
    file = file_of(of)
    try:
        if file is None:
            raise ValidationError("No weather file is attached any more. Type the months.")
        months = from_file(file)
        keep_normals(of, months)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, f"The twelve months are those of {file}.")
        if dry := without_rain(months):
            messages.warning(
                request,
                f"By that file it does not rain at all in {dry}. Look whether that is true of the "
                "place, or whether the file lacks its rain, and type the days if so.",
            )
    return redirect("monthly-normals", of.pk)


def _show(
    request: HttpRequest, of: Property, normals: list[MonthlyNormal], form: NormalsForm
) -> HttpResponse:
    units, file = units_for(request.user, of), file_of(of)
    rows = month_rows(normals, _months_or_none(file), units)
    context = {
        "property": of,
        "trail": (of,),
        "units": units,
        "form": form,
        "file": file,
        "rows": rows,
        "has_humidity": any(row.humidity_pct is not None for row in rows),
        "hazard": hazard_of(normals),
        "hazard_figure": hazard_figure(normals, units),
        "missing": missing_months(normals),
        "source": normals[0].source if normals else "",
        "one_year": ONE_YEAR_IS_NOT_A_CLIMATE,
    }
    return render(request, "properties/climate.html", context)


def _months_or_none(file: WeatherFile | None) -> MonthNormals | None:
    """A file with gaps in its air tells of no month; the page then does without it."""
    try:
        return months_of(file) if file else None
    except ValueError:
        return None
