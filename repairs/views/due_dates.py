"""Due dates: one date with why it stands there, and what a person may change about it."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from properties.access import find_member
from properties.signed_in import signed_in
from repairs.access import find_due_date
from repairs.due import schedule
from repairs.due.end_uses import EN_927_STATUS
from repairs.due.facts_for import KnownOf
from repairs.due.held import hold_members
from repairs.due.pace import coming_days, pace_for
from repairs.due.repaint_by_ratings import NoEstimate, RepaintEstimate, estimate_or_why
from repairs.due.words import due_words, is_look, state_of, window_words
from repairs.forms.due_dates import CallOffForm, MoveForm, NewDateForm
from repairs.models import DueDate
from repairs.models.due_dates import DueKind
from repairs.rounds.whose import who_looks_at
from repairs.stories.due_why import why_of
from repairs.views.sent_whole import sent_whole


@require_safe
@permission_required("repairs.view_duedate", raise_exception=True)
def due_detail(request: HttpRequest, pk: int) -> HttpResponse:
    due = find_due_date(request.user, pk)
    on = due.member.building.property.day_of(timezone.now())
    sign, words = state_of(due, on)
    known = KnownOf(due.member)
    context = {
        "due": due, "sign": sign, "words": words, "lead": due_words(due, on),
        "who": who_looks_at(due),
        "is_look": is_look(due), "window": window_words(due), "why": why_of(due, known),
        "end_use_status": EN_927_STATUS,
        "to_come": due.is_outstanding() and due.member.is_looked_after(on),
        "coming": coming_days(due, on=on, known=known)[1:] if due.is_outstanding() else [],
        "looks": due.inspections.select_related("looked_by"),
        "by_ratings": _by_ratings(due, known),
    }  # fmt: skip
    return render(request, "repairs/due_detail.html", context)


def _by_ratings(due: DueDate, known: KnownOf) -> RepaintEstimate | NoEstimate | None:
    """When paint is likely to be needed, beside the date whoever set it."""
    if due.kind != DueKind.REPAINT or not due.is_outstanding():
        return None
    return estimate_or_why(due.member, pace_for(due.member, due.kind, due.repair, known))


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.change_duedate", raise_exception=True)
@sent_whole
def due_edit(request: HttpRequest, pk: int) -> HttpResponse:
    due = find_due_date(request.user, pk)
    if request.method == "POST":
        hold_members([due.member_id])
        # Somebody may have looked meanwhile.
        due.refresh_from_db(fields=["due_on", "person", "done_on", "cancelled_on"])
    if not due.is_outstanding():
        messages.warning(request, "This date is done or called off; it is not changed any more.")
        return redirect(due)
    on = due.member.building.property.day_of(timezone.now())
    off = request.POST.get("act") == "call-off"
    move = MoveForm(None if off else request.POST or None, due=due, today=on)
    call_off = CallOffForm(request.POST if off else None)
    if off and call_off.is_valid():
        due.call_off(on, call_off.cleaned_data["off_reason"])
        messages.success(request, "Called off. The reason is kept with the date.")
        return redirect(due)
    if not off and move.is_valid():
        _move(request, due, move)
        return redirect(due)
    context = {"due": due, "move": move, "call_off": call_off}
    return render(request, "repairs/due_edit.html", context)


def _move(request: HttpRequest, due: DueDate, form: MoveForm) -> None:
    typed = form.cleaned_data
    if typed["due_on"] != due.due_on:
        because = schedule.person_words(signed_in(request), typed["reason"])
        due.move(typed["due_on"], because, DueDate.SetBy.PERSON)
    if typed["person"] != due.person:
        due.person = typed["person"]
        due.save(update_fields=["person"])
    messages.success(request, f"Saved: {due.get_kind_display()}, {due.due_on:%-d %B %Y}.")


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.add_duedate", raise_exception=True)
def due_new(request: HttpRequest, pk: int) -> HttpResponse:
    member = find_member(request.user, pk)
    on = member.building.property.day_of(timezone.now())
    form = NewDateForm(request.POST or None, member=member, today=on)
    if form.is_valid():
        typed = form.cleaned_data
        look = schedule.NextLook(typed["due_on"], typed["reason"])
        due = schedule.set_by_person(
            member, typed["kind"], look, signed_in(request), typed["comes_back"],
            person=typed["person"], repair=typed["repair"],
        )  # fmt: skip
        messages.success(request, f"Set: {due.get_kind_display()}, {due.due_on:%-d %B %Y}.")
        return redirect(due)
    return render(request, "repairs/due_new.html", {"form": form, "member": member})
