"""The act of taking a member out, with or without another in its place."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from properties.models import Defect, Member
from repairs.due import schedule


@transaction.atomic
def take_out(member: Member, on: date, reason: str, successor: Member | None = None) -> None:
    """Close a member and put the unsaved successor, if there is one, in its place.

    Its open due dates are called off and its open defects are superseded; its repairs and its
    costs stay with it, so no total of the elevation or the building moves. Of two people who do
    this at once, the first is right and the second changes nothing."""
    member = Member.objects.select_for_update().get(pk=member.pk)
    if not member.is_in_place():
        return
    member.removed_on, member.removed_reason = on, reason
    member.save(update_fields=["removed_on", "removed_reason"])
    schedule.cancel_for_member(member, f"{member.mark} was taken out: {reason}"[:300], on)
    for defect in member.defects.outstanding():
        defect.state = Defect.State.SUPERSEDED
        defect.closed_on = max(on, defect.found_on)
        defect.save(update_fields=["state", "closed_on"])
    if successor is not None:
        successor.supersedes = member
        successor.save()
