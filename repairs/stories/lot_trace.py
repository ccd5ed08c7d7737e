"""Where a suspect lot went: from a lot to every batch, repair, member and building with its grams,
and back from repairs to their lots. A kit is followed through its A lot and its B lot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from django.db.models import OuterRef, Prefetch, Q, Subquery, Sum, prefetch_related_objects

from materials.lot_state import parts_of
from materials.models import Lot, Movement, Product
from materials.models.lot_queries import exact
from properties.models import Member
from repairs.logbook.book_batch import split_amount
from repairs.models import Batch, BatchPart, BatchShare, Repair, Stage
from repairs.models.repairs import RepairQuerySet

NOTHING = Decimal(0)
Went = Literal["stage", "waste", "left"]
NOT_LINKED_WORDS = {
    Movement.Kind.USED: "Used, with no batch recorded",
    Movement.Kind.WASTED: "Wasted in the stores",
    Movement.Kind.DISCARDED: "Thrown away",
    Movement.Kind.COUNTED: "Found by counting",
}


@dataclass(frozen=True)
class Placing:
    """So much of one lot, out of one batch, and where it went; `left` is not yet placed."""

    part: BatchPart
    amount: Decimal
    went: Went
    stage: Stage | None
    given_back: bool

    @property
    def batch(self) -> Batch:
        return self.part.batch

    @property
    def repair(self) -> Repair | None:
        """The repair it went into; of waste, the one that it was mixed for."""
        stage = self.stage or self.batch.mixed_for
        return stage.repair if stage else None

    @property
    def member(self) -> Member | None:
        return self.repair.member if self.repair else None


@dataclass(frozen=True)
class NotLinked:
    """What left a lot, or was found, by lines of the ledger that belong to no batch."""

    words: str
    amount: Decimal


@dataclass(frozen=True)
class LotTrace:
    """`received` − `in_batches` + the amounts not linked = `remaining`."""

    lot: Lot
    placings: tuple[Placing, ...]
    not_linked: tuple[NotLinked, ...]
    received: Decimal
    remaining: Decimal

    @property
    def in_batches(self) -> Decimal:
        return sum((each.amount for each in self.placings if not each.given_back), NOTHING)


def trace(lot: Lot) -> tuple[LotTrace, ...]:
    """One trace per lot that holds stock: of a kit that of its A lot and that of its B lot."""
    return _traces(parts_of(lot), Q(lot=lot) | Q(lot__parent=lot))


def trace_product(product: Product) -> tuple[LotTrace, ...]:
    """The same for every lot of a product that holds stock, in as many queries as for one."""
    lots = Lot.objects.filter(product=product).exclude(part=Lot.Part.KIT)
    return _traces(list(lots.order_by("number", "part", "pk")), Q(lot__product=product))


def _traces(lots: list[Lot], which: Q) -> tuple[LotTrace, ...]:
    parts = defaultdict(list)
    for part in _parts(which):
        parts[part.lot_id].append(part)
    lines = Movement.objects.select_related("entered_by")
    prefetch_related_objects(lots, Prefetch("movements", queryset=lines))
    return tuple(_trace(each, parts[each.pk]) for each in lots)


def lots_in(repairs: RepairQuerySet) -> dict[Lot, Decimal]:
    """How much of which lot stands in these repairs; what was withdrawn or wasted does not."""
    into = set(repairs.values_list("pk", flat=True))
    found: dict[int, Decimal] = defaultdict(Decimal)
    batches = Batch.objects.filter(shares__stage__repair__in=repairs)
    for part in _parts(Q(batch__in=batches.values("pk"))):
        for placing in _placings(part):
            if placing.stage and placing.stage.repair_id in into and not placing.given_back:
                found[part.lot_id] += placing.amount
    lots = Lot.objects.with_remaining().with_parents().in_bulk(found)
    return {lots[pk]: amount for pk, amount in found.items()}


def batch_of(line: Movement) -> BatchPart | None:
    """The part of a batch that a line of the ledger booked, also as its waste."""
    booked = BatchPart.objects.filter(Q(movement=line) | Q(waste_movement=line))
    return booked.select_related("batch__mixed_for__repair__member").first()


def _parts(which: Q) -> list[BatchPart]:
    place = "repair__member__building__property"
    shares = BatchShare.objects.select_related(f"stage__{place}")
    of_batch = BatchPart.objects.filter(batch=OuterRef("batch")).order_by().values("batch")
    whole = of_batch.annotate(total=Sum("amount")).values("total")
    return list(
        BatchPart.objects.filter(which)
        .select_related(
            "lot__product",
            "batch__sheet__product",
            f"batch__mixed_for__{place}",
            "movement__reversed_by",
        )
        .annotate(batch_total=Subquery(whole))
        .prefetch_related("batch__remarks", Prefetch("batch__shares", queryset=shares))
        .order_by("batch__mixed_at", "batch", "part", "pk")
    )


def _placings(part: BatchPart) -> Iterator[Placing]:
    """A part goes where its batch went, in the same proportions, exact to the ledger's step."""
    shares = list(part.batch.shares.all())
    total = exact(part.batch_total)  # type: ignore[attr-defined]
    left = total - sum((share.amount for share in shares), NOTHING)
    weights = [share.amount for share in shares] + ([left] if left > 0 else [])
    given_back = hasattr(part.movement, "reversed_by")
    for place, amount in enumerate(split_amount(part.amount, weights)):
        share = shares[place] if place < len(shares) else None
        stage = share.stage if share else None
        went: Went = "left" if share is None else "stage" if stage else "waste"
        yield Placing(part, amount, went, stage, given_back)


def _trace(lot: Lot, parts: list[BatchPart]) -> LotTrace:
    lines = list(lot.movements.all())
    return LotTrace(
        lot=lot,
        placings=tuple(placing for part in parts for placing in _placings(part)),
        not_linked=tuple(_not_linked(lines, parts)),
        received=sum(
            (line.amount for line in lines if line.kind == Movement.Kind.RECEIVED), NOTHING
        ),
        remaining=sum((line.amount for line in lines), NOTHING),
    )


def _not_linked(lines: list[Movement], parts: list[BatchPart]) -> Iterator[NotLinked]:
    booked = {part.movement_id for part in parts} | {part.waste_movement_id for part in parts}
    sums: dict[str, Decimal] = defaultdict(Decimal)
    for line in lines:
        if line.pk not in booked and (line.reverses_id is None or line.reverses_id not in booked):
            sums[line.kind] += line.amount
    for kind, words in NOT_LINKED_WORDS.items():
        if sums[kind]:
            yield NotLinked(words, sums[kind])
