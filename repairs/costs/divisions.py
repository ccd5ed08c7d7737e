"""Divisions of a cost that are read from the members, the repairs and the words of each line."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from django.db.models import Count, Q, Sum

from materials.money import convert
from properties.models import Member
from repairs.costs.shares import Share, add_up
from repairs.models import CostLine, Repair
from repairs.models.costs import CostLineQuerySet


@dataclass(frozen=True)
class Tax:
    """Tax within the lines that say it, in the home currency; of how many lines it is known."""

    minor: int
    lines: int
    without: int


@dataclass(frozen=True)
class Divisions:
    by_member_kind: tuple[Share, ...]
    by_repair_kind: tuple[Share, ...]
    by_bearer: tuple[Share, ...]
    by_class: tuple[Share, ...]
    tax: Tax


class _Group(NamedTuple):
    """The lines that share all but their sums; a tax is turned into the home currency once for
    each rate, so that it is rounded once."""

    borne_by: str
    money_class: str
    currency: str
    rate: Decimal
    tax: int | None
    taxed: int
    lines: int
    total: int


def divisions_of(lines: CostLineQuerySet, home: str) -> Divisions:
    """From three passes over the lines, whose property adds up in the currency `home`; each
    reads one index that covers it."""
    groups = _groups(lines)
    bearers, classes = dict(CostLine.Bearer.choices), dict(CostLine.MoneyClass.choices)
    return Divisions(
        by_member_kind=_by_member_kind(lines),
        by_repair_kind=_by_repair_kind(lines, groups),
        by_bearer=add_up(groups, lambda group: group[0], lambda who: str(bearers[who]), "borne_by"),
        by_class=add_up(
            groups, lambda group: group[1], lambda name: str(classes[name]), "money_class"
        ),
        tax=_tax(groups, home),
    )


def _groups(lines: CostLineQuerySet) -> list[_Group]:
    groups = lines.order_by().values_list("borne_by", "money_class", "currency", "rate")
    summed = groups.annotate(
        tax=Sum("tax_minor"),
        taxed=Count("tax_minor"),
        lines=Count("pk"),
        total=Sum("home_minor"),
    )
    return [_Group._make(group) for group in summed]


def _by_member_kind(lines: CostLineQuerySet) -> tuple[Share, ...]:
    kinds = dict(Member.Kind.choices)
    groups = lines.order_by().values_list("member__kind").annotate(total=Sum("home_minor"))
    return add_up(
        groups,
        lambda group: group[0],
        lambda kind: "Not tied to a member" if kind is None else str(kinds[kind]),
        "member_kind",
    )


def _by_repair_kind(lines: CostLineQuerySet, groups: list[_Group]) -> tuple[Share, ...]:
    """Only lines on a repair are looked up; what is on none is the rest of all."""
    on_repairs = lines.filter(repair__isnull=False).order_by().values_list("repair__kind")
    found = list(on_repairs.annotate(lines=Count("pk"), total=Sum("home_minor")))
    rest = sum(group.lines for group in groups) - sum(count for _, count, _ in found)
    if rest:
        known = sum(total for *_, total in found)
        found.append((None, rest, sum(group.total for group in groups) - known))
    kinds = dict(Repair.Kind.choices)
    return add_up(
        found,
        lambda group: group[0],
        lambda kind: "Not on a repair" if kind is None else str(kinds[kind]),
        "repair_kind",
    )


def tax_within(lines: CostLineQuerySet, home: str) -> Tax:
    return _tax(_groups(lines), home)


def _tax(groups: list[_Group], home: str) -> Tax:
    by_rate: Counter[tuple[str, Decimal]] = Counter()
    for group in groups:
        by_rate[group.currency, group.rate] += group.tax or 0
    told = sum(group.taxed for group in groups)
    return Tax(
        minor=sum(
            tax if currency == home else convert(tax, currency, home, rate)
            for (currency, rate), tax in by_rate.items()
        ),
        lines=told,
        without=sum(group.lines for group in groups) - told,
    )


TAX_RECORDED = {"recorded": Q(tax_minor__isnull=False), "none": Q(tax_minor__isnull=True)}
