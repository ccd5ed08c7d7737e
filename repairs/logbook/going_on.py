"""Going on with a repair in work: sealed today, filled tomorrow, painted the day after. The
further stages are judged on top of those in the record, and added below them."""

from __future__ import annotations

from collections.abc import Iterator

from repairs.due.held import hold_members
from repairs.logbook.entry import RepairEntry
from repairs.logbook.facts import first_known, sheet_facts
from repairs.logbook.impossible.stop import WHOLE, stop
from repairs.logbook.placed import PlacedRemark, Refused, Where
from repairs.models import Batch, BatchShare, Repair, Stage
from repairs.remarks import LayerFacts


class SentTwice(Exception):
    """The stages are in the record: another request saved them a moment earlier."""


def layers_saved(repair: Repair) -> list[LayerFacts]:
    """What lies under the next stage, by the record."""
    shares = BatchShare.objects.filter(stage__repair=repair).order_by("stage__position", "pk")
    return [
        _layer(share.stage, share.batch)
        for share in shares.select_related("stage", "batch__sheet__product")
        if share.stage is not None
    ]


def _layer(stage: Stage, batch: Batch) -> LayerFacts:
    warmth = first_known(batch.surface_c, stage.surface_c, batch.air_c, stage.air_c)
    return LayerFacts(
        position=stage.position,
        stage=stage.kind,
        sheet=sheet_facts(batch.sheet),
        mixed_at=batch.mixed_at,
        applied_at=batch.applied_at,
        temperature_c=warmth,
    )


def last_position(repair: Repair | None) -> int:
    """How many stages stand before the first of an entry."""
    last = repair.stages.order_by("-position").first() if repair else None
    return last.position if last else 0


def said_already(repair: Repair | None) -> set[str]:
    """The remarks on the repair as a whole that have been answered; they are asked once."""
    if repair is None:
        return set()
    return set(repair.remarks.filter(stage=None, batch=None).values_list("code", flat=True))


def sent_before(entry: RepairEntry) -> bool:
    """Whether every stage of the entry is in the record: the form was sent twice."""
    repair = entry.continues
    if repair is None or not entry.stages:
        return False
    known = set(repair.stages.values_list("kind", "began_at"))
    return all((stage.kind, stage.began_at) in known for stage in entry.stages)


def out_of_turn(entry: RepairEntry) -> Iterator[PlacedRemark]:
    """What keeps further stages from being added to a repair."""
    repair = entry.continues
    if repair is None:
        return
    if repair.state != Repair.State.IN_WORK:
        yield _no_longer_in_work(repair)
    last = repair.stages.order_by("-position").first()
    for index, stage in enumerate(entry.stages):
        if last is not None and stage.began_at < last.began_at:
            began = last.began_at.astimezone(entry.member.building.property.zone)
            yield stop(
                Where(index),
                "before-the-last-stage",
                f"This stage began before the last one in the record, {last.get_kind_display()}.",
                f"{last.get_kind_display()} began on {began:%-d %B %Y, %H:%M}",
                "Correct the day or the time. What was done before and forgotten goes into the "
                "notes.",
            )


def _no_longer_in_work(repair: Repair) -> PlacedRemark:
    return stop(
        WHOLE,
        "no-longer-in-work",
        f"This repair is now “{repair.get_state_display().lower()}”.",
        "stages are added to a repair in work",
        "Log what was done as a repair of its own.",
    )


def take_up(entry: RepairEntry) -> Repair:
    """The repair with its row held, closed if the entry finishes it."""
    assert entry.continues is not None
    hold_members([entry.continues.member_id])
    repair = Repair.objects.select_for_update(of=("self",)).with_place().get(pk=entry.continues.pk)
    if sent_before(entry):
        raise SentTwice
    if repair.state != Repair.State.IN_WORK:
        raise Refused((_no_longer_in_work(repair),))
    repair.engineer_note, repair.lead_note = entry.engineer_note, entry.lead_note
    repair.notes = entry.notes
    repair.done_by = _all_hands(repair.done_by, entry.done_by)
    if entry.finished:
        repair.state, repair.ended_at = Repair.State.FINISHED, entry.ended_at
    return repair


def _all_hands(before: str, now: str) -> str:
    """Who did it, nobody named twice; each stage keeps its own people anyway."""
    both = f"{before}, {now}" if before and now and now not in before else before or now
    return both if len(both) <= 200 else before
