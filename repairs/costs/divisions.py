"""Divisions of a cost that are read from the members, the repairs and the words of each line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

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


def divisions_of(lines: CostLineQuerySet, home: str) -> Divisions:
    """From three passes over the lines, whose property adds up in the currency `home`."""
    groups = list(
        lines.order_by()
        .values_list("repair__kind", "borne_by", "money_class")
        .annotate(**_tax_sums(home), total=Sum("home_minor"))
    )
    repairs, bearers = dict(Repair.Kind.choices), dict(CostLine.Bearer.choices)
    classes = dict(CostLine.MoneyClass.choices)
    return Divisions(
        by_member_kind=_by_member_kind(lines),
        by_repair_kind=add_up(
            groups,
            lambda group: group[0],
            lambda kind: "Not on a repair" if kind is None else str(repairs[kind]),
            "repair_kind",
        ),
        by_bearer=add_up(groups, lambda group: group[1], lambda who: str(bearers[who]), "borne_by"),
        by_class=add_up(
            groups, lambda group: group[2], lambda name: str(classes[name]), "money_class"
        ),
        tax=_tax([group[3:6] for group in groups], lines, home),
    )


def _by_member_kind(lines: CostLineQuerySet) -> tuple[Share, ...]:
    kinds = dict(Member.Kind.choices)
    groups = lines.order_by().values_list("member__kind").annotate(total=Sum("home_minor"))
    return add_up(
        groups,
        lambda group: group[0],
        lambda kind: "Not tied to a member" if kind is None else str(kinds[kind]),
        "member_kind",
    )


def tax_within(lines: CostLineQuerySet, home: str) -> Tax:
    found = lines.order_by().aggregate(**_tax_sums(home))
    return _tax([tuple(found[name] for name in ("tax", "lines", "taxed"))], lines, home)


def _tax_sums(home: str) -> dict[str, Any]:
    return {
        "tax": Sum("tax_minor", filter=Q(currency=home)),
        "lines": Count("pk"),
        "taxed": Count("tax_minor"),
    }


def _tax(groups: list[tuple[Any, ...]], lines: CostLineQuerySet, home: str) -> Tax:
    told = sum(taxed for _tax, _lines, taxed in groups)
    return Tax(
        minor=sum(tax or 0 for tax, _lines, _taxed in groups) + _foreign_tax(lines, home),
        lines=told,
        without=sum(count for _tax, count, _taxed in groups) - told,
    )


def _foreign_tax(lines: CostLineQuerySet, home: str) -> int:
    """Turned into the home currency once for each rate."""
    groups = (
        lines.filter(tax_minor__isnull=False)
        .exclude(currency=home)
        .order_by()
        .values_list("currency", "rate")
        .annotate(tax=Sum("tax_minor"))
    )
    return sum(convert(tax, currency, home, rate) for currency, rate, tax in groups)


TAX_RECORDED = {"recorded": Q(tax_minor__isnull=False), "none": Q(tax_minor__isnull=True)}
