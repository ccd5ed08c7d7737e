"""What the rules are told of an entry: its figures, and what the records know beside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from materials.models import Lot, SheetRevision
from materials.shelf_life import LastUsableDay, last_usable_day
from properties.face_heat import surface_of
from properties.heat import ExpectedSurface
from properties.models import Defect, Member
from properties.models.members import YesNoUnknown, Zone
from repairs.logbook.entry import BatchEntry, PartEntry, RepairEntry, StageEntry
from repairs.models import Batch, Repair
from repairs.remarks import (
    BatchFacts,
    CauseFacts,
    LayerFacts,
    LotFacts,
    RepairFacts,
    SheetFacts,
    StageFacts,
)

SAME_NAMES = [
    field.name
    for field in fields(SheetFacts)
    if field.name not in {"product", "kind", "weight_ratio", "volume_ratio", "parts"}
]
# A reading older than this says nothing of the wood on the day of the work.
READING_HOLDS = timedelta(hours=24)


def first_known(*figures: Decimal | None) -> Decimal | None:
    """The first figure that is recorded; 0 is a figure."""
    return next((figure for figure in figures if figure is not None), None)


def sheet_facts(sheet: SheetRevision) -> SheetFacts:
    return SheetFacts(
        product=str(sheet.product),
        kind=sheet.product.kind,
        parts=sheet.product.parts,
        weight_ratio=sheet.weight_ratio(),
        volume_ratio=sheet.volume_ratio(),
        **{name: getattr(sheet, name) for name in SAME_NAMES},
    )


# The whole


def repair_facts(entry: RepairEntry) -> RepairFacts:
    member, place = entry.member, entry.member.building.property
    return RepairFacts(
        kind=entry.kind,
        temporary=entry.temporary,
        load_bearing=member.load_bearing,
        engineer_note=entry.engineer_note,
        lead_note=entry.lead_note,
        stages=(*_kinds_before(entry), *(stage.kind for stage in entry.stages)),
        causes=tuple(_causes(entry)),
        zone=Zone(entry.zone).label.lower(),
        earlier_here=_earlier_here(entry),
        paint_year=member.presumed_paint_year(),
        ban_year=place.lead_paint_ban_year,
        country=place.country,
        structural_concern=any(
            defect.structural_concern == YesNoUnknown.YES for defect in entry.defects
        ),
    )


def _kinds_before(entry: RepairEntry) -> Iterable[str]:
    return entry.continues.stages.values_list("kind", flat=True) if entry.continues else ()


def _causes(entry: RepairEntry) -> Iterable[CauseFacts]:
    for defect in (*entry.defects, entry.new_defect):
        if defect is not None:
            yield CauseFacts(Defect.Cause(defect.cause).label, defect.cause_state)


def _earlier_here(entry: RepairEntry) -> int:
    return earlier_here(entry.member, entry.zone, entry.began_at)


def earlier_here(member: Member, zone: str, before: datetime) -> int:
    """Repairs before a moment on the same zone; one of the whole member was on each zone."""
    return (
        Repair.objects.standing()
        .filter(member=member, zone__in={zone, Zone.WHOLE}, began_at__lt=before)
        .exclude(kind=Repair.Kind.REPAINT)
        .count()
    )


# Stages


def layers_in(position: int, stage: StageEntry) -> list[LayerFacts]:
    """What was put on in a stage: its own batches that were used, and earlier ones."""
    own = [
        _layer(position, stage, batch, _warmth(stage, batch))
        for batch in stage.batches
        if not batch.abandoned
    ]
    taken = [
        _layer(position, stage, earlier.batch, _warmth(stage, earlier.batch))
        for earlier in stage.earlier_batches
    ]
    return own + taken


def _warmth(stage: StageEntry, batch: BatchEntry | Batch) -> Decimal | None:
    """The surface where it was measured, else the air."""
    return first_known(batch.surface_c, stage.surface_c, batch.air_c, stage.air_c)


def _layer(
    position: int, stage: StageEntry, batch: BatchEntry | Batch, celsius: Decimal | None
) -> LayerFacts:
    return LayerFacts(
        position=position,
        stage=stage.kind,
        sheet=sheet_facts(batch.sheet),
        mixed_at=batch.mixed_at,
        applied_at=batch.applied_at,
        temperature_c=celsius,
    )


def stage_facts(
    index: int,
    stage: StageEntry,
    below: tuple[LayerFacts, ...],
    face: ExpectedSurface | None,
    moisture_pct: Decimal | None,
) -> StageFacts:
    used = [batch for batch in stage.batches if not batch.abandoned]
    return StageFacts(
        kind=stage.kind,
        began_at=stage.began_at,
        sheets=tuple(layer.sheet for layer in layers_in(index + 1, stage)),
        below=below,
        thickness_mm=stage.thickness_mm,
        air_c=stage.air_c,
        surface_c=stage.surface_c,
        humidity_pct=stage.humidity_pct,
        moisture_pct=first_known(stage.moisture_pct, moisture_pct),
        washed_and_abraded=stage.washed_and_abraded,
        face=face,
        weather_in_batches=bool(used)
        and all(first_known(batch.surface_c, batch.air_c) is not None for batch in used),
    )


def face_of(member: Member) -> ExpectedSurface | None:
    """How hot its face gets: as stated for it, else by the weather, else the usual figure."""
    return surface_of(member)


@dataclass(frozen=True)
class Readings:
    """Moisture readings of the entry's zone; the worst of the last day governs."""

    taken: tuple[tuple[datetime, Decimal], ...]

    @classmethod
    def around(cls, entry: RepairEntry) -> Readings:
        if not entry.stages:
            return cls(())
        began = [stage.began_at for stage in entry.stages]
        readings = entry.member.moisture_readings.filter(
            zone__in={entry.zone, Zone.WHOLE},
            taken_at__gte=min(began) - READING_HOLDS,
            taken_at__lte=max(began),
        )
        return cls(
            tuple(
                (
                    reading.taken_at,
                    first_known(reading.corrected_pct, reading.raw_pct) or Decimal(0),
                )
                for reading in readings
            )
        )

    def worst_before(self, at: datetime) -> Decimal | None:
        held = [pct for taken_at, pct in self.taken if at - READING_HOLDS <= taken_at <= at]
        return max(held, default=None)


