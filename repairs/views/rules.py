"""The rule set: how often to look and repaint, for all members or for one."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from properties.access import find_member, properties_for
from properties.models import Member
from properties.signed_in import signed_in
from repairs.due import rule_order, schedule
from repairs.due.held import hold_members
from repairs.due.pace import paces_for
from repairs.due.rule_example import example_words
from repairs.due.rule_members import members_reached
from repairs.due.rule_words import rule_lines
from repairs.forms.due_dates import IntervalForm
from repairs.forms.due_rules import RuleForm
from repairs.models import DueRule, MemberInterval
from repairs.models.due_dates import DueKind
from repairs.views.sent_whole import sent_whole


@require_safe
@permission_required("repairs.view_duerule", raise_exception=True)
def rule_list(request: HttpRequest) -> HttpResponse:
    rules = list(DueRule.objects.all())
    seen = Member.objects.within(properties_for(request.user)).standing()
    reached = members_reached(rules, seen)
    groups = [
        (kind.label, rule_lines([rule for rule in rules if rule.kind == kind], reached))
        for kind in DueKind
    ]
    return render(request, "repairs/rule_list.html", {"groups": groups})


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.change_duerule", raise_exception=True)
@sent_whole
def rule_edit(request: HttpRequest, pk: int) -> HttpResponse:
    if request.method == "POST":
        rule_order.hold_rules()
    rule = get_object_or_404(DueRule, pk=pk)
    form = RuleForm(request.POST or None, instance=rule)
    if form.is_valid():
        saved = form.save()
        messages.success(
            request,
            "Saved. The next dates follow the rule; those already set stand until you set all "
            f"dates anew. {_example(saved)}",
        )
        return redirect("rule-list")
    context = {
        "form": form, "rule": get_object_or_404(DueRule, pk=pk), "example": _example_of(form),
    }  # fmt: skip
    return render(request, "repairs/rule_edit.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.add_duerule", raise_exception=True)
@sent_whole
def rule_new(request: HttpRequest) -> HttpResponse:
    if request.method == "POST":  # sent twice at once, the second sees the rule of the first
        rule_order.hold_rules()
    form = RuleForm(request.POST or None)
    if form.is_valid():
        rule = form.save()
        words = (
            "Saved, at the top of its kind: it holds wherever it fits. The next dates follow it; "
            "those already set stand until you set all dates anew."
        )
        messages.success(request, f"{words} {_example(rule)}")
        return redirect(f"{reverse('rule-list')}#rule-{rule.pk}")
    context = {"form": form, "rule": None, "example": _example_of(form)}
    return render(request, "repairs/rule_edit.html", context)


@permission_required("repairs.change_duerule", raise_exception=True)
@require_POST
def rule_move(request: HttpRequest, pk: int) -> HttpResponse:
    """One place up or down among the rules of its kind."""
    rule = get_object_or_404(DueRule, pk=pk)
    to = request.POST.get("to")
    if to in {"up", "down"}:
        moved = rule_order.move(rule, up=to == "up")
        end = "first" if to == "up" else "last"
        where = f"stands one place further {to}" if moved else f"stands {end} already"
        messages.success(request, f"“{rule.words}” {where}.")
    return redirect(f"{reverse('rule-list')}#rule-{pk}")


def _example(rule: DueRule) -> str:
    return example_words(rule, timezone.localdate())


def _example_of(form: RuleForm) -> str:
    """Of a rule that is there, or of one typed whose steps and days could be read."""
    if not form.is_bound:
        return _example(form.instance) if form.instance.pk else ""
    said_wrong = {"kind", "first_months", "then_months", "fixed_days", "seasons", "window_days"}
    return "" if said_wrong & set(form.errors) else _example(form.instance)


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("repairs.change_memberinterval", raise_exception=True)
@sent_whole
def member_interval(request: HttpRequest, pk: int) -> HttpResponse:
    member = find_member(request.user, pk)
    if request.method == "POST":
        hold_members([pk])
    if kind := request.POST.get("go-back"):
        return _go_back(request, member, kind)
    mine = MemberInterval(member=member)
    kind = request.POST.get("kind", "")
    own = member.intervals.filter(kind=kind).first() if kind in DueKind.values else None
    form = IntervalForm(request.POST or None, instance=own or mine)
    if form.is_valid():
        interval = form.save()
        _told(request, member, interval.kind, "Saved.")
        return redirect("member-interval", pk)
    on = member.building.property.day_of(timezone.now())
    context = {
        "member": member, "form": form, "looked_after": member.is_looked_after(on),
        "paces": paces_for(member).items(),
    }  # fmt: skip
    return render(request, "repairs/rule_member.html", context)


def _go_back(request: HttpRequest, member: Member, kind: str) -> HttpResponse:
    """Drop the member's own interval: the rule set holds again."""
    own = member.intervals.filter(kind=kind).first() if kind in DueKind.values else None
    if own is not None:
        own.delete()
        _told(request, member, kind, "The rule set holds again.")
    return redirect("member-interval", member.pk)


def _told(request: HttpRequest, member: Member, kind: str, words: str) -> None:
    moved = schedule.pace_changed(member, kind, signed_in(request))
    days = ", ".join(f"{due.due_on:%-d %B %Y}" for due in moved)
    messages.success(request, f"{words} Moved to {days}." if days else words)
