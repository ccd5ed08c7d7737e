"""Looks for all that a recall found: one for each repair in place, each once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.db import transaction
from simple_history.utils import bulk_create_with_history

from materials.models import Product
from repairs.due.held import hold_members
from repairs.due.pace import USUAL_WINDOW_DAYS
from repairs.due.schedule import person_words
from repairs.models import DueDate, Repair
from repairs.models.due_dates import DueKind

if TYPE_CHECKING:
    from django.contrib.auth.models import User

# So that both, and who set it, stand within what a due date keeps of its reason.
LONGEST_SUBJECT, LONGEST_REASON = 120, 120


@dataclass(frozen=True)
class RecallLook:
    """What is called back, in words that stay the same, and what a person says of it."""

    subject: str
    due_on: date
    reason: str
    person: User | None = None

    @property
    def begins(self) -> str:
        return f"Recall of {self.subject[:LONGEST_SUBJECT]}: "

    def because(self, by: User) -> str:
        return f"{self.begins}{self.reason[:LONGEST_REASON]}. {person_words(by)}"[:300]


@dataclass(frozen=True)
class Set:
    new: int
    known: int

    def in_words(self, due_on: date) -> str:
        words = "One look is" if self.new == 1 else f"{self.new} looks are"
        told = f"{words} set for {due_on:%-d %B %Y}." if self.new else "No look is set."
        if self.known == 1:
            return f"{told} One repair has a look for this recall already."
        return f"{told} {self.known} have one for this recall already." if self.known else told


@transaction.atomic
def set_recall_looks(
    product: Product, repairs: Iterable[Repair], look: RecallLook, by: User
) -> Set:
    """Set the look at each repair that has none for this recall: none that is still to come, and
    none of the very same day and reason that is done or called off. What is no longer in place
    must be left out by the caller."""
    # Of two who send at once the second waits here, and then finds the looks of the first.
    Product.objects.select_for_update().get(pk=product.pk)
    because, wanted = look.because(by), list(repairs)
    hold_members(repair.member_id for repair in wanted)
    known = _known(look, because)
    new = [
        DueDate(
            member=repair.member,
            repair=repair,
            kind=DueKind.REPAIR_LOOK,
            due_on=look.due_on,
            counted_from=look.due_on,
            window_days=USUAL_WINDOW_DAYS,
            set_because=because,
            set_by=DueDate.SetBy.PERSON,
            person=look.person,
        )
        for repair in wanted
        if repair.pk not in known
    ]
    bulk_create_with_history(new, DueDate, batch_size=500, default_user=by)
    return Set(len(new), len(wanted) - len(new))


def _known(look: RecallLook, because: str) -> set[int | None]:
    """The repairs that have a look for this recall."""
    of_this = DueDate.objects.filter(
        kind=DueKind.REPAIR_LOOK, set_because__startswith=look.begins
    ).order_by()
    to_come = of_this.outstanding().values_list("repair", flat=True)
    same = of_this.filter(set_because=because, due_on=look.due_on)
    return {*to_come, *same.values_list("repair", flat=True)}
