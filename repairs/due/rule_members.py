"""How many members each rule is there for, read for a whole list of rules in one query."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import Count

from properties.models.members import MemberQuerySet
from repairs.models import DueRule

# What a member is itself; other conditions may hold for some of those and not for others.
_OF_A_MEMBER = {
    "kind": "member_kind", "exposure": "exposure", "finish": "finish", "use_class": "use_class",
}  # fmt: skip


def members_reached(rules: Collection[DueRule], members: MemberQuerySet) -> dict[int, int]:
    """By rule, how many of the members it is the first to fit, read from the top of its kind; one
    that asks more than what a member is leaves the member to those below it as well."""
    alike = members.order_by().values(*_OF_A_MEMBER).annotate(members=Count("pk"))
    reached = dict.fromkeys((rule.pk for rule in rules), 0)
    order = sorted((rule for rule in rules if rule.in_force), key=lambda each: each.place)
    for group in alike:
        done: set[str] = set()
        for rule in order:
            if rule.kind in done or not _fits(rule, group):
                continue
            reached[rule.pk] += group["members"]
            if not rule.asks_more_than_the_member():
                done.add(rule.kind)
    return reached


def _fits(rule: DueRule, group: dict[str, object]) -> bool:
    return all(getattr(rule, asked) in ("", group[name]) for name, asked in _OF_A_MEMBER.items())
