"""The act of writing cost lines. Lines are only ever added: money is put right by a further line.

Money is in minor units of its own currency; `home_minor` is in the property's, at the rate of
the day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from materials.money import convert, split_minor
from properties.models import Member
from repairs.models import CostLine, SharedCost

if TYPE_CHECKING:
    from django.contrib.auth.models import User

_COPIED = (
    "building_id",
    "elevation_id",
    "member_id",
    "repair_id",
    "stage_id",
    "batch_id",
    "shared_id",
    "kind",
    "cause",
    "currency",
    "rate",
    "borne_by",
    "money_class",
    "supplier",
    "invoice",
)


class LedgerRefusal(ValueError):
    """Why a line cannot be written, as a sentence for the person."""


class RateMissing(LedgerRefusal):
    def __init__(self, currency: str, home: str, on: date) -> None:
        self.currency, self.home = currency, home
        super().__init__(
            f"Type what 1 {currency} was worth in {home} on {on:%-d %B %Y}: "
            f"this property adds up in {home}."
        )


class AlreadyReversed(LedgerRefusal):
    def __init__(self, line: CostLine) -> None:
        super().__init__(f"“{line}” was already reversed; it counts for nothing now.")


class NoWeight(LedgerRefusal):
    def __init__(self, member: Member, missing: str) -> None:
        self.member = member
        super().__init__(
            f"{member.mark} has no {missing} recorded, so its share is not known. "
            "Record it, or split by another rule."
        )


@dataclass(frozen=True)
class SplitAmount:
    """One member's share of a shared cost, and of the tax within it."""

    member: Member
    amount_minor: int
    tax_minor: int | None


def post(
    line: CostLine, by: User | None, rate: Decimal | None = None, home_minor: int | None = None
) -> CostLine:
    """Write one line. `rate` is what one unit of its currency was worth in the property's;
    `home_minor` is given where shares must add up in the property's currency too."""
    home = line.building.property.currency
    line.set_day()
    if line.currency != home and rate is None:
        raise RateMissing(line.currency, home, line.counts_on)
    line.rate = Decimal(1) if line.currency == home or rate is None else rate
    if home_minor is None:
        home_minor = convert(line.amount_minor, line.currency, home, line.rate)
    line.home_minor = home_minor
    line.entered_by = by
    # The foreign keys come from rows read just now, and the database guards them again.
    line.clean_fields(exclude=_FOREIGN_KEYS)
    line.clean()
    try:
        with transaction.atomic():
            line.save(force_insert=True)
    except IntegrityError:
        # Asked only now, as the database has judged them already: it says which, in a sentence.
        line.pk = None
        line.validate_constraints()
        raise
    return line


_FOREIGN_KEYS = {
    "building",
    "elevation",
    "member",
    "repair",
    "stage",
    "batch",
    "shared",
    "reverses",
    "entered_by",
}


@transaction.atomic
def reverse(line: CostLine, by: User | None, on: date, reason: str) -> CostLine:
    """Take a line back by a line of the opposite amount, which counts on its own day."""
    CostLine.objects.select_for_update().get(pk=line.pk)
    if CostLine.objects.filter(reverses=line).exists():
        raise AlreadyReversed(line)
    if line.reverses_id is not None:
        raise LedgerRefusal("This line takes another back. Enter the right amount as a new line.")
    return _take_back(line, by, on, reason)


def _take_back(line: CostLine, by: User | None, on: date, reason: str) -> CostLine:
    against = CostLine(
        **{name: getattr(line, name) for name in _COPIED},
        reverses=line,
        description=f"Taken back: {reason}"[:200],
        amount_minor=-line.amount_minor,
        home_minor=-line.home_minor,
        tax_minor=None if line.tax_minor is None else -line.tax_minor,
        worked_on=on,
        entered_by=by,
    )
    against.save(force_insert=True)
    return against


def weights_for(
    rule: str, members: Iterable[Member], stated: Mapping[Member, Decimal] | None = None
) -> dict[Member, Decimal]:
    """What each member weighs in a split; `stated` holds its hours or its stated parts."""
    weights: dict[Member, Decimal] = {}
    for member in members:
        if rule == SharedCost.Rule.EQUAL:
            weights[member] = Decimal(1)
        elif rule == SharedCost.Rule.LENGTH:
            if member.length_mm is None:
                raise NoWeight(member, "length")
            weights[member] = member.length_mm
        else:
            if stated is None or stated.get(member) is None:
                raise NoWeight(member, "hours" if rule == SharedCost.Rule.HOURS else "part")
            weights[member] = stated[member]
    return weights


def split_amounts(
    total_minor: int, tax_minor: int | None, weights: Mapping[Member, Decimal]
) -> list[SplitAmount]:
    """The shares of an amount; their sum is the amount to the minor unit."""
    if not weights or any(weight < 0 for weight in weights.values()) or not any(weights.values()):
        raise LedgerRefusal("Pick the members that share this cost; no share is below zero.")
    parts = list(weights.values())
    amounts = split_minor(total_minor, parts)
    taxes = split_minor(tax_minor, parts) if tax_minor is not None else [None] * len(parts)
    return [
        SplitAmount(member, amount, tax)
        for member, amount, tax in zip(weights, amounts, taxes, strict=True)
    ]


