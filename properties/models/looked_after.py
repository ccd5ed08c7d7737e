"""Until when something is looked after, asked in one way wherever it is reached from."""

from __future__ import annotations

from datetime import date

from django.db.models import Q


def not_ended(on: date, *ends: str) -> Q:
    """Where none of these days has come yet: what ends on a day is gone on that day."""
    still = Q()
    for end in ends:
        still &= Q(**{f"{end}__isnull": True}) | Q(**{f"{end}__gt": on})
    return still


def of_looked_after_members(on: date, member: str = "") -> Q:
    """What leads to a member by `member`, such as 'member__': the member is in place, on a
    building still standing, at a property not given up. The twin of `Member.is_looked_after`."""
    ends = ("removed_on", "building__demolished_on", "building__property__given_up_on")
    return not_ended(on, *(f"{member}{end}" for end in ends))
