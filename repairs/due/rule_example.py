"""What a rule does, shown by the days that it would set."""

from __future__ import annotations

from datetime import date

from repairs.due.pace import Pace, days_by
from repairs.due.seasons import PlaceYear
from repairs.due.series import Standing
from repairs.models import DueRule

SHOWN = 4


def example_words(rule: DueRule, on: date) -> str:
    """'From 28 November 2026: 15 April 2027, 15 October 2027, …': the days of a rule counted from
    a day, north of the equator and with frost in winter."""
    days = PlaceYear().days(rule.seasons, rule.frost_free, rule.window_days)
    pace = Pace(rule, None, days)
    first = pace.first_date(on, on)
    if first is None:
        return ""
    standing = Standing(first.counted_from, first.due_on, first.step, rule.window_days)
    found = ", ".join(f"{day:%-d %B %Y}" for day in days_by(pace, standing, SHOWN))
    words = f"From {on:%-d %B %Y}: {found}, and so on"
    where = ", north of the equator" if rule.seasons else ""
    frost = ", with frost from December to February" if rule.frost_free else ""
    return f"{words}{where}{frost}."
