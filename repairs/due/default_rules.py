"""The default rules in the rule set: those that are missing find their place among the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from django.db import connection
from simple_history.utils import bulk_update_with_history

from repairs.due.intervals import DefaultRule
from repairs.due.rule_set import DEFAULT_RULES
from repairs.models import DueRule

# Between two rules there is room for others, without a move of all that follow.
STEP = 10


def seed_rules(**kwargs: Any) -> None:
    """Create the default rules that are missing; what a person changed is never overwritten, and
    what a person put above or below another stays there. Run after every migrate."""
    if DueRule._meta.db_table not in connection.introspection.table_names():
        return
    rules = list(DueRule.objects.order_by("kind", "place", "code"))
    known = {rule.code for rule in rules}
    for kind in sorted({rule.kind for rule in DEFAULT_RULES}):
        wanted = [rule for rule in DEFAULT_RULES if rule.kind == kind]
        if any(rule.code not in known for rule in wanted):
            _add_missing([rule for rule in rules if rule.kind == kind], wanted)


def _add_missing(known: list[DueRule], wanted: Sequence[DefaultRule]) -> None:
    """Each missing one comes above the first of those that the defaults name after it, so that
    the particular still stands above the general; from the last to the first."""
    order = list(known)
    codes = {rule.code for rule in known}
    below: set[str] = set()
    for default in reversed(wanted):
        if default.code not in codes:
            at = next((at for at, rule in enumerate(order) if rule.code in below), len(order))
            order.insert(at, _row(default))
        below.add(default.code)
    give_places(order)


def _row(default: DefaultRule) -> DueRule:
    values = asdict(default)
    return DueRule(**{**values, **{name: list(values[name]) for name in _LISTS}})


_LISTS = ("first_months", "seasons")


def give_places(order: Sequence[DueRule]) -> None:
    """Number the rules of one kind as they stand; a new one is created, and of those known only
    what has to make room is changed, with its row in the record."""
    moved = []
    for rule, place in zip(order, _places(order), strict=True):
        changed, rule.place = rule.place != place, place
        if rule.pk is None:
            rule.save()
        elif changed:
            moved.append(rule)
    if moved:
        bulk_update_with_history(moved, DueRule, ["place"])


def _places(order: Sequence[DueRule]) -> list[int]:
    """Places that rise: those known stand where the new ones fit between them, else all are
    numbered anew by tens."""
    fitted = _fitted(order)
    return fitted or [STEP * at for at in range(1, len(order) + 1)]


def _fitted(order: Sequence[DueRule]) -> list[int]:
    if all(rule.pk is None for rule in order):
        return []
    places: list[int] = []
    for at, rule in enumerate(order):
        last = places[-1] if places else 0
        if rule.pk is not None:
            place = rule.place
        else:
            run = next((n for n, each in enumerate(order[at:]) if each.pk is not None), None)
            ahead = order[at + run].place if run else None
            place = last + STEP if ahead is None else last + (ahead - last) // ((run or 0) + 1)
        if place <= last:
            return []
        places.append(place)
    return places
