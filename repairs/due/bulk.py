"""All dates that a rule set, set anew by the rules as they stand: which would change, and how.

A person's date, one set by ratings, one brought forward by an extra look, and one of a member
with an interval of its own are left alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from properties.models.members import MemberQuerySet
from repairs.due.bulk_behind import Behind
from repairs.due.bulk_days import RuleBook
from repairs.due.bulk_known import KnownOfChunk
from repairs.due.bulk_rows import Chunk, DateRow, called_off, chunks, last_looks, own_intervals
from repairs.due.pace import Pace
from repairs.due.series import NextStep
from repairs.models import DueDate, DueRule
from repairs.models.due_dates import DueKind


class Change(NamedTuple):
    """An outstanding date and what the rules make of it."""

    pk: int
    kind: str
    was_on: date
    rule: DueRule
    window_days: int
    step: NextStep
    because: str

    @property
    def moves(self) -> bool:
        return self.step.due_on != self.was_on


class FirstDate(NamedTuple):
    """A look at a member that has none planned."""

    member_id: int
    pace: Pace
    step: NextStep


@dataclass(frozen=True)
class Part:
    """Of some thousand members: what changes, the first dates, and counts of what does not: of
    `by_rule` dates that a rule set `unfitted` are fitted by none any more; of `dateless` members
    `called_off` have none because a person called it off."""

    changes: list[Change]
    first: list[FirstDate]
    by_rule: int
    unfitted: int
    dateless: int
    called_off: int


@dataclass(frozen=True)
class Changes:
    """What the rules would change for those members on a day; worked out while it is read, some
    thousand members at a time."""

    members: MemberQuerySet
    on: date

    def parts(self, locked: bool = False) -> Iterator[Part]:
        """`locked` keeps others from changing the dates of a part until the transaction ends."""
        book = RuleBook(DueRule.objects.in_force())
        for chunk in chunks(self.members, self.on, locked):
            yield _Anew(book, chunk, self.on).part()


def dates_anew(members: MemberQuerySet, on: date) -> Changes:
    """The dates of those of the members that are looked after on a day."""
    return Changes(members, on)


class _Anew:
    """One chunk of members, worked out."""

    def __init__(self, book: RuleBook, chunk: Chunk, on: date) -> None:
        self.book, self.chunk, self.on = book, chunk, on
        self.known = KnownOfChunk(chunk, on)
        self.own = own_intervals(chunk.numbers)
        self.unfitted = 0

    def part(self) -> Part:
        by_rule = [row for row in self.chunk.dates if self._is_by_rule(row)]
        behind = Behind(by_rule, self.chunk.numbers)
        changes = [change for row in by_rule if (change := self._change(row, behind))]
        dateless = [row.pk for row in self.chunk.without_look()]
        off = called_off(dateless) if dateless else set()
        first = list(self._first([pk for pk in dateless if pk not in off]))
        return Part(changes, first, len(by_rule), self.unfitted, len(dateless), len(off))

    def _is_by_rule(self, row: DateRow) -> bool:
        return (
            row.set_by == DueDate.SetBy.RULE
            and row.rule_id is not None
            and (row.member_id, row.kind) not in self.own
        )

    def _change(self, row: DateRow, behind: Behind) -> Change | None:
        pace = self.book.pace(self.chunk.members[row.member_id], self.known, row)
        rule = pace.rule
        if rule is None:
            self.unfitted += 1
            return None
        if behind.brought_forward(row):
            return None
        found = self.book.step(pace, behind.of(row))
        step, window = found.step, pace.window_days()
        if (step.due_on, step.step, step.counted_from, window, rule.pk) == (
            row.due_on, row.step, row.counted_from, row.window_days, row.rule_id
        ):  # fmt: skip
            return None
        return Change(row.pk, row.kind, row.due_on, rule, window, step, found.because)

    def _first(self, members: list[int]) -> Iterator[FirstDate]:
        """Counted from the last look at the member, else from today; a day that is past already
        gives way to the next of the series."""
        looked_on = last_looks(members) if members else {}
        for pk in members:
            own = self.own.get((pk, DueKind.MEMBER_LOOK))
            pace = self.book.pace_of_member(self.chunk.members[pk], self.known, own)
            step = self.book.first_date(pace, looked_on.get(pk, self.on), self.on)
            if step is not None:
                yield FirstDate(pk, pace, step)