@transaction.atomic
def split_shared(
    shared: SharedCost,
    weights: Mapping[Member, Decimal],
    pattern: CostLine,
    by: User | None,
    rate: Decimal | None = None,
) -> list[CostLine]:
    """Write a shared cost as one line per member. `pattern` says the kind, dates and supplier,
    and the tax within the whole; a share of nothing gets no line."""
    shares = split_amounts(shared.total_minor, pattern.tax_minor, weights)
    home = _one_home(weights)
    if shared.currency != home and rate is None:
        raise RateMissing(shared.currency, home, pattern.invoiced_on or pattern.worked_on)
    # Split in both currencies, so that the shares add up to the whole in each.
    home_total = convert(shared.total_minor, shared.currency, home, rate)
    homes = split_minor(home_total, list(weights.values()))
    shared.entered_by = by
    shared.full_clean()
    shared.save()
    return [
        post(_share_line(pattern, shared, share), by, rate, home_minor)
        for share, home_minor in zip(shares, homes, strict=True)
        if share.amount_minor
    ]


def _one_home(members: Iterable[Member]) -> str:
    homes = {member.building.property.currency for member in members}
    if len(homes) != 1:
        raise LedgerRefusal(
            "These members stand on properties of different currencies. "
            "Enter one shared cost for each currency."
        )
    return homes.pop()


def _share_line(pattern: CostLine, shared: SharedCost, share: SplitAmount) -> CostLine:
    member = share.member
    return CostLine(
        building=member.building,
        elevation_id=member.elevation_id,
        member=member,
        shared=shared,
        kind=pattern.kind,
        cause=pattern.cause,
        currency=shared.currency,
        description=pattern.description or shared.description,
        amount_minor=share.amount_minor,
        tax_minor=share.tax_minor,
        borne_by=pattern.borne_by,
        money_class=pattern.money_class,
        supplier=pattern.supplier,
        invoice=pattern.invoice,
        worked_on=pattern.worked_on,
        invoiced_on=pattern.invoiced_on,
        paid_on=pattern.paid_on,
    )


def standing_lines(shared: SharedCost) -> list[CostLine]:
    """The shares that still count: neither taken back nor taking another back."""
    lines = CostLine.objects.filter(shared=shared).order_by("pk")
    return lines.select_related("building__property", "member__building__property").standing()


@transaction.atomic
def reverse_shared(shared: SharedCost, by: User | None, on: date, reason: str) -> list[CostLine]:
    """Take all shares back at once, each by its own amount."""
    SharedCost.objects.select_for_update().get(pk=shared.pk)
    lines = standing_lines(shared)
    if not lines:
        raise LedgerRefusal(f"“{shared}” was already taken back.")
    return [_take_back(line, by, on, reason) for line in lines]


@transaction.atomic
def credit_shared(
    shared: SharedCost,
    amount_minor: int,
    by: User | None,
    on: date,
    reason: str,
    tax_minor: int | None = None,
    invoice: str = "",
) -> SharedCost:
    """Money back on a shared cost (`amount_minor` above zero says how much), by the same split
    as the cost itself and on its own day; the tax within it goes back the same way."""
    lines = standing_lines(shared)
    if not lines:
        raise LedgerRefusal(f"“{shared}” was taken back, so there is nothing to credit.")
    if amount_minor <= 0:
        raise ValidationError({"amount_minor": "Type how much came back, above zero."})
    weights = [Decimal(abs(line.amount_minor)) for line in lines]
    amounts = split_minor(amount_minor, weights)
    taxes = split_minor(tax_minor, weights) if tax_minor is not None else [None] * len(lines)
    credit = SharedCost.objects.create(
        description=f"Credit: {shared.description}"[:200],
        rule=shared.rule,
        total_minor=-amount_minor,
        currency=shared.currency,
        entered_by=by,
    )
    for line, amount, tax in zip(lines, amounts, taxes, strict=True):
        if amount:
            post(_credit_line(line, credit, amount, tax, on, reason, invoice), by, line.rate)
    return credit


def _credit_line(
    line: CostLine,
    credit: SharedCost,
    amount: int,
    tax: int | None,
    on: date,
    reason: str,
    invoice: str,
) -> CostLine:
    return CostLine(
        building=line.building,
        elevation_id=line.elevation_id,
        member=line.member,
        repair_id=line.repair_id,
        shared=credit,
        kind=CostLine.Kind.CREDIT,
        cause=line.cause,
        currency=line.currency,
        description=reason[:200],
        amount_minor=-amount,
        tax_minor=None if tax is None else -tax,
        borne_by=line.borne_by,
        money_class=line.money_class,
        supplier=line.supplier,
        invoice=invoice,
        worked_on=on,
        invoiced_on=on if invoice else None,
    )
