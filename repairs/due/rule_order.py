"""The order of the rules of one kind: where a new one comes, and one moved up or down."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction
from simple_history.utils import bulk_update_with_history

from repairs.models import DueRule

# Between two rules there is room for others, without a move of all that follow.
STEP = 10


def ordered(kind: str) -> list[DueRule]:
    """The rules of a kind from the top, held until the transaction ends."""
    hold_rules()
    return list(DueRule.objects.filter(kind=kind).order_by("place", "code"))


def hold_rules() -> None:
    """All of them, in one order, until the transaction ends. Nobody who records a look need wait
    for this: what a new date asks of its rule is its key."""
    list(DueRule.objects.select_for_update(no_key=True).order_by("pk").values_list("pk"))


@transaction.atomic
def add_on_top(rule: DueRule) -> None:
    """Save a new rule above all others of its kind, so that it holds wherever it fits."""
    give_places([rule, *ordered(rule.kind)])


@transaction.atomic
def move(rule: DueRule, up: bool) -> bool:
    """One place up or down; False where it stands first or last already."""
    order = ordered(rule.kind)
    at = next(at for at, each in enumerate(order) if each.pk == rule.pk)
    to = at - 1 if up else at + 1
    if not 0 <= to < len(order):
        return False
    places = [each.place for each in order]
    if len(set(places)) < len(places):
        places = tens(len(order))
    order[at], order[to] = order[to], order[at]
    _keep(order, places)
    return True


def give_places(order: Sequence[DueRule]) -> None:
    """Number the rules of one kind as they stand; a new one is created, and of those known only
    what has to make room is changed, with its row in the record."""
    _keep(order, _fitted(order) or tens(len(order)))


def tens(count: int) -> list[int]:
    return [STEP * at for at in range(1, count + 1)]


def _keep(order: Sequence[DueRule], places: Sequence[int]) -> None:
    moved = []
    for rule, place in zip(order, places, strict=True):
        changed, rule.place = rule.place != place, place
        if rule._state.adding:
            rule.save()
        elif changed:
            moved.append(rule)
    if moved:
        bulk_update_with_history(moved, DueRule, ["place"])


def _fitted(order: Sequence[DueRule]) -> list[int]:
    """Places that rise, in which those known keep theirs; empty where there is no room."""
    if all(rule.pk is None for rule in order):
        return []
    places: list[int] = []
    for at, rule in enumerate(order):
        last = places[-1] if places else 0
        place = rule.place if rule.pk is not None else _between(last, order[at:])
        if place <= last:
            return []
        places.append(place)
    return places


def _between(last: int, rest: Sequence[DueRule]) -> int:
    """A place for a new rule, that leaves room for those that are new after it."""
    new = next((at for at, rule in enumerate(rest) if rule.pk is not None), None)
    return last + STEP if new is None else last + (rest[new].place - last) // (new + 1)
