"""Asking every rule about an entry, and putting each remark where it belongs."""

from __future__ import annotations

from collections.abc import Iterator

from repairs.curing import CureEstimate
from repairs.logbook.entry import RepairEntry, StageEntry
from repairs.logbook.facts import (
    Readings,
    Stock,
    batch_facts,
    earlier_batch_facts,
    face_of,
    layers_in,
    repair_facts,
    stage_facts,
)
from repairs.logbook.going_on import last_position, layers_saved, said_already
from repairs.logbook.placed import PlacedRemark, Where, numbered, placed
from repairs.remarks import (
    LayerFacts,
    batch_remarks,
    layer_cure,
    repair_remarks,
    stage_remarks,
)


def remarks_by_rule(entry: RepairEntry) -> tuple[PlacedRemark, ...]:
    whole, answered = Where(), said_already(entry.continues)
    return numbered(
        [
            *(
                placed(whole, remark)
                for remark in repair_remarks(repair_facts(entry))
                if remark.code not in answered
            ),
            *_in_stages(entry),
        ]
    )


def _in_stages(entry: RepairEntry) -> Iterator[PlacedRemark]:
    zone, face = entry.member.building.property.zone, face_of(entry.member)
    readings, stock = Readings.around(entry), Stock(entry)
    below: list[LayerFacts] = layers_saved(entry.continues) if entry.continues else []
    before = last_position(entry.continues)
    for index, stage in enumerate(entry.stages):
        where = Where(index)
        moisture = readings.worst_before(stage.began_at)
        facts = stage_facts(index, stage, tuple(below), face, moisture)
        yield from (placed(where, remark) for remark in stage_remarks(facts))
        for number, batch in enumerate(stage.batches):
            used_on = batch.mixed_at.astimezone(zone).date()
            said = batch_remarks(batch_facts(stage, batch, used_on, stock))
            yield from (placed(Where(index, number), remark) for remark in said)
        for earlier in stage.earlier_batches:
            said = batch_remarks(earlier_batch_facts(stage, earlier.batch, zone))
            yield from (placed(where, remark) for remark in said)
        below += layers_in(before + index + 1, stage)


def cure_of(stage: StageEntry) -> CureEstimate | None:
    """The cure of the batch that takes longest; None for a stage that nothing was put on in.

    Where the sheet of one of its batches is silent, or its cure stands still, no time is known."""
    estimates = [layer_cure(layer) for layer in layers_in(1, stage)]
    unknown = [estimate for estimate in estimates if estimate.ready_at is None]
    if unknown:
        return unknown[0]
    known = [(each.ready_at, each) for each in estimates if each.ready_at is not None]
    return max(known, key=lambda pair: pair[0])[1] if known else None
