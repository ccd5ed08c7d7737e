"""Choosing the looks of a round: of a new one, or for one that is planned already."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from properties.signed_in import signed_in
from repairs.due.words import capital, counted
from repairs.forms.rounds import ChooseForm, NewRoundForm, TickedDatesForm
from repairs.models import Round
from repairs.rounds import act
from repairs.rounds.choose import MOST_CANDIDATES, Asked, Choice, candidates, proposed_name


@dataclass(frozen=True)
class _Page:
    """What was asked, what is offered, and the round that it is added to, if it is there."""

    choosing: ChooseForm
    asked: Asked
    adds_to: Round | None


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.add_round", raise_exception=True)
def round_new(request: HttpRequest) -> HttpResponse:
    by, on = signed_in(request), timezone.localdate()
    choosing = ChooseForm(request.GET, by=by, on=on)
    page = _Page(choosing, choosing.asked(), choosing.cleaned_data.get("round"))
    if request.GET.get("round") and page.adds_to is None:
        messages.warning(request, "That round has ended or is not there; nothing is added to it.")
        return redirect("round-list")
    if request.method != "POST":
        return _shown(request, page, None)
    form = _form(request, page)
    if form.is_valid():
        try:
            return redirect(_added(request, page, form) if page.adds_to else _made(request, form))
        except act.DatesGone as gone:
            form.add_error(None, gone.in_words())
    return _shown(request, page, form)


def _form(request: HttpRequest, page: _Page) -> NewRoundForm | TickedDatesForm:
    by = signed_in(request)
    if page.adds_to is not None:
        there = set(page.adds_to.stops.values_list("due_id", flat=True))
        return TickedDatesForm(request.POST, by=by, there=there)
    return NewRoundForm(request.POST, by=by, on=page.asked.on)


def _made(request: HttpRequest, form: NewRoundForm | TickedDatesForm) -> Round:
    typed = form.cleaned_data
    made = act.make_round(
        typed["name"], typed["walk_on"], typed["person"], typed["due"], signed_in(request),
        typed["key"], typed["notes"],
    )  # fmt: skip
    if typed["due"] == set(made.stops.values_list("due_id", flat=True)):
        messages.success(request, f"Planned: {made}.")
    else:  # by the button that leads back, and with other ticks
        messages.warning(
            request,
            f"This page was sent before, and {made} was planned from it: it stands as it was "
            "planned then. Change it, or plan another round.",
        )
    return made


def _added(request: HttpRequest, page: _Page, form: TickedDatesForm) -> Round:
    assert page.adds_to is not None
    try:
        number = act.add_dates(page.adds_to, form.cleaned_data["due"], signed_in(request))
    except act.RoundEnded:
        messages.warning(request, f"{page.adds_to.name} has ended meanwhile; nothing is added.")
    else:
        messages.success(request, f"Added: {counted(number, 'look', 'looks')}.")
    return page.adds_to


def _shown(
    request: HttpRequest, page: _Page, form: NewRoundForm | TickedDatesForm | None
) -> HttpResponse:
    asked = page.asked
    choice = candidates(asked)
    ticked = _first_ticks(asked, choice) if form is None else set(request.POST.getlist("due"))
    if form is None and page.adds_to is None:
        form = NewRoundForm(by=asked.by, on=asked.on, initial=_initial(asked, choice))
    context = {
        "choosing": page.choosing, "asked": asked, "choice": choice, "form": form,
        "ticked": ticked, "adds_to": page.adds_to, "lead": _lead(asked, choice),
        "most": MOST_CANDIDATES,
    }  # fmt: skip
    return render(request, "repairs/round_new.html", context)


def _first_ticks(asked: Asked, choice: Choice) -> set[str]:
    """All that stand in no other round, once it is said where."""
    if asked.property is None:
        return set()
    rows = (row for group in choice.groups for row in group.rows)
    return {str(row.due.pk) for row in rows if row.in_round is None}


def _initial(asked: Asked, choice: Choice) -> dict[str, Any]:
    return {
        "key": uuid4(),
        "name": proposed_name(choice.groups) if asked.property else "",
        "walk_on": max(asked.until, asked.on),
        "person": asked.by.pk,
    }


def _lead(asked: Asked, choice: Choice) -> str:
    until = f"{asked.until:%-d %B %Y}"
    if choice.number:
        words = capital(counted(choice.number, "look", "looks"))
        return f"{words} can be made by {until}: due, or within the days before."
    if choice.next_opens is None:
        return "No look is planned here. A date is set when a repair is logged, or on a member."
    return f"No look can be made by {until}; the next from {choice.next_opens:%-d %B %Y} on."
