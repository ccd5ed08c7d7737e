"""Recording one look: the inspection, its moisture reading, the defect that 'redo' opens, its
photographs, and what follows in the schedule, in one transaction."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.db import transaction

from properties.models import Defect, MoistureReading
from repairs.due.after_look import after_inspection
from repairs.due.held import hold_members
from repairs.due.schedule import NextLook
from repairs.due.worked_on import worked_on
from repairs.models import DueDate, Inspection, Photograph, Repair

if TYPE_CHECKING:
    from django.contrib.auth.models import User

Result = Inspection.Result


class AlreadyRecorded(Exception):
    """Somebody has answered this due date; `inspection` is their look."""

    def __init__(self, inspection: Inspection) -> None:
        super().__init__(str(inspection))
        self.inspection = inspection


@dataclass(frozen=True)
class InspectionEntry:
    """One look, cleaned and not yet saved: unsaved rows that belong together."""

    inspection: Inspection
    moisture: MoistureReading | None = None
    defect: Defect | None = None
    photographs: tuple[Photograph, ...] = ()
    next_look: NextLook | None = None


def recorded_look(due: DueDate) -> Inspection | None:
    """The look that answered a due date, if one did."""
    looks = due.inspections.exclude(result=Result.NOT_REACHED)
    return looks.select_related("looked_by").first()


@transaction.atomic
def record_inspection(entry: InspectionEntry, by: User, on: date) -> Inspection:
    inspection = entry.inspection
    hold_members([inspection.member_id])
    earlier = Inspection.objects.filter(submission=inspection.submission).first()
    if earlier is not None:
        return earlier
    if inspection.due is not None:
        inspection.due = _claimed(inspection.due)
    _refuse_before_the_repair(inspection)
    inspection.entered_by = by
    if entry.defect is not None:
        entry.defect.recorded_by = by
        entry.defect.save()
        inspection.opened_defect = entry.defect
    inspection.full_clean()
    inspection.save()
    _keep_beside(entry, by)
    if inspection.result == Result.REDO:
        fail_repair(inspection)
    after_inspection(inspection, by, on, next_look=entry.next_look)
    return inspection


def _refuse_before_the_repair(inspection: Inspection) -> None:
    """Whoever records it, by whatever page: a repair is not looked at before it is made. A look
    that answers a date of a repair is a look at that repair."""
    due, repair = inspection.due, inspection.repair
    if repair is None and due is not None:
        repair = due.repair
    if repair is not None and inspection.looked_on < worked_on(repair):
        made = f"{worked_on(repair):%-d %B %Y}"
        raise ValidationError(
            {"looked_on": f"The repair was made on {made}; a look at it cannot be earlier."},
            code="before-the-repair",
        )


def _claimed(due: DueDate) -> DueDate | None:
    """Hold the date's row, so that of two people saving at once the second is told. A look at
    what was called off meanwhile is kept as an extra one."""
    held = DueDate.objects.select_for_update().get(pk=due.pk)
    look = recorded_look(held)
    if look is not None:
        raise AlreadyRecorded(look)
    return None if held.cancelled_on is not None else due


def _keep_beside(entry: InspectionEntry, by: User) -> None:
    inspection = entry.inspection
    if entry.moisture is not None:
        entry.moisture.recorded_by = by
        entry.moisture.save()
        inspection.moisture.add(entry.moisture)
    for photograph in entry.photographs:
        photograph.inspection = inspection
        photograph.member = inspection.member
        photograph.entered_by = by
        photograph.save()


def fail_repair(inspection: Inspection) -> None:
    """'Redo' says that the repair looked at has failed, on the day of the look; where only
    the coating has, the repair below still stands."""
    repair = inspection.repair
    defect = inspection.opened_defect
    coating_only = defect is not None and defect.kind == Defect.Kind.FAILED_COATING
    if repair is None or coating_only or repair.state == Repair.State.FAILED:
        return
    repair.state = Repair.State.FAILED
    repair.failed_on = inspection.looked_on
    repair.save(update_fields=["state", "failed_on"])
