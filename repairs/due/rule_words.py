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
    words = ", ".join(rule.conditions())
    return words[:1].upper() + words[1:] if words else "Every one"


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
