"""A property's history as a page, and as a document to hand over."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify

from properties.access import find_property
from properties.models import Property
from properties.signed_in import signed_in
from properties.units import units_for
from repairs.forms.history import HistoryForm
from repairs.history.diary import diary_page
from repairs.history.pdf import history_pdf as made_pdf
from repairs.history.scope import Scope, costs_begin
from repairs.paper import chosen_sheet

may_read = permission_required("repairs.view_repair", raise_exception=True)


@may_read
def history_page(request: HttpRequest, pk: int) -> HttpResponse:
    found = find_property(request.user, pk)
    form = _form(request, found)
    scope = _scope(request, found, form)
    oldest_first = request.GET.get("order") == "oldest"
    diary = diary_page(
        scope, form.asked("subject") or "", form.asked("year"), request.GET.get("page", "1"),
        oldest_first,
    )  # fmt: skip
    context = {
        "property": found, "form": form, "scope": scope, "diary": diary,
        "year": form.asked("year"), "oldest_first": oldest_first,
    }  # fmt: skip
    return render(request, "repairs/history_page.html", context)


@may_read
def history_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    found = find_property(request.user, pk)
    form = _form(request, found)
    if not form.is_valid():
        address = reverse("history-page", args=[pk])
        return redirect(f"{address}?{urlencode(request.GET, doseq=True)}")
    user = signed_in(request)
    scope = _scope(request, found, form)
    pdf = made_pdf(scope, user.get_full_name() or user.get_username(), chosen_sheet(request))
    response = HttpResponse(pdf, content_type="application/pdf")
    name = slugify(f"history {found.name} {scope.as_at}") or "history"
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response


def _form(request: HttpRequest, found: Property) -> HistoryForm:
    may_see_all = request.user.has_perm("properties.view_every_property")
    form = HistoryForm(found, request.GET, may_see_all=may_see_all)
    form.is_valid()
    return form


def _scope(request: HttpRequest, found: Property, form: HistoryForm) -> Scope:
    """What the visitor may be told; costs of an earlier owner's time only when asked for."""
    on = timezone.localdate(timezone=found.zone)
    last = form.asked("to")
    facts: dict[str, Any] = {}
    if not form.asked("all_owners"):
        periods = list(found.ownerships.order_by("from_on"))
        facts["costs_from"] = costs_begin(periods, last or on)
    return Scope(
        of=found,
        on=on,
        first=form.asked("from"),
        last=last,
        member=form.asked("member"),
        costs=request.user.has_perm("repairs.view_costline"),
        system=units_for(request.user, found),
        **facts,
    )
