"""Figures of when to look: each due date with its rule, and what to begin with where none is."""

from __future__ import annotations

from datetime import date

from django.utils.formats import date_format

from config.figures import Figure, Formula, figure
from properties.normals import hazard_of, normals_of
from repairs.due.looks_prior import PRIOR, looks_prior
from repairs.due.pace import Planned, months_in_words
from repairs.models import DueRule
from repairs.stories.member_page import MemberRecords

BY_A_RULE = (
    "Counted in whole months from the day that the rule counts from; a month that is too "
    "short ends it on its last day. After a look that asks to watch, half the time is taken."
)
BY_HAND = Formula("A person set this day.", "", "the person who set it")


def due_figure(planned: Planned) -> Figure:
    """The day of a due date, with the rule or the person that set it."""
    due, pace = planned.due, planned.pace
    inputs = [("Why this day", due.set_because), ("Counted from", _day(due.counted_from))]
    if pace.own is not None:
        inputs.append(("Set for this member", f"every {months_in_words(pace.own.months)}"))
    if pace.rule is not None:
        inputs.append(("The rule that fits now", pace.rule.words))
    inputs.append(("Late after", f"{due.window_days} days"))
    formula = BY_HAND if due.rule_id is None else _by_rule(pace.rule)
    return figure(due.get_kind_display(), _day(due.due_on), formula, *inputs)


def prior_figure(records: MemberRecords) -> Figure | None:
    """How often to look to begin with; None once somebody has looked or a date is set, or where
    nobody is to look any more. Asks for the months of the property."""
    member = records.member
    known = records.inspections or records.open_due_dates
    if known or not member.is_looked_after(records.on):
        return None
    hazard = hazard_of(normals_of(member.building.property))
    prior = looks_prior(member.use_class, hazard)
    return figure(
        "How often to look for want of results of its own",
        f"a look every {months_in_words(prior.months)}",
        PRIOR,
        ("From", prior.words),
        ("Decay hazard", f"{hazard.index:.1f}, {hazard.level}" if hazard else "not known"),
    )


def _by_rule(rule: DueRule | None) -> Formula:
    if rule is None:
        return Formula(BY_A_RULE, "day = counted from + months", "the rule set")
    season = "counts on from the day of each look" if rule.from_done else "keeps the season"
    return Formula(f"{BY_A_RULE} This rule {season}.", "day = counted from + months", rule.source)


def _day(day: date) -> str:
    return date_format(day, "j F Y")
