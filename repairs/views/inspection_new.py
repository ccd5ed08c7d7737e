"""Recording one look, on one page."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from config.quantities import UnitSystem
from properties.access import find_member, properties_for
from properties.models import Member
from properties.signed_in import signed_in
from properties.units import units_for
from repairs.access import find_due_date, find_repair
from repairs.forms.inspections import InspectionForm
from repairs.logbook import drafts
from repairs.looks.entry import inspection_entry
from repairs.looks.page import no_longer_words
from repairs.looks.photographs import held_photographs, hold_photographs, tend_held
from repairs.looks.ratings import SIZES
from repairs.looks.record import AlreadyRecorded, record_inspection, recorded_look
from repairs.looks.subject import LookSubject
from repairs.looks.words import as_last_time, last_words, next_lines, result_message, typed_verdict
from repairs.models import Inspection


def find_subject(request: HttpRequest) -> LookSubject | None:
    """By `?due=`, `?repair=` or `?member=`; None when the address names none of them."""
    for name, find in (("due", _of_due), ("repair", _of_repair), ("member", _of_member)):
        if (text := request.GET.get(name, "")).isdecimal():
            return find(request, int(text[:18]))
    return None


def _of_due(request: HttpRequest, pk: int) -> LookSubject:
    due = find_due_date(request.user, pk)
    return LookSubject(due.member, due.repair, due)


def _of_repair(request: HttpRequest, pk: int) -> LookSubject:
    repair = find_repair(request.user, pk)
    return LookSubject(repair.member, repair)


def _of_member(request: HttpRequest, pk: int) -> LookSubject:
    return LookSubject(find_member(request.user, pk))


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.add_inspection", raise_exception=True)
def inspection_new(request: HttpRequest) -> HttpResponse:
    subject = find_subject(request)
    if subject is None:
        return _choose_member(request)
    at = timezone.now()
    on = subject.member.building.property.day_of(at)
    if request.method != "POST":
        return _page(request, subject, _blank(request, subject, on), on)
    form = _form(request, subject, on, data=request.POST, files=request.FILES)
    key = drafts.read_key(request.POST.get("key", ""))
    if key is None:
        return _page(request, subject, form, on)
    if earlier := Inspection.objects.filter(submission=key, entered_by=signed_in(request)).first():
        return redirect(earlier)
    return _save(request, subject, form, key, at)


def _save(
    request: HttpRequest, subject: LookSubject, form: InspectionForm, key: UUID, at: datetime
) -> HttpResponse:
    by, on = signed_in(request), form.today
    valid = form.is_valid()
    for error in hold_photographs(request, by, key, form.cleaned_data.get("caption", "")):
        form.add_error("photographs", error)
        valid = False
    tend_held(request, by, key)
    if not valid:
        return _page(request, subject, form, on)
    try:
        extra = bool(request.POST.get("keep_as_extra"))
        held = held_photographs(by, key)
        entry = inspection_entry(form, held, at, extra=extra)
        inspection = record_inspection(entry, by, on)
    except AlreadyRecorded as already:
        return _page(request, subject, form, on, already=already.inspection)
    if draft := drafts.find_draft(by, key):
        draft.delete()
    messages.success(request, result_message(inspection, on))
    return redirect(inspection)


def _form(request: HttpRequest, subject: LookSubject, on: date, **kwargs: Any) -> InspectionForm:
    system: UnitSystem = units_for(request.user, subject.member.building.property)
    form = InspectionForm(subject=subject, today=on, system=system, **kwargs)
    last_words(form, subject.last_look())
    return form


def _blank(request: HttpRequest, subject: LookSubject, on: date) -> InspectionForm:
    offered = subject.offered(on)
    repair = subject.repair
    after = Inspection.Occasion.AFTER_REPAIR if repair else Inspection.Occasion.ROUTINE
    initial = {
        "key": uuid4(), "looked_on": on, "looked_by": signed_in(request).pk, "due": offered,
        "occasion": after, "zone": repair.zone if repair else "whole",
        "defect_kind": "failed_repair" if repair else "",
    }  # fmt: skip
    last = subject.last_look()
    if last is not None and request.GET.get("as_last"):
        initial |= as_last_time(last)
    return _form(request, subject, on, initial=initial)


def _page(
    request: HttpRequest,
    subject: LookSubject,
    form: InspectionForm,
    on: date,
    already: Inspection | None = None,
) -> HttpResponse:
    if already is None and subject.asked is not None and not form.is_bound:
        already = recorded_look(subject.asked)
    key = drafts.read_key(str(form["key"].value()))
    offered = subject.offered(on)
    last = subject.last_look()
    fresh = not form.is_bound and "as_last" not in request.GET
    repeats = fresh and last is not None and bool(as_last_time(last))
    context = {
        "as_last_url": f"?{request.GET.urlencode()}&as_last=1" if repeats else "",
        "subject": subject, "member": subject.member, "form": form, "already": already,
        "offered": offered, "next_lines": next_lines(offered, on) if offered else [],
        "held": held_photographs(signed_in(request), key) if key else [],
        "last": last, "verdict": typed_verdict(form) if form.is_bound else None,
        "sizes": (sizes := [form[name] for name in SIZES]),
        "sizes_open": any(field.value() or field.errors for field in sizes),
        "ended": no_longer_words(subject.member, on),
    }  # fmt: skip
    return render(request, "repairs/inspection_new.html", context)


def _choose_member(request: HttpRequest) -> HttpResponse:
    text = request.GET.get("q", "").replace("\0", "").strip()[:100]
    found = Member.objects.within(properties_for(request.user)).in_place().with_place()
    members = found.matching(text).order_by("mark")[:30] if text else []
    return render(request, "repairs/inspection_choose.html", {"q": text, "members": members})
