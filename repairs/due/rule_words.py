"""The rule set as a table to read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from repairs.due.pace import months_in_words
from repairs.models import DueRule


@dataclass(frozen=True)
class RuleLine:
    rule: DueRule
    fits: str
    steps: str
    counts: str


def rule_lines(rules: Iterable[DueRule]) -> list[RuleLine]:
    return [RuleLine(rule, fits(rule), steps(rule), counts(rule)) for rule in rules]


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
    """'After 1 and 6 months, then every year'."""
    every = f"every {months_in_words(rule.then_months)}"
    if not rule.first_months:
        return every.capitalize()
    months = " and ".join(str(month) for month in rule.first_months)
    unit = "month" if rule.first_months == [1] else "months"
    return f"After {months} {unit}, then {every}"


def counts(rule: DueRule) -> str:
    return "From the day done" if rule.from_done else "Keeps the season"
