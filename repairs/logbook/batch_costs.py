"""What the material of a batch cost, and which repairs bear it.

The whole cost of a batch stands on the repairs that it served, in proportion to the grams that
each took; waste and what is left over follow in the same proportion. When a later repair takes
some, the earlier lines are taken back and new ones written, so that the sum never changes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from materials.models import Lot
from materials.money import split_minor
from properties.models import Defect
from repairs.costs.ledger import post, reverse
from repairs.models import Batch, BatchPart, BatchShare, CostLine, Repair, Stage

if TYPE_CHECKING:
    from django.contrib.auth.models import User

    from repairs.logbook.entry import PartEntry


def part_costs(parts: Sequence[PartEntry]) -> list[int | None]:
    """What each part cost, in its lot's currency; parts of one kit add up to the kit's share."""
    costs: list[int | None] = [None] * len(parts)
    for places in _by_price(parts).values():
        group = [parts[place] for place in places]
        total = _price_of(group)
        if total is None:
            continue
        shares = split_minor(total, [part.amount for part in group])
        for place, share in zip(places, shares, strict=True):
            costs[place] = share
    return costs


def _by_price(parts: Sequence[PartEntry]) -> dict[int, list[int]]:
    """The places of the parts that were bought at one price: those of one kit together."""
    places: dict[int, list[int]] = defaultdict(list)
    for place, part in enumerate(parts):
        places[_priced_lot(part.lot).pk].append(place)
    return places


def _priced_lot(lot: Lot) -> Lot:
    return lot if lot.parent is None or lot.price_minor is not None else lot.parent


def _price_of(group: Sequence[PartEntry]) -> int | None:
    fractions = {part.kit_fraction for part in group}
    kit = _priced_lot(group[0].lot)
    if len(fractions) == 1 and kit.part == Lot.Part.KIT:
        fraction = fractions.pop()
        if fraction is not None:
            return kit.cost_of_kits(fraction)
    return group[0].lot.cost_of(sum((part.amount for part in group), Decimal(0)))


def currency_of(lot: Lot) -> str:
    """The currency of the price that a lot was bought at."""
    return _priced_lot(lot).currency


def priced_in(lot: Lot) -> str:
    """The same, empty where no price is recorded and so no money moves."""
    return "" if _priced_lot(lot).price_minor is None else currency_of(lot)


@dataclass(frozen=True)
class Booking:
    """Whose act moves the money of a batch, and by which rates."""

    repair: Repair
    by: User | None
    on: date
    rates: Mapping[str, Decimal]
    borne_by: str
    cause: str


def place_costs(batch: Batch, booking: Booking) -> None:
    """Make the cost lines of a batch agree with where its grams went."""
    parts = list(BatchPart.objects.filter(batch=batch).select_related("lot__parent"))
    totals: dict[str, int] = defaultdict(int)
    for part in parts:
        if part.cost_minor:
            totals[currency_of(part.lot)] += part.cost_minor
    weights = _weights(batch)
    of_batch = CostLine.objects.filter(batch=batch)
    standing = of_batch.select_related("repair", "stage", "building__property").standing()
    for currency, total in totals.items():
        shares = split_minor(total, list(weights.values()))
        wanted = dict(zip(weights, shares, strict=True))
        lines = {line.stage_id: line for line in standing if line.currency == currency}
        _agree(batch, currency, wanted, lines, booking)


def _weights(batch: Batch) -> dict[Stage, Decimal]:
    """The grams by stage; a batch that served no stage stays with the one it was mixed for."""
    shares = BatchShare.objects.filter(batch=batch, stage__isnull=False).exclude(
        stage__repair__state=Repair.State.WITHDRAWN
    )
    weights = {
        share.stage: share.amount
        for share in shares.select_related("stage__repair__member__building__property")
        if share.stage is not None
    }
    if not weights and batch.mixed_for is not None:
        weights = {batch.mixed_for: Decimal(1)}
    return weights


def _agree(
    batch: Batch,
    currency: str,
    wanted: Mapping[Stage, int],
    lines: Mapping[int | None, CostLine],
    booking: Booking,
) -> None:
    amounts = {stage.pk: amount for stage, amount in wanted.items()}
    for stage_pk, line in lines.items():
        if amounts.get(stage_pk or 0) != line.amount_minor:
            reverse(line, booking.by, booking.on, f"batch shared again by weight: {line}")
    for stage, amount in wanted.items():
        earlier = lines.get(stage.pk)
        if not amount or (earlier is not None and earlier.amount_minor == amount):
            continue
        line = _material_line(batch, stage, amount, currency, booking)
        rate = booking.rates.get(currency)
        if earlier is not None:
            line.borne_by, line.cause, rate = earlier.borne_by, earlier.cause, earlier.rate
        elif stage.repair_id != booking.repair.pk:
            line.borne_by, line.cause = CostLine.Bearer.OWNER, cause_of(stage.repair)
        post(line, booking.by, rate)


def cause_of(repair: Repair) -> str:
    """The cause of the first defect that a repair answers."""
    defect = repair.defects.order_by("pk").first()
    return Defect.Cause.UNKNOWN if defect is None else defect.cause


def _material_line(
    batch: Batch, stage: Stage, amount: int, currency: str, booking: Booking
) -> CostLine:
    member = stage.repair.member
    parts = BatchPart.objects.filter(batch=batch).select_related("lot")
    numbers = ", ".join(dict.fromkeys(part.lot.number for part in parts))
    return CostLine(
        building=member.building,
        elevation_id=member.elevation_id,
        member=member,
        repair=stage.repair,
        stage=stage,
        batch=batch,
        kind=CostLine.Kind.MATERIAL,
        cause=booking.cause,
        borne_by=booking.borne_by,
        amount_minor=amount,
        currency=currency,
        worked_on=booking.on,
        description=f"{batch.sheet.product}, lots {numbers}"[:200],
    )
