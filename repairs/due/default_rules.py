"""The default rules in the rule set: those that are missing find their place among the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from django.db import connection

from repairs.due.intervals import DefaultRule
from repairs.due.rule_order import give_places
from repairs.due.rule_set import DEFAULT_RULES
from repairs.models import DueRule

_LISTS = ("first_months", "seasons")


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
