"""Rounds: the list, choosing what goes into one, and the round itself."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe
from django_tables2 import RequestConfig

from properties.pages import ROWS_OF_A_TABLE
from properties.signed_in import signed_in
from repairs.access import find_round, rounds_for
from repairs.forms.rounds import EndForm, LeaveOutForm, RoundFilter, RoundForm, is_key
from repairs.models import Round, RoundStop
from repairs.rounds import act
from repairs.rounds.standing import list_lead, next_to_do, round_lead, told_stops, with_looks
from repairs.rounds.stops import by_elevation
from repairs.tables.rounds import RoundTable, with_counts

ANY_METHOD = ["GET", "HEAD", "POST"]


@require_safe
@permission_required("repairs.view_round", raise_exception=True)
def round_list(request: HttpRequest) -> HttpResponse:
    on, by = timezone.localdate(), signed_in(request)
    asked = RoundFilter(request.GET)
    rounds = with_counts(asked.narrowed(rounds_for(by)), by)
    table = RoundTable(rounds, on=on)
    RequestConfig(request, paginate=ROWS_OF_A_TABLE).configure(table)
    lead = list_lead(rounds_for(by).open(), by, on)
    context = {"table": table, "filter": asked, "lead": lead}
    return render(request, "repairs/round_list.html", context)


@require_safe
@permission_required("repairs.view_round", raise_exception=True)
def round_detail(request: HttpRequest, pk: int) -> HttpResponse:
    round = find_round(request.user, pk)
    on = timezone.localdate()
    stops = list(with_looks(round.stops.all()))
    following = next_to_do(stops)
    context = {
        "round": round, "lead": round_lead(round, stops), "stops": stops,
        "groups": by_elevation(told_stops(stops, on), lambda told: told.member),
        "all_done": round.is_open() and bool(stops) and following is None,
        "following": following if round.is_open() else None,
    }  # fmt: skip
    return render(request, "repairs/round_detail.html", context)


@require_http_methods(ANY_METHOD)
@permission_required("repairs.change_round", raise_exception=True)
def round_edit(request: HttpRequest, pk: int) -> HttpResponse:
    round = find_round(request.user, pk)
    if not round.is_open():
        messages.warning(request, f"{round.name} has ended; it is not changed any more.")
        return redirect(round)
    posted = request.POST if request.method == "POST" else None
    saves = posted is not None and "save" in posted
    initial = {name: getattr(round, name) for name in ("name", "walk_on", "person", "notes")}
    form = RoundForm(posted if saves else None, on=timezone.localdate(), initial=initial)
    leaving = LeaveOutForm(posted if posted is not None and "leave-out" in posted else None)
    if posted is not None and _changed(request, round, form, leaving):
        return redirect(round if saves else f"{reverse('round-edit', args=[pk])}#stops")
    context = {
        "round": round, "form": form, "leaving": leaving,
        "stops": told_stops(with_looks(round.stops.all()), timezone.localdate()),
        "ticked": set(request.POST.getlist("stop")),
    }  # fmt: skip
    return render(request, "repairs/round_edit.html", context)


def _changed(request: HttpRequest, round: Round, form: RoundForm, leaving: LeaveOutForm) -> bool:
    """Do what the button says; False where the page is to be put right."""
    posted, by = request.POST, signed_in(request)
    if form.is_bound:
        return form.is_valid() and _saved(request, round, form)
    if leaving.is_bound:
        return leaving.is_valid() and _left_out(request, round, leaving)
    if "order" in posted:
        act.reorder(round, by)
        messages.success(request, "The stops stand in walking order.")
    elif "up" in posted or "down" in posted:
        up = "up" in posted
        act.move(_stop(round, posted["up" if up else "down"]), up, by)
    elif "put-back" in posted:
        act.put_back(_stop(round, posted["put-back"]))
    return True


def _stop(round: Round, text: str) -> RoundStop:
    if not is_key(text):
        raise Http404("No such stop.")
    return get_object_or_404(round.stops.select_related("round"), pk=int(text))


def _saved(request: HttpRequest, round: Round, form: RoundForm) -> bool:
    typed = form.cleaned_data
    facts = act.RoundFacts(typed["name"], typed["walk_on"], typed["person"], typed["notes"])
    act.change(round, facts)
    messages.success(request, f"Saved: {round}.")
    return True


def _left_out(request: HttpRequest, round: Round, leaving: LeaveOutForm) -> bool:
    ticked = [text for text in request.POST.getlist("stop") if is_key(text)]
    stops = round.stops.to_do().filter(pk__in=ticked)
    if not stops:
        leaving.add_error(None, "Tick the stops that are left out.")
        return False
    reason = leaving.cleaned_data["left_out_because"]
    number = act.leave_out(stops, reason, signed_in(request))
    messages.success(request, f"Left out: {number}. Their dates stay as they are.")
    return True


@require_http_methods(ANY_METHOD)
@permission_required("repairs.change_round", raise_exception=True)
def round_end(request: HttpRequest, pk: int) -> HttpResponse:
    round = find_round(request.user, pk)
    if not round.is_open():
        messages.warning(request, f"{round.name} has ended already.")
        return redirect(round)
    left = round.stops.to_do().count()
    form = EndForm(request.POST or None, initial={"reason": "" if left else "all done"})
    if form.is_valid():
        act.end_round(round, form.cleaned_data["reason"], timezone.localdate())
        messages.success(request, f"{round.name} has ended. Dates not answered stay due.")
        return redirect("round-list")
    return render(request, "repairs/round_end.html", {"round": round, "form": form, "left": left})
