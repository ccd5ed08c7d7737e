"""Why a date stands on its day: the rule that set it, and the rules above it that did not fit."""

from __future__ import annotations

from dataclasses import dataclass

from repairs.due.end_uses import end_use_words
from repairs.due.facts_for import KnownOf
from repairs.due.rule_words import days_allowed, fits, steps, what_failed
from repairs.models import DueDate, DueRule, MemberInterval
from repairs.models.due_dates import DueKind, first_fitting


@dataclass(frozen=True)
class PassedOver:
    """A rule above the one that set the date, and what it asks that does not hold."""

    rule: DueRule
    why: str


@dataclass(frozen=True)
class WhyDay:
    """`rule` is the one that the date goes by; `now` is another that would set it today."""

    rule: DueRule | None
    fits: str
    steps: str
    allowed: str
    above: tuple[PassedOver, ...]
    now: DueRule | None
    own: MemberInterval | None
    end_use: str


def why_of(due: DueDate, known: KnownOf) -> WhyDay:
    """`known` is the member of the date, so that its place and records are read once."""
    rules = list(DueRule.objects.in_force().filter(kind=due.kind).order_by("place", "code"))
    facts = known.facts(rules, due.kind, due.repair, all_of_them=True)
    rule = due.rule
    above: tuple[PassedOver, ...] = ()
    if rule is not None:
        place = (rule.place, rule.code)
        higher = [each for each in rules if (each.place, each.code) < place]
        above = tuple(PassedOver(each, _why_not(each, each.misfits(facts))) for each in higher)
    now = first_fitting(rules, facts)
    coated = due.kind in {DueKind.COATING_LOOK, DueKind.REPAINT}
    return WhyDay(
        rule=rule,
        fits=fits(rule) if rule else "",
        steps=steps(rule) if rule else "",
        allowed=days_allowed(rule) if rule else "",
        above=above,
        now=now if rule is not None and now != rule else None,
        own=MemberInterval.objects.filter(member=due.member, kind=due.kind).first(),
        end_use=end_use_words(due.member.kind) if coated else "",
    )


def _why_not(rule: DueRule, misfits: list[str]) -> str:
    if misfits:
        return f"does not fit by {what_failed(rule, misfits)}"
    return "fits now: the next date follows it"
