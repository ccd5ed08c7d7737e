"""Pages that enter and change members."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from properties.access import find_building, find_member
from properties.forms.members import MemberForm, NewMemberForm
from properties.marks import next_free_mark
from properties.models import Building, Member
from properties.signed_in import signed_in
from properties.units import units_for

from .form_page import FormPage, answer_form, number_in, sent, show_form, today

if TYPE_CHECKING:
    from django.contrib.auth.models import User

# What the next of several members takes over from the one before it.
ALIKE = [name for name in MemberForm.Meta.fields if name not in {"mark", "notes"}]


@permission_required("properties.add_member", raise_exception=True)
def member_new(
    request: HttpRequest, pk: int, entered: Callable[[Sequence[Member], User], str] | None = None
) -> HttpResponse:
    """`entered` is what else follows when members are entered, told in a sentence."""
    building = find_building(request.user, pk)
    form = NewMemberForm(
        sent(request),
        instance=Member(building=building),
        on=today(building.property),
        units=units_for(request.user, building.property),
        initial=_first_guess(request, building),
    )
    page = FormPage(
        title="A new member",
        lead=f"One piece of timber of {building.name}, by the mark that people read on site. "
        "What is not known stays empty and shows as not recorded.",
        save="Save this member",
        template="properties/member_form.html",
        trail=(building.property, building),
    )
    if request.method != "POST" or not form.is_valid():
        return show_form(request, form, page)
    members = form.members()
    with transaction.atomic():
        for member in members:
            member.save()
        follows = entered(members, signed_in(request)) if entered else ""
    return _after_saving(request, members, follows)


def _first_guess(request: HttpRequest, building: Building) -> dict[str, Any]:
    """What the form begins with: the facts of the member just entered, and the mark after it."""
    like = number_in(request.GET.get("like", ""))
    if like is not None and (before := building.members.filter(pk=like).first()):
        taken = set(building.members.in_place().values_list("mark", flat=True))
        guess = {name: getattr(before, name) for name in ALIKE}
        return {**guess, "mark": next_free_mark(before.mark, taken)}
    return {"elevation": number_in(request.GET.get("elevation", ""))}


def _after_saving(request: HttpRequest, members: list[Member], follows: str) -> HttpResponse:
    first, last = members[0], members[-1]
    saved = f"{first.mark} is saved."
    if len(members) > 1:
        saved = f"{len(members)} members are saved: {first.mark} to {last.mark}."
    messages.success(request, f"{saved} {follows}".rstrip())
    if "next" in request.POST:
        there = reverse("member-new", args=[last.building_id])
        return redirect(f"{there}?like={last.pk}")
    return redirect(first if len(members) == 1 else first.building)


@permission_required("properties.change_member", raise_exception=True)
def member_edit(request: HttpRequest, pk: int) -> HttpResponse:
    member = find_member(request.user, pk)
    building = member.building
    page = FormPage(
        title=f"Change {member.mark}",
        lead=f"What is known of this member of {building.name}. If another piece of timber took "
        "its place, replace it and keep its history.",
        save="Save this member",
        template="properties/member_form.html",
        trail=(building.property, building, copy(member)),
    )
    form = MemberForm(
        sent(request),
        instance=member,
        on=today(building.property),
        units=units_for(request.user, building.property),
    )
    return answer_form(request, form, page, form.save)
