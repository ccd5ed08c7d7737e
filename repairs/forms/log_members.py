"""Choosing the member: by mark, with search; the lately worked ones are offered first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from properties.access import properties_for
from properties.models import Member
from repairs.models import Repair

if TYPE_CHECKING:
    from django.contrib.auth.models import User

MOST_HITS = 20
MOST_LATELY = 6
LATELY = 30
LONGEST_SEARCH = 80


def members_matching(user: User, text: str) -> list[Member]:
    members = Member.objects.within(properties_for(user)).standing().with_place()
    found = members.matching(text[:LONGEST_SEARCH].replace("\x00", ""))
    return list(found.order_by("mark", "building__name", "pk")[:MOST_HITS])


def members_lately(user: User) -> list[Member]:
    """The members of the person's latest repairs, the latest first."""
    repairs = Repair.objects.filter(entered_by=user).order_by("-entered_at", "-pk")
    numbers = list(dict.fromkeys(repairs.values_list("member_id", flat=True)[:LATELY]))
    members = Member.objects.within(properties_for(user)).standing().with_place()
    found = {member.pk: member for member in members.filter(pk__in=numbers[:MOST_LATELY])}
    return [found[number] for number in numbers if number in found]
