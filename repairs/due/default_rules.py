"""The default rules in the rule set: those that are missing find their place among the others,
and those that nobody ever changed follow the defaults of today."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from django.db import connection, transaction
from django.db.models import Model, Q
from simple_history.utils import bulk_update_with_history

from repairs.due.intervals import DefaultRule
from repairs.due.rule_order import give_places
from repairs.due.rule_set import DEFAULT_RULES
from repairs.models import DueRule

# Why the record says that a rule changed, where no person changed it.
NEW_DEFAULT = "The default rule changed"
_LISTS = ("first_months", "seasons")
# All that a rule says; where it stands among the others is a person's word and stays.
_SAID = [
    field.name
    for field in DueRule._meta.concrete_fields
    if field.name not in ("id", "code", "kind", "place")
]


@transaction.atomic
def seed_rules(**kwargs: Any) -> None:
    """Create the default rules that are missing, and bring those up to date that nobody changed;
    what a person changed is never overwritten, and what a person put above or below another
    stays there. Dates already set keep their day. Run after every migrate."""
    if not _stands_as_now(DueRule) or not _stands_as_now(DueRule.history.model):
        return
    rules = list(DueRule.objects.order_by("kind", "place", "code"))
    _bring_up_to_date(rules)
    known = {rule.code for rule in rules}
    for kind in sorted({rule.kind for rule in DEFAULT_RULES}):
        wanted = [rule for rule in DEFAULT_RULES if rule.kind == kind]
        if any(rule.code not in known for rule in wanted):
            _add_missing([rule for rule in rules if rule.kind == kind], wanted)


def _stands_as_now(model: type[Model]) -> bool:
    """Not so before the first migration, nor after going back to an earlier one."""
    table = model._meta.db_table
    if table not in connection.introspection.table_names():
        return False
    with connection.cursor() as cursor:
        found = connection.introspection.get_table_description(cursor, table)
    return {field.column for field in model._meta.concrete_fields} <= {each.name for each in found}


def _bring_up_to_date(rules: Sequence[DueRule]) -> None:
    """A rule is a default still while it says what it was last seeded with: what it says is
    compared, so that a change written past the record counts as one too."""
    seeded, changed = _last_seeded(), []
    defaults = {default.code: _values(default) for default in DEFAULT_RULES}
    for rule in rules:
        before, now = seeded.get(rule.pk), defaults.get(rule.code)
        if before is None or now is None or not _says(rule, before):
            continue
        if not _says(rule, now):
            for name, value in now.items():
                setattr(rule, name, value)
            changed.append(rule)
    if changed:
        bulk_update_with_history(changed, DueRule, _SAID, default_change_reason=NEW_DEFAULT)


def _last_seeded() -> dict[int, dict[str, Any]]:
    """What each rule said when it was last made or brought up to date by no person."""
    kept = DueRule.history.filter(history_user=None)
    seeded = kept.filter(Q(history_type="+") | Q(history_change_reason=NEW_DEFAULT))
    rows = seeded.order_by("history_date", "history_id").values("id", *_SAID)
    return {row.pop("id"): row for row in rows}


def _says(rule: DueRule, values: Mapping[str, Any]) -> bool:
    return all(getattr(rule, name) == value for name, value in values.items())


def _values(default: DefaultRule) -> dict[str, Any]:
    values = asdict(default)
    values |= {name: list(values[name]) for name in _LISTS}
    return {name: values[name] for name in _SAID if name in values}


def _add_missing(known: list[DueRule], wanted: Sequence[DefaultRule]) -> None:
    """Each missing one comes above the first of those that the defaults name after it, so that
    the particular still stands above the general; from the last to the first."""
    order = list(known)
    codes = {rule.code for rule in known}
    below: set[str] = set()
    for default in reversed(wanted):
        if default.code not in codes:
            at = next((at for at, rule in enumerate(order) if rule.code in below), len(order))
            order.insert(at, DueRule(code=default.code, kind=default.kind, **_values(default)))
        below.add(default.code)
    give_places(order)
