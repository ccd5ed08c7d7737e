"""Which rule fits and which day it gives, worked out once for all members that are alike."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Iterator
from datetime import date
from typing import NamedTuple

from repairs.due.after_look import heeded, next_step
from repairs.due.bulk_behind import NOTHING_FOUND, BeganOn, LookBehind
from repairs.due.bulk_known import KnownOfChunk
from repairs.due.bulk_rows import DateRow, MemberRow
from repairs.due.facts import LookFacts
from repairs.due.facts_for import asked_of, facts_told
from repairs.due.pace import Pace, paced
from repairs.due.results import because
from repairs.due.series import NextStep
from repairs.models import DueRule, MemberInterval
from repairs.models.due_dates import DueKind, first_fitting


class Asked(NamedTuple):
    """Facts that are on the rows themselves, what else the rules ask, and the rule that fits
    where they ask nothing else."""

    plain: LookFacts
    also: frozenset[str]
    rule: DueRule | None


class Found(NamedTuple):
    step: NextStep
    because: str


class RuleBook:
    """The rules in force, with what was worked out by them."""

    def __init__(self, rules: Iterable[DueRule]) -> None:
        rules = list(rules)
        self._of_kind = {kind: [rule for rule in rules if rule.kind == kind] for kind in DueKind}
        self._asked: dict[Hashable, Asked] = {}
        self._fitting: dict[Hashable, DueRule | None] = {}
        self._paces: dict[tuple[int, int | None], Pace] = {}
        self._alike: dict[Hashable, Pace] = {}
        self._found: dict[Hashable, Found] = {}

    def pace(self, member: MemberRow, known: KnownOfChunk, date_row: DateRow) -> Pace:
        """That of a planned date, by the rules alone."""
        rule = self._rule(member, known, date_row.kind, date_row)
        return self._pace(rule, member, known)

    def pace_of_member(
        self, member: MemberRow, known: KnownOfChunk, own: MemberInterval | None
    ) -> Pace:
        """How often the member itself is looked at; `own` is a person's own interval."""
        rule = self._rule(member, known, DueKind.MEMBER_LOOK, None)
        if own is not None:
            return paced(rule, own, known.of(member))
        return self._pace(rule, member, known)

    def _pace(self, rule: DueRule | None, member: MemberRow, known: KnownOfChunk) -> Pace:
        if rule is None:
            return Pace(None, None)
        by_place = bool(rule.seasons or rule.frost_free)
        key = rule.pk, member.building_id if by_place else None
        if key not in self._paces:
            placed = paced(rule, None, known.of(member)) if by_place else Pace(rule, None)
            # Places whose year is alike share one, and with it every day worked out by it.
            self._paces[key] = self._alike.setdefault((rule.pk, placed.days), placed)
        return self._paces[key]

    def _rule(
        self, member: MemberRow, known: KnownOfChunk, kind: str, row: DateRow | None
    ) -> DueRule | None:
        alike: Hashable = (kind, member.seen, row.repair_seen if row else None)
        asked = self._asked.get(alike)
        if asked is None:
            asked = self._asked[alike] = self._ask(member, kind, row)
        if not asked.also:
            return asked.rule
        alike = (alike, *_told_apart(member, known, kind, row, asked.also))
        if alike not in self._fitting:
            self._fitting[alike] = self._fits(member, known, kind, row, asked)
        return self._fitting[alike]

    def _fits(
        self, member: MemberRow, known: KnownOfChunk, kind: str, row: DateRow | None, asked: Asked
    ) -> DueRule | None:
        repair = known.repair(row) if row else None
        facts = known.of(member).with_asked(asked.plain, asked.also, kind, repair)
        return first_fitting(self._of_kind[DueKind(kind)], facts)

    def _ask(self, member: MemberRow, kind: str, row: DateRow | None) -> Asked:
        rules = self._of_kind[DueKind(kind)]
        repair_kind, temporary = row.repair_seen if row else (None, None)
        plain = facts_told(*member.seen, repair_kind, temporary)
        also = frozenset(asked_of(rules, plain))
        return Asked(plain, also, None if also else first_fitting(rules, plain))

    def step(self, pace: Pace, behind: LookBehind | BeganOn) -> Found:
        """The day that a pace of `pace` gives after what lies behind; it must have a rule."""
        # The book keeps its paces, so that each has a number of its own as long as it lasts.
        key = id(pace), behind
        if key not in self._found:
            self._found[key] = _found(pace, behind)
        return self._found[key]

    def first_date(self, pace: Pace, counted_from: date, on: date) -> NextStep | None:
        if pace.own is not None or pace.rule is None:
            return pace.first_date(counted_from, on)
        return self.step(pace, BeganOn(counted_from, on)).step


def _told_apart(
    member: MemberRow, known: KnownOfChunk, kind: str, row: DateRow | None, also: Collection[str]
) -> Iterator[Hashable]:
    """What the facts that are read elsewhere hang on: members with the same have the same facts."""
    if "climate" in also:
        yield member.property_id
    if "worst_condition" in also:
        yield known.conditions.get(member.pk)
    if "age_from_years" in also:
        repair = row.repair_id if row else None
        yield member.installed_year if kind == DueKind.MEMBER_LOOK else (member.pk, repair)


def _found(pace: Pace, behind: LookBehind | BeganOn) -> Found:
    if isinstance(behind, BeganOn):
        step, verdict = pace.first_date(*behind), NOTHING_FOUND
    else:
        verdict = heeded(pace, behind.verdict)
        step = next_step(pace, behind.answered, behind.looked_on, verdict)
    assert step is not None
    return Found(step, because(verdict, pace.because(step)))
