"""What setting all dates anew would change, in numbers and words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import islice

from repairs.due.bulk import Change, Changes, Part
from repairs.due.words import capital, counted, in_days
from repairs.models import DueDate, DueRule
from repairs.models.due_dates import DueKind

MOST_EXAMPLES = 50
_DAYS_A_MONTH = 365.25 / 12


@dataclass
class Shift:
    """How many dates move one way, and by how many days at least and at most."""

    count: int = 0
    least: int = 0
    most: int = 0

    def add(self, days: int) -> None:
        self.least = min(self.least, days) if self.count else days
        self.most = max(self.most, days)
        self.count += 1

    def words(self) -> str:
        """'120, by 1 to 6 months'."""
        return f"{self.count:,}, by {_far(self.least, self.most)}" if self.count else "None"


@dataclass
class RuleMoves:
    """What one rule does: `kept` dates stay on their day but get its words or its window, and
    `first` members get a first date by it."""

    rule: DueRule
    sooner: Shift = field(default_factory=Shift)
    later: Shift = field(default_factory=Shift)
    kept: int = 0
    first: int = 0

    @property
    def moves(self) -> int:
        return self.sooner.count + self.later.count

    @property
    def kind(self) -> str:
        return str(DueKind(self.rule.kind).label)

    def add(self, change: Change) -> None:
        days = (change.step.due_on - change.was_on) // timedelta(days=1)
        if days:
            (self.later if days > 0 else self.sooner).add(abs(days))
        else:
            self.kept += 1


@dataclass(frozen=True)
class Example:
    due: DueDate
    to: date
    because: str


@dataclass
class Summary:
    """`late_at_once` dates would be past their day as soon as they are set; the other counts are
    those of `repairs.due.bulk.Part`."""

    lines: list[RuleMoves] = field(default_factory=list)
    examples: list[Example] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    own_first: int = 0

    @property
    def moves(self) -> int:
        return sum(line.moves for line in self.lines)

    @property
    def first(self) -> int:
        return self.own_first + sum(line.first for line in self.lines)

    @property
    def all(self) -> int:
        return self.moves + self.first + sum(line.kept for line in self.lines)

    def all_words(self) -> str:
        return _dates(self.all)

    def lead(self) -> str:
        """'312 of 2,040 dates that a rule set would move: 200 sooner and 112 later.'"""
        if not self.moves:
            return "No date would move: all that a rule set stand where the rules put them."
        sooner = sum(line.sooner.count for line in self.lines)
        ways = [f"{sooner:,} sooner"] if sooner else []
        if later := self.moves - sooner:
            ways.append(f"{later:,} later")
        of = f"{self.moves:,} of {_dates(self.counts['by_rule'])} that a rule set would move"
        return f"{of}: {' and '.join(ways)}."

    def notes(self) -> Iterator[str]:
        """What else there is to know before it is done, a sentence each; only what there is."""
        late, kept = self.counts["late_at_once"], sum(line.kept for line in self.lines)
        if late:
            yield f"{_some(late, 'date')} would be overdue as soon as set."
        if kept:
            yield f"{_some(kept, 'date')} would keep the day, with another rule or window."
        if unfitted := self.counts["unfitted"]:
            yield f"{_some(unfitted, 'date')} would stand, though no rule fits any more."
        yield from self._dateless()

    def _dateless(self) -> Iterator[str]:
        dateless, off = self.counts["dateless"], self.counts["called_off"]
        if not dateless:
            return
        has = "has" if dateless == 1 else "have"
        words = f"{_some(dateless, 'member')} {has} no look planned"
        yield f"{words}; {self.first or 'none'} of them would get a first one."
        if off:
            yield f"{_some(off, 'member')} had it called off by a person, and stays without."


def summary_of(changes: Changes) -> Summary:
    """Reads through all members, some thousand at a time."""
    found = Summary()
    moved: list[Change] = []
    by_rule: dict[int, RuleMoves] = {}
    for part in changes.parts():
        _count(found, part, changes.on)
        for change in part.changes:
            by_rule.setdefault(change.rule.pk, RuleMoves(change.rule)).add(change)
        for first in part.first:
            if first.pace.own is not None or first.pace.rule is None:
                found.own_first += 1
            else:
                rule = first.pace.rule
                by_rule.setdefault(rule.pk, RuleMoves(rule)).first += 1
        moving = (change for change in part.changes if change.moves)
        moved += islice(moving, MOST_EXAMPLES - len(moved))
    kinds = list(DueKind.values)
    found.lines = sorted(
        by_rule.values(), key=lambda each: (kinds.index(each.rule.kind), each.rule.place)
    )
    found.examples = list(_examples(moved))
    return found


def _count(found: Summary, part: Part, on: date) -> None:
    late = (each for each in part.changes if each.step.due_on < on <= each.was_on)
    found.counts.update(
        by_rule=part.by_rule,
        unfitted=part.unfitted,
        dateless=part.dateless,
        called_off=part.called_off,
        late_at_once=sum(1 for _ in late),
    )


def _examples(moved: Iterable[Change]) -> Iterator[Example]:
    changes = {change.pk: change for change in moved}
    for due in DueDate.objects.filter(pk__in=changes).with_place().order_by("due_on", "pk"):
        yield Example(due, changes[due.pk].step.due_on, changes[due.pk].because)


def _dates(number: int) -> str:
    return f"{number:,} date{'' if number == 1 else 's'}"


def _some(number: int, one: str) -> str:
    if number >= 10:
        return f"{number:,} {one}s"
    return capital(counted(number, one, f"{one}s"))


def _far(least: int, most: int) -> str:
    """'1 to 6 months' from days; under a month and a half in days."""
    if most < 1.5 * _DAYS_A_MONTH:
        return in_days(most) if least == most else f"{least} to {in_days(most)}"
    low, high = (round(days / _DAYS_A_MONTH) for days in (least, most))
    if low == high:
        return f"{high} month{'' if high == 1 else 's'}"
    return f"{in_days(least)} to {high} months" if low < 1 else f"{low} to {high} months"
