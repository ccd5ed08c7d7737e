"""The rows of Today as lines to read: a name to click, a place, a state and a few words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.urls import reverse
from django.utils import timezone

from materials.models import Lot
from properties.models import Defect, Member
from properties.tables import URGENCY_SIGNS
from repairs.due.words import capital, in_days, state_of
from repairs.models import Draft, DueDate, Repair, Round, Stage
from repairs.rounds.coming import looks_left, where_of
from repairs.stories.today_page import LOT_DAYS, Today, ready_words
from repairs.tables.rounds import round_state


@dataclass(frozen=True)
class Line:
    name: str
    url: str
    where: str
    what: str
    sign: str
    state: str
    do_url: str = ""


@dataclass(frozen=True)
class Lines:
    rounds: list[Line]
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
        rounds=[_round(round, on) for round in page.rounds.rows],
        curing=[_cure(stage, "curing") for stage in page.curing.rows],
        ready=[_cure(stage, "ready") for stage in page.ready.rows],
        overdue=_due_lines(page.overdue.rows, on),
        coming=_due_lines(page.coming.rows, on),
        lots=[_lot(lot, on) for lot in page.lots.rows],
        defects=[_defect(defect) for defect in page.defects.rows],
        drafts=[_draft(draft) for draft in page.drafts.rows],
        remarks=[_waiting(repair) for repair in page.remarks.rows],
    )


def place_of(member: Member) -> str:
    return f"{member.building.name}, {member.building.property.name}"


def _round(round: Round, on: date) -> Line:
    """With the way into it, once its day has come and while something is left of it."""
    left: int = round.left  # type: ignore[attr-defined]
    sign, state = round_state(round, left, on)
    what = f"{round.walk_on:%-d %B %Y}, {looks_left(round)} to do"
    walk = reverse("round-walk", args=[round.pk]) if left and round.walk_on <= on else ""
    return Line(round.name, round.get_absolute_url(), where_of(round), what, sign, state, walk)


def _cure(stage: Stage, sign: str) -> Line:
    repair = stage.repair
    what = f"{stage.get_kind_display()}, {repair.get_zone_display().lower()}"
    state = f"Ready {'at' if sign == 'curing' else 'since'} {ready_words(stage)}"
    return Line(
        repair.member.mark, repair.get_absolute_url(), place_of(repair.member), what, sign, state
    )


def _due_lines(dates: Iterable[DueDate], on: date) -> list[Line]:
    """One line per member, in the order of its earliest date."""
    by_member: dict[int, list[DueDate]] = {}
    for due in dates:
        by_member.setdefault(due.member_id, []).append(due)
    return [_due(together, on) for together in by_member.values()]


def _due(together: list[DueDate], on: date) -> Line:
    first = together[0]
    sign, state = state_of(first, on)
    there = first if len(together) == 1 else first.member
    return Line(
        first.member.mark, there.get_absolute_url(), place_of(first.member),
        capital(_what_falls_due(together)), sign, state,
    )  # fmt: skip


def _what_falls_due(together: list[DueDate]) -> str:
    """'look at the coating and look at the repair, 3 May 2026, Ash Rowan; repaint, 5 June 2026'"""
    kinds: dict[str, list[str]] = {}
    for due in together:
        who = due.person.get_full_name() or due.person.get_username() if due.person else ""
        when = f"{due.due_on:%-d %B %Y}"
        kinds.setdefault(f"{when}, {who}" if who else when, []).append(due.get_kind_display())
    return "; ".join(
        f"{' and '.join(kind.lower() for kind in what)}, {when}" for when, what in kinds.items()
    )


def _lot(lot: Lot, on: date) -> Line:
    sign, state = lot_state(lot, on)
    amount = f"{abs(lot.remaining()).normalize():,f} {lot.unit}"
    left = f"{amount} left" if lot.remaining() >= 0 else f"{amount} more used than it held"
    where = lot.kept_at or "Place not recorded"
    part = "" if lot.part == Lot.Part.ONE else f", {lot.get_part_display()}"
    name = f"{lot.product.name}{part}, lot {lot.number}"
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
    zone = draft.member.building.property.zone if draft.member else None
    kept_on = timezone.localdate(draft.changed_at, zone)
    what = f"Kept {kept_on:%-d %B %Y}"
    return Line(name, draft.get_absolute_url(), where, what, "draft", "Draft")


def _waiting(repair: Repair) -> Line:
    more = repair.remark_count - 1  # type: ignore[attr-defined]
    what = f"{repair.get_kind_display()}: {repair.first_found}"  # type: ignore[attr-defined]
    if more:
        what = f"{what.rstrip('.')}; and {more} more remark{'' if more == 1 else 's'}"
    return Line(
        repair.member.mark, repair.get_absolute_url(), place_of(repair.member), what,
        "held", "Waits for a person's word",
    )  # fmt: skip
