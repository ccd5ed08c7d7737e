"""What was open at the end of a telling: the part of a history that a buyer reads first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from properties.models import Member
from repairs.models import Repair

from .rows import Rows
from .scope import Scope
from .telling import is_outstanding


@dataclass(frozen=True)
class OpenMatter:
    kind: str
    member: str
    since: date | None
    words: str


def open_matters(scope: Scope, rows: Rows) -> Iterator[OpenMatter]:
    for member in rows.members:
        yield from _defects(member, scope, rows)
    for member in rows.members:
        yield from _dates(member, scope, rows)
    for member in rows.members:
        for repair in rows.repairs.get(member.pk, []):
            yield from _repair(member, repair, scope, rows)
    yield from _lots(rows)


def _defects(member: Member, scope: Scope, rows: Rows) -> Iterator[OpenMatter]:
    for defect in rows.defects.get(member.pk, []):
        if not is_outstanding(defect, scope):
            continue
        cause, put_right = defect.get_cause_display(), defect.get_cause_state_display()
        words = [
            f"{defect.get_kind_display()}, {defect.get_zone_display().lower()}",
            f"cause: {cause.lower()}, {put_right.lower()}",
        ]
        if defect.urgency:
            words.append(defect.get_urgency_display())
        yield OpenMatter("Outstanding defect", member.mark, defect.found_on, "; ".join(words))


def _dates(member: Member, scope: Scope, rows: Rows) -> Iterator[OpenMatter]:
    for due in rows.due.get(member.pk, []):
        if due.due_on >= scope.as_at:
            continue
        late = (scope.as_at - due.due_on).days
        days = "day" if late == 1 else "days"
        yield OpenMatter(
            "Overdue", member.mark, due.due_on, f"{due.get_kind_display()}, {late} {days} late"
        )


def _repair(member: Member, repair: Repair, scope: Scope, rows: Rows) -> Iterator[OpenMatter]:
    began = repair.began_at.astimezone(scope.zone).date()
    for remark in rows.remarks.get(repair.pk, []):
        if remark.holds and not scope.is_over(remark.released_on):
            words = f"{remark.found}. Reason given: {remark.reason or 'none'}"
            yield OpenMatter("Remark waiting for a person’s word", member.mark, began, words)
    failed = scope.is_over(repair.failed_on)
    followed = any(
        later.follows_id == repair.pk for later in rows.repairs.get(member.pk, [])
    )  # fmt: skip
    if repair.temporary and not followed and not failed:
        yield OpenMatter("Temporary repair", member.mark, began, "To be made lasting")
    if not failed and repair.state == Repair.State.IN_WORK and scope.last is None:
        yield OpenMatter("Repair in work", member.mark, began, repair.get_kind_display())


def _lots(rows: Rows) -> Iterator[OpenMatter]:
    """Lots that went here and of which more was recorded as used than ever came in."""
    found = {}
    for batches in rows.batches.values():
        for batch in batches:
            for part in batch.parts.all():
                if part.lot.count_needed():
                    found[part.lot.pk] = part.lot
    for lot in sorted(found.values(), key=lambda lot: (lot.number, lot.pk)):
        words = f"{lot.product}, lot {lot.number}: more recorded as used than received"
        yield OpenMatter("Lot: count needed", "", None, words)
