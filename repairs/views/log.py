"""The log page: one page, one form, made for just after finishing."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from properties.access import find_defect
from properties.signed_in import signed_in
from repairs.access import find_plan, find_repair
from repairs.forms import log_acts, log_photographs
from repairs.forms.log_entry import Placed, assemble
from repairs.forms.log_known import LONGEST_NUMBER, Known
from repairs.forms.log_members import members_lately, members_matching
from repairs.forms.log_page import LogPage
from repairs.forms.log_plan import from_plan
from repairs.forms.log_remarks import reasons_in, show_remarks
from repairs.forms.log_typed import as_sent, fresh, going_on
from repairs.logbook import drafts
from repairs.logbook.log import ReasonsNeeded, Refused, judge, log_repair
from repairs.models import Draft, Plan, Repair
from repairs.plans.keep import CLOSED
from repairs.plans.prepare import prepare
from repairs.plans.rows import PlanRows

if TYPE_CHECKING:
    from django.contrib.auth.models import User

may_log = permission_required("repairs.add_repair", raise_exception=True)


@may_log
def repair_log(request: HttpRequest) -> HttpResponse:
    user, at = signed_in(request), timezone.now()
    if request.method == "POST":
        return _sent(request, user, at)
    if "draft" in request.GET:
        return _show(request, _draft_opened(user, at, request.GET["draft"]))
    plan = request.GET.get("plan", "")
    if plan.isdecimal() and len(plan) <= LONGEST_NUMBER:
        return _planned(request, user, at, find_plan(user, int(plan)))
    number = request.GET.get("repair", "")
    if number.isdecimal() and len(number) <= LONGEST_NUMBER:
        repair = find_repair(user, int(number))
        if repair.state == Repair.State.IN_WORK:
            return _show(request, _going_on(user, at, repair))
        state = repair.get_state_display().lower()
        messages.error(request, f"This repair is {state}: stages are added to one in work.")
        return redirect(repair)
    return _show(request, _opened(request, user, at))


def _draft_opened(user: User, at: datetime, text: str) -> LogPage:
    key = drafts.read_key(text)
    draft = drafts.find_draft(user, key) if key else None
    if draft is None:
        raise Http404("There is no such draft of yours.")
    typed = drafts.typed_in(draft)
    return LogPage(typed, _known(user, at, typed), draft=draft)


def _known(user: User, at: datetime, typed: QueryDict) -> Known:
    numbers = (typed.get(name, "") for name in ("member", "continues", "plan"))
    return Known(user, at, *numbers)


def _going_on(user: User, at: datetime, repair: Repair) -> LogPage:
    zone = repair.member.building.property.zone
    typed = going_on(at.astimezone(zone), _name(user), repair)
    known = _known(user, at, typed)
    log_acts.offer_last_rate(typed, known)
    return LogPage(typed, known)


def _planned(request: HttpRequest, user: User, at: datetime, plan: Plan) -> HttpResponse:
    if not plan.is_still_planned():
        messages.error(request, CLOSED[Plan.State(plan.state)])
        return redirect(plan.repair or plan)
    prepared = prepare(PlanRows.of(plan), at)
    known = Known(user, at, str(plan.defect.member_id), plan_number=str(plan.pk))
    typed = from_plan(plan, prepared, known, _name(user))
    return _show(request, LogPage(typed, known))


def _name(user: User) -> str:
    return user.get_full_name() or user.get_username()


def _opened(request: HttpRequest, user: User, at: datetime) -> LogPage:
    """A fresh page, or one with its member or defect chosen by the address."""
    defect, member = request.GET.get("defect", ""), request.GET.get("member", "")
    if defect.isdecimal():
        member = str(find_defect(user, int(defect)).member_id)
    known = Known(user, at, member)
    if member and known.member is None:
        raise Http404("There is no such member in your records.")
    typed = fresh(at, _name(user))
    log_acts.take(typed, known, defect)
    return LogPage(typed, known)


def _sent(request: HttpRequest, user: User, at: datetime) -> HttpResponse:
    typed = as_sent(request.POST)
    key = drafts.read_key(typed.get("key", ""))
    if key is None:
        raise Http404("This form has lost its key. Open the page again.")
    if earlier := Repair.objects.filter(submission=key, entered_by=user).first():
        messages.info(request, "This repair was already saved; it was not saved twice.")
        return redirect(earlier)
    drafts.forget_unkept(user, at)
    draft, wrong = _take_photographs(request, user, key, typed)
    act = log_acts.named_act(typed)
    if act == "take":
        known = Known(user, at, typed.get("take", ""))
        log_acts.take(typed, known)
    else:
        known = _known(user, at, typed)
    if act in ("save", "check"):
        return _save(request, LogPage(typed, known, draft=draft, quiet=False), wrong, act)
    if act == "draft":
        draft = draft or drafts.begin(user, key)
        return _keep(request, LogPage(typed, known, draft=draft), draft, wrong)
    log_acts.change(typed, act)
    if act == "choose-again":
        known = Known(user, at)
    return _show(request, LogPage(typed, known, draft=draft), wrong)


def _take_photographs(
    request: HttpRequest, user: User, key: UUID, typed: QueryDict
) -> tuple[Draft | None, dict[str, list[str]]]:
    """Photographs are held before anything is judged, so that a rejected save loses none."""
    draft = drafts.begin(user, key) if request.FILES else drafts.find_draft(user, key)
    if draft is None:
        return None, {}
    log_photographs.rename(draft, typed)
    return draft, log_photographs.take_in(draft, request.FILES, typed)


def _save(
    request: HttpRequest, page: LogPage, wrong: dict[str, list[str]], act: str
) -> HttpResponse:
    page.photograph_errors = wrong
    placed = assemble(page, page.at, reasons_in(page.typed))
    if page.member is None:
        page.say("Choose the member first.")
    if placed.entry is None or act == "check":
        return _judged(request, page, placed, asked=act == "save")
    try:
        repair = _log(page, placed)
    except (Refused, ReasonsNeeded):
        return _judged(request, page, placed, asked=True)
    except ValidationError as error:
        page.messages.extend(error.messages)
        return _show(request, page)
    messages.success(request, f"Saved: {repair}.")
    return redirect(repair)


def _log(page: LogPage, placed: Placed) -> Repair:
    """Repair and photographs are saved, and the draft is gone, or nothing happened at all."""
    assert placed.entry is not None
    draft = drafts.find_draft(page.user, page.key)
    entry = placed.entry
    if draft is not None:
        zone = entry.member.building.property.zone
        entry = replace(entry, photographs=drafts.photographs_for(draft, zone))
    with transaction.atomic():
        repair = log_repair(entry, page.user, page.at)
        if draft is not None:
            drafts.handed_over(draft)
    return repair


def _judged(request: HttpRequest, page: LogPage, placed: Placed, *, asked: bool) -> HttpResponse:
    if placed.entry is not None:
        remarks = judge(placed.entry, page.at)
        page.waiting = show_remarks(page, placed, remarks, asked=asked)
        page.checked = not page.waiting and not page.wrong()
    return _show(request, page)


def _keep(
    request: HttpRequest, page: LogPage, draft: Draft, wrong: dict[str, list[str]]
) -> HttpResponse:
    drafts.keep(draft, page.typed, page.member)
    if wrong:
        page.kept_without_photograph = True
        return _show(request, page, wrong)
    messages.success(request, "Kept as a draft. Nothing is booked until you save the repair.")
    return redirect(draft)


def _show(
    request: HttpRequest, page: LogPage, wrong: dict[str, list[str]] | None = None
) -> HttpResponse:
    page.photograph_errors = page.photograph_errors or wrong or {}
    text = page.typed.get("find", "")
    context: dict[str, Any] = {"page": page, "find": text, "searched": bool(text)}
    if page.member is None:
        context["hits"] = members_matching(page.user, text) if text else members_lately(page.user)
    return render(request, "repairs/log.html", context)


@may_log
@require_safe
def member_search(request: HttpRequest) -> HttpResponse:
    """Members by mark, for the search as one types."""
    text, user = request.GET.get("find", "").strip(), signed_in(request)
    hits = members_matching(user, text) if text else members_lately(user)
    context = {"hits": hits, "find": text, "searched": bool(text)}
    return render(request, "repairs/_log_hits.html", context)


@may_log
@require_safe
def draft_list(request: HttpRequest) -> HttpResponse:
    kept = drafts.kept_by(signed_in(request))
    return render(request, "repairs/draft_list.html", {"drafts": kept})


@may_log
@require_POST
def draft_throw_away(request: HttpRequest, key: UUID) -> HttpResponse:
    draft = get_object_or_404(Draft, user_id=request.user.pk, key=key)
    with transaction.atomic():
        drafts.throw_away(draft)
    messages.success(request, "The draft is thrown away.")
    return redirect("draft-list")
