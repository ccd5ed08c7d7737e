"""The first look at members just entered: what is recorded sets its own next date."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from django.utils import timezone

from properties.models import Member
from repairs.due.bulk import dates_anew
from repairs.due.bulk_write import write
from repairs.models import DueDate

if TYPE_CHECKING:
    from django.contrib.auth.models import User


def set_first_looks(members: Sequence[Member], by: User) -> str:
    """Set by the rules when each is first looked at, and say so; empty where no rule fits."""
    numbers = [member.pk for member in members]
    on = members[0].building.property.day_of(timezone.now())
    write(dates_anew(Member.objects.filter(pk__in=numbers), on), by)
    planned = DueDate.objects.outstanding().looks().filter(member__in=numbers)
    first = planned.order_by("due_on").first()
    if first is None:
        return ""
    of = "Its first look" if len(numbers) == 1 else "Their first look"
    return f"{of} is due on {first.due_on:%-d %B %Y}."
