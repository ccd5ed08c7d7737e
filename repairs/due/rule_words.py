"""The rule set as a table to read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from repairs.due.fixed_days import in_words
from repairs.due.pace import months_in_words
from repairs.due.seasons import either
from repairs.models import DueRule

# What each condition is called where a rule is told that did not fit.
CONDITION_NAMES = {
    "temporary": "which repairs",
    "repair_kind": "kind of repair",
    "member_kind": "kind of member",
    "finish": "finish",
    "exposure": "exposure",
    "use_class": "use class",
    "climate": "decay hazard",
    "worst_condition": "condition at the last look",
    "age_from_years": "age",
}


@dataclass(frozen=True)
class RuleLine:
    """One rule of the list; `number` is where it stands among those of its kind in force."""

    rule: DueRule
    number: int | None
    fits: str
    steps: str
    when: str
    counts: str
    members: str


def rule_lines(rules: Iterable[DueRule], reached: Mapping[int, int]) -> list[RuleLine]:
    """The rules of one kind from the top, with how many members each is there for."""
    lines, number = [], 0
    for rule in sorted(rules, key=lambda rule: (rule.place, rule.code)):
        number += rule.in_force
        at = number if rule.in_force else None
        members = reached_words(rule, reached.get(rule.pk, 0))
        lines.append(RuleLine(rule, at, fits(rule), steps(rule), when(rule), counts(rule), members))
    return lines


def reached_words(rule: DueRule, members: int) -> str:
    """'12', or 'up to 12' where it asks more than what a member is; in words where none is left."""
    if not rule.in_force:
        return "Not in force"
    if not members:
        return "No member"
    more = rule.asks_more_than_the_member()
    return f"Up to {members:,}" if more else f"{members:,}"


def fits(rule: DueRule) -> str:
    words = ", ".join(conditions(rule))
    return words[:1].upper() + words[1:] if words else "Every one"


def conditions(rule: DueRule) -> list[str]:
    """What a rule asks, each in words; none for a rule that fits everything."""
    words = []
    if rule.temporary is not None:
        words.append("temporary repair" if rule.temporary else "lasting repair")
    for name in ("repair_kind", "member_kind", "finish"):
        if getattr(rule, name):
            words.append(str(getattr(rule, f"get_{name}_display")()).lower())
    if rule.exposure:
        words.append(f"exposure: {rule.get_exposure_display().lower()}")
    if rule.use_class:
        words.append(f"use class {rule.use_class}")
    if rule.climate:
        words.append(rule.get_climate_display().lower())
    if rule.worst_condition:
        words.append(f"condition {rule.worst_condition} or worse at the last look")
    if age := ages(rule.age_from_years, rule.age_to_years):
        words.append(age)
    return words


def ages(first: int | None, before: int | None) -> str:
    if first is None and before is None:
        return ""
    if before is None:
        return f"{first} years old or older"
    return f"under {before} years old" if first is None else f"{first} to {before} years old"


def steps(rule: DueRule) -> str:
    """'After 1 and 6 months, then every year', or 'Every year on 15 April and 15 October'."""
    if rule.fixed_days:
        return f"Every year on {in_words(rule.fixed_days)}"
    every = f"every {months_in_words(rule.then_months)}"
    if not rule.first_months:
        return every.capitalize()
    months = " and ".join(str(month) for month in rule.first_months)
    unit = "month" if rule.first_months == [1] else "months"
    return f"After {months} {unit}, then {every}"


def days_allowed(rule: DueRule) -> str:
    """'in spring or autumn, not in frost'; empty where every day will do."""
    season = f"in {either(rule.seasons)}" if rule.seasons else ""
    return ", ".join(filter(None, [season, "not in frost" if rule.frost_free else ""]))


def when(rule: DueRule) -> str:
    """'in spring; within 30 days'."""
    unit = "day" if rule.window_days == 1 else "days"
    window = f"within {rule.window_days} {unit}" if rule.window_days else "on the day"
    return "; ".join(filter(None, [days_allowed(rule), window]))


def counts(rule: DueRule) -> str:
    return "From the day done" if rule.from_done else "Keeps its day of the year"


def what_failed(rule: DueRule, misfits: Iterable[str]) -> str:
    """The conditions of a rule that did not hold, each with what the rule asks for."""
    return ", ".join(f"{CONDITION_NAMES[name]}: {_asked(rule, name)}" for name in misfits)


def _asked(rule: DueRule, name: str) -> str:
    if name == "temporary":
        return "temporary repairs" if rule.temporary else "lasting repairs"
    if name == "age_from_years":
        return ages(rule.age_from_years, rule.age_to_years)
    if name == "worst_condition":
        return f"{rule.worst_condition} or worse"
    if name == "use_class":
        return rule.use_class
    return str(getattr(rule, f"get_{name}_display")()).lower()
