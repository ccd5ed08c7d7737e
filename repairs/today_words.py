"""The rows of Today as lines to read: a name to click, a place, a state and a few words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from materials.models import Lot
from properties.models import Defect, Member
from repairs.models import Draft, DueDate, KeptRemark, Stage
from repairs.schedule_words import in_days, state_of
from repairs.today_page import LOT_DAYS, Today, ready_words

URGENCY_SIGNS = {"UC3": "overdue", "UC2": "due", "UC1": "planned", "UC0": "planned"}


@dataclass(frozen=True)
class Line:
    name: str
    url: str
    where: str
    what: str
    sign: str
    state: str


@dataclass(frozen=True)
class Lines:
    curing: list[Line]
    ready: list[Line]
    overdue: list[Line]
    coming: list[Line]
    lots: list[Line]
    defects: list[Line]
    drafts: list[Line]
    remarks: list[Line]


def today_rows(page: Today, on: date) -> Lines:
    return Lines(
        curing=[_cure(stage, "curing") for stage in page.curing.rows],
        ready=[_cure(stage, "ready") for stage in page.ready.rows],
        overdue=_due_lines(page.overdue.rows, on),
        coming=_due_lines(page.coming.rows, on),
        lots=[_lot(lot, on) for lot in page.lots.rows],
        defects=[_defect(defect) for defect in page.defects.rows],
        drafts=[_draft(draft) for draft in page.drafts.rows],
        remarks=[_remark(remark) for remark in page.remarks.rows],
    )


def place_of(member: Member) -> str:
    return f"{member.building.name}, {member.building.property.name}"


def _cure(stage: Stage, sign: str) -> Line:
    repair = stage.repair
    what = f"{stage.get_kind_display()}, {repair.get_zone_display().lower()}"
    state = f"Ready {'at' if sign == 'curing' else 'since'} {ready_words(stage)}"
    return Line(
        repair.member.mark, repair.get_absolute_url(), place_of(repair.member), what, sign, state
    )


def _due_lines(dates: Iterable[DueDate], on: date) -> list[Line]:
    return [_due(due, on) for due in dates]


def _due(due: DueDate, on: date) -> Line:
    sign, state = state_of(due, on)
    who = due.person.get_full_name() or due.person.get_username() if due.person else ""
    what = f"{due.get_kind_display()}, {due.due_on:%-d %B %Y}"
    return Line(
        due.member.mark, due.get_absolute_url(), place_of(due.member),
        f"{what}, {who}" if who else what, sign, state,
    )  # fmt: skip


def _lot(lot: Lot, on: date) -> Line:
    sign, state = lot_state(lot, on)
    amount = f"{abs(lot.remaining()).normalize():,f} {lot.unit}"
    left = f"{amount} left" if lot.remaining() >= 0 else f"{amount} more used than it held"
    where = lot.kept_at or "Place not recorded"
    name = f"{lot.product}, {lot.get_part_display()}, lot {lot.number}"
    return Line(name, lot.get_absolute_url(), where, left, sign, state)


def lot_state(lot: Lot, on: date) -> tuple[str, str]:
    """The most pressing of a lot's states."""
    if lot.count_needed():
        return "count", "Count needed"
    days = (lot.usable_until - on).days if lot.usable_until else LOT_DAYS + 1
    if days < 0:
        return "expired", f"Expired {in_days(-days)} ago"
    if days <= LOT_DAYS:
        return "due", f"Expires in {in_days(days)}" if days else "Last usable day today"
    return "low", "Runs low"


def _defect(defect: Defect) -> Line:
    sign = URGENCY_SIGNS.get(defect.urgency, "unknown")
    state = defect.get_urgency_display() if defect.urgency else "Urgency not recorded"
    what = f"{defect.get_kind_display()}, {defect.get_zone_display().lower()}"
    found = f"{what}, found {defect.found_on:%-d %B %Y}"
    return Line(
        defect.member.mark, defect.get_absolute_url(), place_of(defect.member), found, sign, state
    )


def _draft(draft: Draft) -> Line:
    name = draft.member.mark if draft.member else "No member chosen yet"
    where = str(draft.member.building.name) if draft.member else ""
    what = f"Kept {draft.changed_at:%-d %B %Y}"
    return Line(name, draft.get_absolute_url(), where, what, "draft", "Draft")


def _remark(remark: KeptRemark) -> Line:
    repair = remark.repair
    what = f"{remark.found}; {remark.limit}" if remark.limit else remark.found
    if remark.stage:
        what = f"{remark.stage.get_kind_display()}: {what}"
    return Line(
        repair.member.mark, repair.get_absolute_url(), place_of(repair.member), what,
        "held", "Waits for a person's word",
    )  # fmt: skip
