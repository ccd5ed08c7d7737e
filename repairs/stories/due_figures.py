"""Figures of when to look: each due date with its rule, and what the rules ask where none is."""

from __future__ import annotations

from datetime import date

from django.utils.formats import date_format

from config.figures import Figure, Formula, figure
from repairs.coating_life import COATING_LIFE
from repairs.due.facts_for import KnownOf
from repairs.due.intervals import PRACTICE
from repairs.due.pace import Pace, Planned, months_in_words
from repairs.due.rule_words import days_allowed, fits, steps
from repairs.due.words import capital, window_words
from repairs.models import DueDate, DueRule, MemberInterval
from repairs.models.due_dates import DueKind, first_fitting
from repairs.stories.member_page import MemberRecords

BY_A_RULE = (
    "Counted in whole months from the day that the rule counts from, or on its fixed days of the "
    "year; a month that is too short ends it on its last day. Then it is moved to the nearest day "
    "in the seasons of the rule and out of frost, if the rule asks for them, but never to less "
    "than half the time. After a look that asks to watch, half the time is taken."
)
BY_HAND = Formula("A person set this day.", "", "the person who set it")
BY_A_LOOK = Formula(
    "What a look found asked for another soon: so many months after it.",
    "day = day of the look + months",
    PRACTICE,
)
BY_THE_RULES = (
    "The rules are read from the top; the first that fits the member says how often to look. It "
    "sets a date once the dates are set by the rules, or with the next look."
)


def due_figure(planned: Planned) -> Figure:
    """The day of a due date, with the rule or the person that set it."""
    due, pace = planned.due, planned.pace
    inputs = [("Why this day", due.set_because), ("Counted from", _day(due.counted_from))]
    if pace.own is not None:
        inputs.append(("Set for this member", f"every {months_in_words(pace.own.months)}"))
    if pace.rule is not None:
        inputs.append(("The rule that fits now", pace.rule.words))
    inputs.append(("To be done", window_words(due)))
    return figure(due.get_kind_display(), _day(due.due_on), _formula(due, pace), *inputs)


def _formula(due: DueDate, pace: Pace) -> Formula:
    if due.set_by == DueDate.SetBy.RATINGS:
        return COATING_LIFE
    if due.set_by == DueDate.SetBy.PERSON:
        return BY_HAND
    return BY_A_LOOK if due.rule_id is None else _by_rule(pace.rule)


def rules_figure(records: MemberRecords, place: KnownOf) -> Figure | None:
    """How often the rules ask to look; None once somebody has looked or a date is set, or where
    nobody is to look any more."""
    member = records.member
    known = records.inspections or records.open_due_dates
    if known or not member.is_looked_after(records.on):
        return None
    own = MemberInterval.objects.filter(member=member, kind=DueKind.MEMBER_LOOK).first()
    rule = _rule_of(place)
    if rule is None:
        return None
    asked = [("The rule", rule.words), ("Fits", fits(rule))]
    if allowed := days_allowed(rule):
        asked.append(("When", capital(allowed)))
    if own is not None:
        asked.insert(0, ("Set for this member", Pace(rule, own).words()))
    every = f"every {months_in_words(own.months)}" if own else steps(rule)
    formula = Formula(BY_THE_RULES, "", rule.source)
    return figure("How often to look", f"a look {every[:1].lower()}{every[1:]}", formula, *asked)


def _rule_of(known: KnownOf) -> DueRule | None:
    rules = list(DueRule.objects.in_force().filter(kind=DueKind.MEMBER_LOOK))
    known.condition = ""  # nobody has looked yet
    return first_fitting(rules, known.facts(rules, DueKind.MEMBER_LOOK, None))


def _by_rule(rule: DueRule | None) -> Formula:
    if rule is None:
        return Formula(BY_A_RULE, "day = counted from + months", "the rule set")
    season = "counts on from the day of each look" if rule.from_done else "keeps the season"
    return Formula(f"{BY_A_RULE} This rule {season}.", "day = counted from + months", rule.source)


def _day(day: date) -> str:
    return date_format(day, "j F Y")
