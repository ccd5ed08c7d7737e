"""Rows held until a transaction ends, always in one order, so that nobody waits for ever."""

from __future__ import annotations

from collections.abc import Iterable

from properties.models import Member


def hold_members(numbers: Iterable[int]) -> None:
    """Whoever sets, moves or answers dates holds their members first, the lowest number first: of
    two who change the dates of one member the second waits, and sees what the first has done."""
    members = Member.objects.select_for_update().filter(pk__in=set(numbers))
    list(members.order_by("pk").values_list("pk"))
