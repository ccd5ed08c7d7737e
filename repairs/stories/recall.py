"""Where a suspect lot, product or sheet revision went: each repair with its grams, its owner and
how it stands today. Page, document, workbook and the looks that are set all read this one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch, prefetch_related_objects
from django.urls import reverse

from materials.models import Lot, Product, SheetRevision
from properties.models import Ownership, Property
from repairs.models import Batch, BatchShare, Repair, Stage
from repairs.stories.lot_trace import LotTrace, Placing, trace, trace_product

NOT_RECORDED = "Not recorded"
NO_LOT = "No lot recorded"
PLACE = "repair__member__building__property"


@dataclass(frozen=True)
class Subject:
    """What is called back: one lot, what was mixed by one sheet revision, or a whole product."""

    product: Product
    lot: Lot | None = None
    sheet: SheetRevision | None = None

    @property
    def words(self) -> str:
        if self.lot is not None:
            return f"lot {self.lot.number} of {self.product}"
        if self.sheet is not None:
            return f"{self.product}, {self.sheet.revision} of its data sheet"
        return f"all lots of {self.product}"

    @property
    def what(self) -> str:
        return "lot" if self.lot else "sheet" if self.sheet else "product"

    @property
    def pk(self) -> int:
        return (self.lot or self.sheet or self.product).pk

    def get_absolute_url(self) -> str:
        return reverse("recall", args=[self.what, self.pk])


@dataclass(frozen=True)
class Use:
    """So much out of one batch, in one stage of a repair. `lot` is None where no lot is recorded
    for the batch, `amount` where none is recorded for the stage."""

    batch: Batch
    stage: Stage
    lot: Lot | None
    amount: Decimal | None
    unit: str

    @property
    def lot_words(self) -> str:
        return f"{self.lot.number}, {self.lot.get_part_display()}" if self.lot else NO_LOT


@dataclass(frozen=True)
class Affected:
    """One repair that holds some of it; `possibly` where only batches without a lot say so."""

    repair: Repair
    uses: tuple[Use, ...]
    owner: str
    contact: str
    standing: str
    stands: bool
    possibly: bool

    @property
    def place(self) -> Property:
        return self.repair.member.building.property

    def mixed_on(self) -> list[date]:
        return sorted({self.place.day_of(use.batch.mixed_at) for use in self.uses})

    @property
    def state(self) -> str:
        return str(self.repair.get_state_display()).partition(":")[0]


@dataclass(frozen=True)
class Account:
    """Where all of one lot is: `received` is the sum of the others, `not_linked` being what left
    by lines of no batch, or below nought what came. Of a sheet revision only its own batches
    count, and `received` and `remaining` are None."""

    lot: Lot
    in_repairs: Decimal
    wasted: Decimal
    not_placed: Decimal
    not_linked: tuple[tuple[str, Decimal], ...]
    received: Decimal | None = None
    remaining: Decimal | None = None

    def is_empty(self) -> bool:
        return not (self.in_repairs or self.wasted or self.not_placed or self.not_linked)


@dataclass(frozen=True)
class Recall:
    subject: Subject
    on: date
    affected: tuple[Affected, ...]
    accounts: tuple[Account, ...]
    elsewhere: int  # repairs on properties that the reader may not see
    withdrawn: int

    @property
    def sure(self) -> list[Affected]:
        return [each for each in self.affected if not each.possibly]

    @property
    def possible(self) -> list[Affected]:
        return [each for each in self.affected if each.possibly]

    @property
    def lead(self) -> str:
        subject = self.subject.words[:1].upper() + self.subject.words[1:]
        sure, possible = self.sure, len(self.possible)
        if not self.affected:
            return f"{subject}: no repair that you may see holds any of it."
        members = len({each.repair.member_id for each in sure})
        places = len({each.place.pk for each in sure})
        words = (
            f"{subject} went into {_counted(len(sure), 'repair')} on "
            f"{_counted(members, 'member')} at {_counted(places, 'property')}; "
            f"{sum(each.stands for each in sure)} still in place."
        )
        if possible:
            words += f" {_counted(possible, 'further repair')} may hold some: no lot is recorded."
        return words


def recall_of(subject: Subject, on: date, visible: set[int] | None) -> Recall:
    """`visible` are the properties whose names may be told; None for all of them."""
    traces = trace(subject.lot) if subject.lot else trace_product(subject.product)
    placings = [each for one in traces for each in one.placings if _is_meant(each, subject)]
    uses = [use for placing in placings if (use := _use(placing)) is not None]
    without_lot = list(_uses_without_lot(subject, traces))
    told = [u for u in (*uses, *without_lot) if _sees(u, visible)]
    hidden = {u.stage.repair_id for u in uses if not _sees(u, visible)}
    return Recall(
        subject=subject,
        on=on,
        affected=tuple(_affected(told, on, subject)),
        accounts=tuple(_accounts(traces, placings, subject)),
        elsewhere=len(hidden),
        withdrawn=len({p.repair.pk for p in placings if p.given_back and p.repair}),
    )


def _is_meant(placing: Placing, subject: Subject) -> bool:
    return subject.sheet is None or placing.batch.sheet_id == subject.sheet.pk


def _use(placing: Placing) -> Use | None:
    """None for what is not in the building: waste, what is left over, what was given back."""
    if placing.stage is None or placing.given_back:
        return None
    lot = placing.part.lot
    return Use(placing.batch, placing.stage, lot, placing.amount, lot.unit)


def _uses_without_lot(subject: Subject, traces: tuple[LotTrace, ...]) -> Iterator[Use]:
    """Batches of the product that name no lot at all: they may hold any that had come by then."""
    batches = Batch.objects.filter(sheet__product=subject.product, parts__isnull=True).exclude(
        mixed_for__repair__state=Repair.State.WITHDRAWN
    )
    if subject.sheet is not None:
        batches = batches.filter(sheet=subject.sheet)
    if subject.lot is not None:
        # By the calendar of any place on earth.
        came = datetime.combine(subject.lot.received_on, time(), UTC) - timedelta(days=1)
        batches = batches.filter(mixed_at__gte=came)
    shares = BatchShare.objects.filter(stage__isnull=False).select_related(f"stage__{PLACE}")
    unit = traces[0].lot.unit if traces else Lot.Unit.GRAM
    found = batches.select_related(f"mixed_for__{PLACE}")
    for batch in found.prefetch_related(Prefetch("shares", queryset=shares)):
        into: list[tuple[Stage | None, Decimal | None]] = [
            (share.stage, share.amount) for share in batch.shares.all()
        ]
        for stage, amount in into or [(batch.mixed_for, None)]:
            if stage is not None and stage.repair.state != Repair.State.WITHDRAWN:
                yield Use(batch, stage, None, amount, unit)


def _sees(use: Use, visible: set[int] | None) -> bool:
    return visible is None or use.stage.repair.member.building.property_id in visible


def _affected(uses: list[Use], on: date, subject: Subject) -> list[Affected]:
    by_repair: dict[int, list[Use]] = defaultdict(list)
    for use in uses:
        by_repair[use.stage.repair_id].append(use)
    repairs = {pk: found[0].stage.repair for pk, found in by_repair.items()}
    _read_beside(list(repairs.values()))
    rows = []
    for pk, repair in repairs.items():
        owner = repair.member.building.property.owner_on(on)
        standing = standing_words(repair, on)
        rows.append(
            Affected(
                repair=repair,
                uses=tuple(sorted(by_repair[pk], key=_mixed)),
                owner=owner.name if owner else NOT_RECORDED,
                contact=owner.contact if owner else "",
                standing=standing or "In place",
                stands=not standing,
                possibly=subject.lot is not None and all(u.lot is None for u in by_repair[pk]),
            )
        )
    return sorted(rows, key=_order)


def _mixed(use: Use) -> tuple[datetime, int]:
    return use.batch.mixed_at, use.batch.pk


def _order(row: Affected) -> tuple[Any, ...]:
    member = row.repair.member
    building = member.building
    return (
        row.possibly, row.place.name, row.place.pk, building.name, member.mark,
        row.repair.began_at, row.repair.pk,
    )  # fmt: skip


def _read_beside(repairs: list[Repair]) -> None:
    """Owners and elevations of all of them, in a query each."""
    places = [repair.member.building.property for repair in repairs]
    owners = Ownership.objects.select_related("owner")
    prefetch_related_objects(places, Prefetch("ownerships", queryset=owners))
    prefetch_related_objects([repair.member for repair in repairs], "elevation")


def standing_words(repair: Repair, on: date) -> str:
    """Why nobody looks at it any more; empty while it stands and is looked after."""
    member = repair.member
    building = member.building
    for day, words in (
        (member.removed_on, "Member taken out"),
        (building.demolished_on, "Building demolished"),
        (building.property.given_up_on, "Property given up"),
    ):
        if day is not None and day <= on:
            return f"{words} {day:%-d %B %Y}"
    return ""


def _accounts(
    traces: tuple[LotTrace, ...], placings: list[Placing], subject: Subject
) -> Iterator[Account]:
    sums: dict[tuple[int, str], Decimal] = defaultdict(Decimal)
    for placing in placings:
        if not placing.given_back:
            sums[placing.part.lot_id, placing.went] += placing.amount
    whole = subject.sheet is None
    for traced in traces:
        pk = traced.lot.pk
        account = Account(
            lot=traced.lot,
            in_repairs=sums[pk, "stage"],
            wasted=sums[pk, "waste"],
            not_placed=sums[pk, "left"],
            not_linked=tuple((line.words, -line.amount) for line in traced.not_linked),
            received=traced.received if whole else None,
            remaining=traced.remaining if whole else None,
        )
        if whole or not account.is_empty():
            yield account


def _counted(number: int, word: str) -> str:
    if number == 1:
        return f"one {word}"
    return f"{number:,} {word[:-1]}ies" if word.endswith("y") else f"{number:,} {word}s"
