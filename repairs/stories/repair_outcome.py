"""What came of a repair: its money, the looks at it, and who signed it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from materials.money import show_money
from repairs.due.pace import Planned, planned_on
from repairs.models import CostLine, Repair
from repairs.stories.timeline import Dated


@dataclass(frozen=True)
class CostRow:
    line: CostLine
    amount: str
    struck: bool


def cost_row(line: CostLine) -> CostRow:
    return CostRow(
        line=line,
        amount=show_money(line.amount_minor, line.currency),
        struck=line.is_taken_back,
    )


def totals_of(lines: list[CostLine]) -> tuple[str, ...]:
    """One total for each currency; nothing is added over currencies here."""
    totals: dict[str, int] = defaultdict(int)
    for line in lines:
        totals[line.currency] += line.amount_minor
    return tuple(show_money(total, currency) for currency, total in sorted(totals.items()))


LOOK_STATES = {"sound": "done", "watch": "watch", "redo": "redo", "not_reached": "unknown"}
VERDICT_STATES = {"accepted": "signed", "with_snags": "watch", "rejected": "held"}


def looks_at(repair: Repair, on: date) -> list[Dated]:
    looks = [
        Dated(
            look.looked_on,
            f"Looked at: {look.get_occasion_display().lower()}",
            look.get_absolute_url(),
            look.notes,
            look.looked_by_name,
            LOOK_STATES[look.result],
            look.get_result_display(),
        )
        for look in repair.inspections.all()
    ]
    outstanding = [due for due in repair.due_dates.all() if due.is_outstanding()]
    planned = [
        Dated(
            each.due.due_on,
            each.due.get_kind_display(),
            each.due.get_absolute_url(),
            _why_and_then(each),
            state="overdue" if each.due.is_overdue(on) else "due",
            state_word="Overdue" if each.due.is_overdue(on) else "Due",
        )
        for each in (planned_on(repair.member, outstanding, on) if outstanding else ())
    ]
    called_off = [
        Dated(
            due.due_on,
            due.get_kind_display(),
            due.get_absolute_url(),
            due.cancelled_reason,
            state="cancelled",
            state_word="Called off",
        )
        for due in repair.due_dates.all()
        if due.cancelled_on is not None
    ]
    return sorted(looks + planned + called_off, key=lambda entry: entry.when)


def _why_and_then(planned: Planned) -> str:
    """'A coating: a look every year; then 4 May 2027, 4 May 2028'"""
    days = ", ".join(f"{day:%-d %B %Y}" for day in planned.then)
    return (
        f"{planned.due.set_because}\nThen {days}, if all is sound"
        if days
        else (planned.due.set_because)
    )


def signed_by(repair: Repair) -> list[Dated]:
    return [
        Dated(
            sign.signed_on,
            f"{sign.name}, {sign.role}" if sign.role else sign.name,
            text="\n".join(
                filter(
                    None,
                    [
                        f"On stage {sign.stage.position}, {sign.stage.get_kind_display().lower()}"
                        if sign.stage
                        else "On the whole repair",
                        sign.note,
                    ],
                )
            ),
            state=VERDICT_STATES[sign.verdict],
            state_word=sign.get_verdict_display(),
        )
        for sign in repair.sign_offs.all()
    ]
