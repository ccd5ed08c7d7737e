"""Which rules make no sense: that never hold, never come, or come without end.

What was typed in, a sentence for each field out that says what to do instead."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from repairs.due.fixed_days import shortest_gap_days
from repairs.due.seasons import ALL_MONTHS, DayRules, either, frost_months, shortest_run_days

MOST_MONTHS = 600
# The shortest month, so that a window never reaches back to the look before.
MONTH_DAYS = 28


def refusals(typed: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Pairs of a field and a sentence, from the cleaned fields of a rule; a field that could not
    be read is left out there, and asked nothing here."""
    yield from _never_holds(typed)
    yield from _days_and_steps(typed)
    yield from _no_day_left(typed)
    yield from _too_wide(typed)
    yield from _repaints(typed)


def _never_holds(typed: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    if typed.get("kind") == "member_look":
        for name in ("temporary", "repair_kind"):
            if typed.get(name) not in (None, ""):
                yield name, "A look at a member is about no repair: choose Any, or it never holds."
    first, before = typed.get("age_from_years"), typed.get("age_to_years")
    if first is not None and before is not None and before <= first:
        yield "age_to_years", f"Type an age above {first}, or leave it empty; else it never holds."
    elif before == 0:
        yield "age_to_years", "Nothing is younger than 0 years: type 1 or more."


def _days_and_steps(typed: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    first, then = typed.get("first_months"), typed.get("then_months")
    if typed.get("fixed_days"):
        if first:
            yield "first_months", "Fixed days need no first steps: leave one of the two empty."
        if typed.get("from_done"):
            yield "from_done", "Fixed days keep to the calendar: take this tick off, or the days."
        if typed.get("seasons"):
            yield "seasons", "Fixed days say when by themselves: tick no season beside them."
    elif first and then and first[0] > MOST_MONTHS - then:
        yield "first_months", "The first step is too far ahead."


def _no_day_left(typed: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    seasons = tuple(typed.get("seasons") or ())
    if typed.get("frost_free") and seasons == ("winter",):
        yield "seasons", "Winter alone and not in frost leaves no day: tick one more season."


def _too_wide(typed: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    window = typed.get("window_days")
    if window is None:
        return
    gap = _shortest_gap(typed)
    if gap is not None and window >= gap:
        yield (
            "window_days",
            (f"Less than {gap} days, which is the shortest time from one day to the next."),
        )
        return
    seasons = tuple(typed.get("seasons") or ())
    frost = frost_months(None, south=False) if typed.get("frost_free") else frozenset()
    months = DayRules(seasons, frost).months()
    stretch = shortest_run_days(months)
    if months and months != ALL_MONTHS and window >= stretch:
        when = either(seasons) if seasons else "the time out of frost"
        yield "window_days", f"Less than {stretch} days, to lie within {when}."


def _shortest_gap(typed: Mapping[str, Any]) -> int | None:
    """In days; None where the steps could not be read."""
    if typed.get("fixed_days"):
        return shortest_gap_days(typed["fixed_days"])
    first, then = typed.get("first_months"), typed.get("then_months")
    if first is None or not then:
        return None
    last: int = first[-1] if first else 0
    steps: list[int] = [later - sooner for sooner, later in pairwise([0, *first])]
    shortest: int = min([*steps, then, then - last % then])
    return MONTH_DAYS * shortest


def _repaints(typed: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    latest, then = typed.get("latest_months"), typed.get("then_months")
    if typed.get("kind") != "repaint":
        for name in ("repaint_at", "latest_months"):
            if typed.get(name) is not None:
                yield name, "Ratings move the date of a repaint alone: leave this empty."
    elif latest is not None and then is not None and latest < then:
        yield "latest_months", f"Not before the interval itself: {then} months or more."
