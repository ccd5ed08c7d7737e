"""All that happened to a member, newest first, as entries of a timeline."""

from __future__ import annotations

from collections.abc import Iterator

from repairs.models import DueDate, Inspection, Repair
from repairs.stories.member_page import MemberRecords
from repairs.stories.timeline import Dated

REPAIR_SHAPES = {
    Repair.State.IN_WORK: "running",
    Repair.State.FINISHED: "done",
    Repair.State.FAILED: "redo",
}
RESULT_SHAPES = {
    Inspection.Result.SOUND: "sound",
    Inspection.Result.WATCH: "watch",
    Inspection.Result.REDO: "redo",
    Inspection.Result.NOT_REACHED: "unknown",
}


def story_of(records: MemberRecords) -> list[Dated]:
    events = [
        *_its_own(records),
        *_defects(records),
        *_readings(records),
        *_repairs(records),
        *_inspections(records),
        *_called_off(records),
    ]
    return sorted(events, key=lambda event: event.when, reverse=True)


def _its_own(records: MemberRecords) -> Iterator[Dated]:
    member = records.member
    after = getattr(member, "superseded_by", None)
    if member.removed_on:
        yield Dated(
            member.removed_on,
            f"Taken out{f'; {after.mark} took its place' if after else ''}",
            url=after.get_absolute_url() if after else "",
            text=member.removed_reason,
        )
    if member.supersedes and member.supersedes.removed_on:
        yield Dated(
            member.supersedes.removed_on,
            f"Put in, in place of {member.supersedes.mark}",
            url=member.supersedes.get_absolute_url(),
            text=member.supersedes.removed_reason,
        )


def _defects(records: MemberRecords) -> Iterator[Dated]:
    for defect in records.defects:
        yield Dated(
            defect.found_on,
            f"Found: {defect.get_kind_display().lower()}, {defect.get_zone_display().lower()}",
            url=defect.get_absolute_url(),
            text=f"Cause: {defect.get_cause_display().lower()}, "
            f"{defect.get_cause_state_display().lower()}",
            who=defect.found_by,
            state="open" if defect.is_outstanding() else "done",
            state_word=defect.get_state_display(),
        )


def _readings(records: MemberRecords) -> Iterator[Dated]:
    for reading in records.readings:
        yield Dated(
            records.day(reading.taken_at),
            f"Moisture {reading.judged().shown}, {reading.get_zone_display().lower()}",
            text=reading.note,
            who=reading.taken_by,
        )


def _repairs(records: MemberRecords) -> Iterator[Dated]:
    for repair in records.repairs:
        temporary = ", temporary" if repair.temporary else ""
        yield Dated(
            records.day(repair.began_at),
            f"{repair.get_kind_display()}, {repair.get_zone_display().lower()}{temporary}",
            url=repair.get_absolute_url(),
            text=repair.get_relation_display() if repair.follows_id else "",
            who=repair.done_by,
            state=REPAIR_SHAPES.get(repair.state, "unknown"),  # type: ignore[call-overload]
            state_word=repair.get_state_display(),
        )


def _inspections(records: MemberRecords) -> Iterator[Dated]:
    for look in records.inspections:
        yield Dated(
            look.looked_on,
            f"Inspected, {look.get_zone_display().lower()}",
            url=look.get_absolute_url(),
            text=look.notes[:300],
            who=look.looked_by_name or (look.looked_by.get_full_name() if look.looked_by else ""),
            state=RESULT_SHAPES.get(look.result, "unknown"),  # type: ignore[call-overload]
            state_word=look.get_result_display(),
        )


def _called_off(records: MemberRecords) -> Iterator[Dated]:
    for due in records.due_dates:
        if due.cancelled_on:
            yield Dated(
                due.cancelled_on,
                f"Called off: {_what(due)}, due {due.due_on:%-d %B %Y}",
                url=due.get_absolute_url(),
                text=due.cancelled_reason,
                state="cancelled",
                state_word="Called off",
            )


def _what(due: DueDate) -> str:
    return due.get_kind_display().lower()