# Batches


class Stock:
    """The lots of an entry as the records know them, in one query; it counts what is taken."""

    def __init__(self, entry: RepairEntry) -> None:
        wanted = {
            part.lot.pk for stage in entry.stages for batch in stage.batches for part in batch.parts
        }
        lots = (
            Lot.objects.filter(pk__in=wanted)
            .with_remaining()
            .select_related("product", "parent")
            .prefetch_related("product__sheets")
        )
        self.lots = {lot.pk: lot for lot in lots}
        self.remaining = {lot.pk: lot.remaining() for lot in self.lots.values()}

    def take(self, part: PartEntry, used_on: date) -> LotFacts:
        lot = self.lots[part.lot.pk]
        before = self.remaining[lot.pk]
        self.remaining[lot.pk] = before - part.amount
        return LotFacts(
            number=lot.number,
            product=str(lot.product),
            part=lot.part,
            used_as=part.part,
            amount=part.amount,
            unit=lot.unit,
            received_on=lot.received_on,
            shelf=shelf_on(lot, used_on),
            remaining=before,
            parent=lot.parent.number if lot.parent else None,
            held_back=lot.held_back,
            held_back_reason=lot.held_back_reason,
        )


def shelf_on(lot: Lot, on: date) -> LastUsableDay:
    """The lot's last usable day as it was known on a day: a later opening shortens nothing."""
    sheet = lot.product.sheet_on(lot.received_on)
    opened = lot.opened_on if lot.opened_on is not None and lot.opened_on <= on else None
    return last_usable_day(
        printed_expiry=lot.expires_on,
        made_on=lot.made_on,
        received_on=lot.received_on,
        opened_on=opened,
        unopened_months=sheet.shelf_life_unopened_months if sheet else None,
        opened_months=sheet.shelf_life_opened_months if sheet else None,
    )


def batch_facts(stage: StageEntry, batch: BatchEntry, used_on: date, stock: Stock) -> BatchFacts:
    return BatchFacts(
        sheet=sheet_facts(batch.sheet),
        lots=tuple(stock.take(part, used_on) for part in batch.parts),
        basis=batch.basis,
        mixed_at=batch.mixed_at,
        used_on=used_on,
        applied_at=batch.applied_at,
        air_c=first_known(batch.air_c, stage.air_c),
        surface_c=first_known(batch.surface_c, stage.surface_c),
        humidity_pct=first_known(batch.humidity_pct, stage.humidity_pct),
        thickness_mm=stage.thickness_mm,
        abandoned=batch.abandoned,
        weather_of_stage=all(
            getattr(batch, name) in (None, getattr(stage, name))
            for name in ("air_c", "surface_c", "humidity_pct")
        ),
    )


def earlier_batch_facts(stage: StageEntry, batch: Batch, zone: ZoneInfo) -> BatchFacts:
    """A batch mixed for other work, as this stage used it: its lots and ratio were judged then,
    and here only whether it was still workable."""
    return BatchFacts(
        sheet=sheet_facts(batch.sheet),
        lots=(),
        basis=batch.basis,
        mixed_at=batch.mixed_at,
        used_on=batch.mixed_at.astimezone(zone).date(),
        applied_at=max(stage.began_at, batch.mixed_at),
        thickness_mm=stage.thickness_mm,
    )
