"""Moving work to another year, and dropping a move."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from properties.access import find_property
from properties.models import Member, Property
from properties.signed_in import signed_in
from properties.views.form_page import number_in, today
from repairs.access import find_work_move
from repairs.forms.ahead import kept_query
from repairs.forms.work_moves import WorkMoveForm
from repairs.views.sent_whole import sent_whole

FILLED = ("elevation", "kind", "first_year", "last_year", "to_year", "reason")


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.add_workmove", raise_exception=True)
@sent_whole
def work_move_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A link fills the form; a person saves it."""
    of = find_property(request.user, pk)
    if request.method == "POST":  # sent twice at once, the second sees the move of the first
        Property.objects.select_for_update().get(pk=pk)
    form = WorkMoveForm(of, today(of), request.POST or None, initial=_filled(request, of))
    if form.is_valid():
        move = form.save(commit=False)
        move.made_by = signed_in(request)
        move.save()
        messages.success(request, f"Saved: {move}.")
        return redirect(_back(request, of) + "#moves")
    if form.is_sent_again(signed_in(request)):
        messages.success(request, f"Saved: {form.earlier}.")
        return redirect(_back(request, of) + "#moves")
    context = {"form": form, "property": of, "kept_query": kept_query(request.GET)}
    return render(request, "repairs/work_move_new.html", context)


def _filled(request: HttpRequest, of: Property) -> dict[str, Any]:
    initial: dict[str, Any] = {name: request.GET[name] for name in FILLED if request.GET.get(name)}
    if member := number_in(request.GET.get("member", "")):
        standing = Member.objects.standing().filter(building__property=of, pk=member)
        initial["member"] = standing.first()
    return initial


@permission_required("repairs.delete_workmove", raise_exception=True)
@require_POST
def work_move_drop(request: HttpRequest, pk: int) -> HttpResponse:
    move = find_work_move(request.user, pk)
    told, of = str(move), move.property
    move.delete()
    messages.success(request, f"Dropped: {told}. The work stands in its own years again.")
    return redirect(_back(request, of))


def _back(request: HttpRequest, of: Property) -> str:
    return reverse("ahead-property", args=[of.pk]) + kept_query(request.GET)
