"""What a list of cost lines was asked for, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from properties.models import Defect, Elevation, Member
from repairs.costs.shares import NONE
from repairs.models import Repair
from repairs.tables.cost_lines import CostLineFilter, numbers_in


@dataclass(frozen=True)
class Condition:
    """One condition of the list in words, and the name under which it stands in the address."""

    name: str
    words: str


def _of_choice(value: str, chosen: CostLineFilter, name: str) -> str:
    choices = dict(chosen.filters[name].extra["choices"])
    return str(choices[value])


def _placed_on(value: str, chosen: CostLineFilter) -> str:
    if value == NONE:
        return "on no elevation"
    found = Elevation.objects.filter(building__property__in=chosen.seen, pk__in=numbers_in(value))
    return _listed("on the {} elevation", [each.name for each in found])


def _of_member(value: str, chosen: CostLineFilter) -> str:
    if value == NONE:
        return "not tied to a member"
    found = Member.objects.filter(building__property__in=chosen.seen, pk__in=numbers_in(value))
    return _listed("of {}", [each.mark for each in found])


def _of_repair(value: str, chosen: CostLineFilter) -> str:
    if value == NONE:
        return "not on a repair"
    pks = numbers_in(value)
    if len(pks) > 1:
        return f"of {len(pks)} repairs"
    found = Repair.objects.within(chosen.seen).select_related("member__building__property")
    return _listed("of the repair: {}", [str(each) for each in found.filter(pk__in=pks)])


def _listed(words: str, names: list[str]) -> str:
    return words.format(", ".join(names)) if names else "of something that is not here"


def _others(value: str, what: str) -> str:
    return f"of all but {len(value.split(','))} {what}"


def _named(value: str, chosen: CostLineFilter, name: str, words: str) -> str:
    said = _of_choice(value, chosen, name)
    return said if value == NONE else words.format(said.lower())


def _cause(value: str, chosen: CostLineFilter) -> str:
    if value == Defect.Cause.UNKNOWN:
        return "no cause recorded"
    return _named(value, chosen, "cause", "cause: {}")


_WORDS: dict[str, Any] = {
    "property": lambda value, chosen: f"on {value.name}",
    "kind": lambda value, chosen: f"of the kind {_of_choice(value, chosen, 'kind').lower()}",
    "first": lambda value, chosen: f"since {value:%-d %B %Y}",
    "last": lambda value, chosen: f"up to {value:%-d %B %Y}",
    "q": lambda value, chosen: f"with the words “{value}”",
    "currency": lambda value, chosen: f"on properties that add up in {value}",
    "building": lambda value, chosen: f"of {value.name}",
    "not_building": lambda value, chosen: _others(value, "buildings"),
    "elevation": _placed_on,
    "not_elevation": lambda value, chosen: _others(value, "elevations"),
    "member": _of_member,
    "not_member": lambda value, chosen: _others(value, "members"),
    "member_kind": lambda value, chosen: _named(value, chosen, "member_kind", "on members: {}"),
    "repair": _of_repair,
    "repair_kind": lambda value, chosen: _named(value, chosen, "repair_kind", "on repairs: {}"),
    "cause": _cause,
    "year": lambda value, chosen: f"of the year {value}",
    "borne_by": lambda value, chosen: _named(value, chosen, "borne_by", "borne by: {}"),
    "money_class": lambda value, chosen: _named(value, chosen, "money_class", "{}"),
    "tax": lambda value, chosen: _of_choice(value, chosen, "tax"),
    "areas": lambda value, chosen: _of_choice(value, chosen, "areas"),
}


def conditions_of(chosen: CostLineFilter) -> list[Condition]:
    """What was asked for in words; of what the reader may not see nothing is said."""
    if not chosen.form.is_valid():
        return []
    asked = chosen.form.cleaned_data
    names = [name for name in _WORDS if name in chosen.filters and asked.get(name)]
    return [Condition(name, _WORDS[name](asked[name], chosen)) for name in names]


def lines_in_words(count: int, conditions: Sequence[Condition], total: str, tax: str) -> str:
    """`2 cost lines of Granary, of the year 2024: GBP 120.00 in all.`"""
    number = "No" if count == 0 else f"{count:,}"
    asked = ", ".join(condition.words for condition in conditions)
    words = f"{number} cost line{'' if count == 1 else 's'}"
    if asked:
        words += f" {asked}"
    if total:
        words += f": {total} in all"
    return f"{words}. Tax within it: {tax}." if tax else f"{words}."


def problems_of(chosen: CostLineFilter) -> list[str]:
    """What is wrong with a hidden condition, which has no field on the page to stand beside."""
    hidden = {field.name for field in chosen.form.hidden_fields()}
    errors = chosen.form.errors.items()
    return [str(said) for name, found in errors if name in hidden for said in found]
