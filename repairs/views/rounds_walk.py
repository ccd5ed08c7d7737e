"""Walking a round on a telephone: one member after the other."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from properties.signed_in import signed_in
from properties.units import units_for
from repairs.access import find_round, find_stop
from repairs.forms.inspections import InspectionForm
from repairs.forms.rounds import LeaveOutForm
from repairs.logbook import drafts
from repairs.looks.entry import inspection_entry
from repairs.looks.page import no_longer_words
from repairs.looks.photographs import held_photographs, hold_photographs, tend_held
from repairs.looks.record import AlreadyRecorded
from repairs.looks.words import last_words, next_lines, result_message
from repairs.models import DraftPhotograph, Inspection, RoundStop
from repairs.rounds import act, walk
from repairs.rounds.standing import next_to_do
from repairs.rounds.stop_page import further_fields, rating_rows, stop_page


@require_safe
@permission_required("repairs.add_inspection", raise_exception=True)
def round_walk(request: HttpRequest, pk: int) -> HttpResponse:
    """On to the first stop that is still to be looked at."""
    round = find_round(request.user, pk)
    following = next_to_do(list(round.stops.with_place()))
    if not round.is_open():
        messages.warning(request, f"This round has ended: {round.ended_because}.")
        return redirect(round)
    if following is None:
        messages.info(request, "Nothing is left to look at on this round.")
        return redirect(round)
    return redirect("round-stop", pk, following.pk)


@dataclass(frozen=True)
class _Visit:
    """One request at one stop: who, when, and on which day by the clock on site."""

    request: HttpRequest
    stop: RoundStop
    by: User
    at: datetime
    last: Inspection | None

    @property
    def on(self) -> date:
        return self.stop.due.member.building.property.day_of(self.at)


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.add_inspection", raise_exception=True)
def round_stop(request: HttpRequest, pk: int, stop: int) -> HttpResponse:
    found = find_stop(request.user, pk, stop)
    last = walk.subject_of(found).last_look()
    visit = _Visit(request, found, signed_in(request), timezone.now(), last)
    if request.method != "POST":
        return _page(visit, _blank(visit))
    done = {"as-before": _as_before, "leave-out": _leave_out, "put-back": _put_back}
    return done.get(request.POST.get("act", ""), _save)(visit)


# What the buttons do


def _save(visit: _Visit) -> HttpResponse:
    request, by = visit.request, visit.by
    form, key = _typed(visit), drafts.read_key(request.POST.get("key", ""))
    if key is None:
        return _page(visit, form)
    if _is_saved(visit, key):
        return _onward(visit)
    valid = form.is_valid()
    for error in hold_photographs(request, by, key, form.cleaned_data.get("caption", "")):
        form.add_error("photographs", error)
        valid = False
    tend_held(request, by, key)
    if not valid:
        return _page(visit, form)
    apart = bool(request.POST.get("keep_apart"))
    try:
        inspection = _recorded(visit, form, held_photographs(by, key), apart=apart)
    except AlreadyRecorded as already:
        return _page(visit, form, already=already.inspection)
    except walk.CannotLook as refused:
        form.add_error("looked_on" if refused.about_day else None, refused.words)
        return _page(visit, form, apart=not refused.about_day)
    if draft := drafts.find_draft(by, key):
        draft.delete()
    messages.success(request, result_message(inspection, visit.on))
    return _onward(visit)


def _recorded(
    visit: _Visit, form: InspectionForm, held: list[DraftPhotograph], *, apart: bool
) -> Inspection:
    entry = inspection_entry(form, held, visit.at, extra=False)
    record = walk.look_apart if apart else walk.look_at_stop
    return record(visit.stop, entry, visit.by, visit.on)


def _as_before(visit: _Visit) -> HttpResponse:
    request, key = visit.request, drafts.read_key(visit.request.POST.get("key", ""))
    if key is not None and _is_saved(visit, key):
        return _onward(visit)
    last = walk.look_to_repeat(visit.stop, visit.on)
    if last is None or key is None:
        messages.warning(request, "There is no last look to repeat here; say how it stands now.")
        return redirect(request.path)
    form = _form(visit, data=walk.as_before(visit.stop, last, visit.by, key, visit.on))
    if not form.is_valid():
        return _page(visit, form)
    try:
        inspection = _recorded(visit, form, [], apart=False)
    except AlreadyRecorded:
        messages.warning(request, "Somebody was quicker: their look stands here.")
        return redirect(request.path)
    except walk.CannotLook as refused:
        messages.warning(request, refused.words)
        return redirect(request.path)
    messages.success(request, result_message(inspection, visit.on))
    return _onward(visit)


def _leave_out(visit: _Visit) -> HttpResponse:
    form = LeaveOutForm(visit.request.POST)
    if not form.is_valid():
        return _page(visit, _blank(visit), leaving=form)
    if not visit.stop.round.is_open():
        messages.warning(visit.request, "This round has ended; nothing of it is changed any more.")
        return _onward(visit)
    reason = form.cleaned_data["left_out_because"]
    if act.leave_out([visit.stop], reason, visit.by):
        mark = visit.stop.due.member.mark
        messages.success(visit.request, f"{mark} is left out; its date stays as it is.")
        return _onward(visit)
    messages.warning(visit.request, "Somebody has just looked at it, so it is not left out.")
    return redirect(visit.request.path)


def _put_back(visit: _Visit) -> HttpResponse:
    if visit.stop.round.is_open():
        act.put_back(visit.stop)
    return redirect(visit.request.path)


def _is_saved(visit: _Visit, key: UUID) -> bool:
    """Whether this very form was saved before, and is sent once more."""
    return Inspection.objects.filter(submission=key, entered_by=visit.by).exists()


def _onward(visit: _Visit) -> HttpResponse:
    stop = visit.stop
    following = next_to_do(list(stop.round.stops.with_place()), stop)
    if following is None or not stop.round.is_open():
        return redirect(stop.round)
    return redirect("round-stop", stop.round_id, following.pk)


# The page


def _form(visit: _Visit, **kwargs: Any) -> InspectionForm:
    system = units_for(visit.request.user, visit.stop.due.member.building.property)
    subject = walk.subject_of(visit.stop)
    form = InspectionForm(subject=subject, today=visit.on, system=system, **kwargs)
    last_words(form, visit.last)
    return form


def _blank(visit: _Visit) -> InspectionForm:
    initial = {"key": uuid4(), **walk.first_values(visit.stop, visit.by, visit.on)}
    return _form(visit, initial=initial)


def _typed(visit: _Visit) -> InspectionForm:
    """What was sent, about the date of this stop and no other."""
    data = visit.request.POST.copy()
    due = visit.stop.due
    data["due"] = "" if due.cancelled_on is not None else str(due.pk)
    return _form(visit, data=data, files=visit.request.FILES)


def _page(
    visit: _Visit,
    form: InspectionForm,
    already: Inspection | None = None,
    apart: bool = False,
    leaving: LeaveOutForm | None = None,
) -> HttpResponse:
    stop, due = visit.stop, visit.stop.due
    page = stop_page(stop, visit.last, visit.on)
    key = drafts.read_key(str(form["key"].value()))
    asks = form.is_bound or (page.state.to_do and page.round.is_open())
    repeated = walk.look_to_repeat(stop, visit.on) if asks and not form.is_bound else None
    more = further_fields(form)
    context = {
        "page": page, "round": page.round, "stop": page.stop, "member": due.member, "due": due,
        "form": form, "asks": asks, "ratings": rating_rows(form, visit.last), "more": more,
        "more_open": any(field.errors for field in more),
        "next_lines": next_lines(due, visit.on) if asks and due.is_outstanding() else [],
        "held": held_photographs(visit.by, key) if key else [],
        "already": already, "apart": apart or already is not None,
        "as_before": walk.as_before_words(repeated) if repeated else "",
        "of_another": page.round.is_open() and page.round.person not in (None, visit.by),
        "ended": no_longer_words(due.member, visit.on), "leaving": leaving or LeaveOutForm(),
    }  # fmt: skip
    return render(visit.request, "repairs/round_stop.html", context)
