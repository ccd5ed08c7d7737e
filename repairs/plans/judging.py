"""What the rules say of planned work: the same rules that judge it once it is logged."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from itertools import pairwise

from materials.shelf_life import LastUsableDay
from properties.heat import ExpectedSurface
from properties.models import Defect
from properties.models.members import YesNoUnknown, Zone
from repairs.logbook.facts import earlier_here, sheet_facts, shelf_on
from repairs.models import Plan
from repairs.plans.air import PlannedAir
from repairs.plans.prepared import PreparedStage, ProductStock
from repairs.plans.rows import PlanRows
from repairs.remarks import (
    BatchFacts,
    CauseFacts,
    LayerFacts,
    LotFacts,
    Remark,
    RepairFacts,
    StageFacts,
    batch_remarks,
    repair_remarks,
    stage_remarks,
)
from repairs.remarks.batch_rules import scale_too_coarse
from repairs.remarks.words import stage as stage_words
from repairs.stories.member_cautions import cautions_about

# What a plan cannot know yet, or says in a better place.
NOT_ASKED = frozenset({"weather-not-recorded", "thickness-not-recorded", "ratio-off", "swapped"})
ONCE = frozenset({"moisture-not-recorded", "ratio-not-judged"})
BETWEEN_LAYERS = frozenset({"recoat-missed", "begun-before-window", "begun-before-cured"})
# Said of work that was done; of work to come it is said like this.
AHEAD = {
    "wash-not-recorded": (
        "{stage} comes on cured resin.",
        "Cured resin can carry a greasy film: wash with water, dry and abrade before it.",
    ),
    "recoat-missed": (
        "{stage} comes after the recoat window of what lies below has closed.",
        "Wash with water, dry and abrade before it, or begin earlier in the day.",
    ),
}
TO_BE_BOUGHT = "to be bought"


def judged(
    stages: Sequence[PreparedStage],
    rows: PlanRows,
    air: PlannedAir,
    face: ExpectedSurface | None,
    stock: Sequence[ProductStock],
) -> tuple[PreparedStage, ...]:
    """Each stage with what the rules say of it; what was said of an earlier one is not repeated."""
    said: set[tuple[str, ...]] = set()
    below: list[LayerFacts] = []
    found = []
    for number, stage in enumerate(stages, start=1):
        remarks = [
            *_of_stage(stage, number, rows.plan, tuple(below), air, face),
            *_of_batches(stage, number, rows.plan, stock),
        ]
        fresh = tuple(_not_yet_said(remarks, said))
        found.append(replace(stage, remarks=(*stage.remarks, *fresh)))
        below += _layers(stage, number)
    return tuple(found)


LEAD_AHEAD = "The work disturbs paint that may hold lead."
LEAD_ADVICE = (
    "Test it, or keep dust in and people out, and write down which. No dry sanding and no torch; "
    "follow the local law."
)


def of_repair(rows: PlanRows) -> list[Remark]:
    """Of the repair as a whole; one query."""
    plan, defect = rows.plan, rows.plan.defect
    member, place = rows.member, rows.member.building.property
    facts = RepairFacts(
        kind=plan.kind,
        temporary=False,
        load_bearing=member.load_bearing,
        engineer_note="",
        lead_note="",
        stages=tuple(row.kind for row in rows.stages),
        causes=(CauseFacts(Defect.Cause(defect.cause).label, defect.cause_state),),
        zone=Zone(plan.zone).label.lower(),
        earlier_here=earlier_here(member, plan.zone, plan.starts_at),
        paint_year=member.presumed_paint_year(),
        ban_year=place.lead_paint_ban_year,
        country=place.country,
        structural_concern=defect.structural_concern == YesNoUnknown.YES,
    )
    strength = [
        each for each in cautions_about(member, [defect]) if each.code == "strength-in-doubt"
    ]
    return [*strength, *(_lead_ahead(each) for each in repair_remarks(facts))]


def _lead_ahead(remark: Remark) -> Remark:
    if remark.code != "lead-paint":
        return remark
    return replace(remark, found=LEAD_AHEAD, advice=LEAD_ADVICE)


def _not_yet_said(remarks: Iterable[Remark], said: set[tuple[str, ...]]) -> Iterator[Remark]:
    for remark in remarks:
        if remark.code in NOT_ASKED:
            continue
        key = (remark.code,) if remark.code in ONCE else (remark.code, remark.about, remark.found)
        if key not in said:
            said.add(key)
            yield remark


# Stages


def _of_stage(
    stage: PreparedStage,
    number: int,
    plan: Plan,
    below: tuple[LayerFacts, ...],
    air: PlannedAir,
    face: ExpectedSurface | None,
) -> Iterator[Remark]:
    begins = stage.days.begins_at if stage.days else None
    facts = StageFacts(
        kind=stage.row.kind,
        began_at=begins or plan.starts_at,
        sheets=(sheet_facts(stage.sheet),) if stage.sheet else (),
        below=below if begins else (),
        thickness_mm=stage.layer_mm,
        moisture_pct=plan.wood_moisture_pct,
        face=face,
    )
    if begins is not None:
        # The surface is taken to be as warm as the air; it is measured on the day.
        celsius = air.celsius(begins)
        facts = replace(
            facts,
            air_c=celsius,
            surface_c=celsius,
            humidity_pct=air.humidity(begins),
            night_low_c=air.night_low_c(begins),
        )
    yield from (_ahead(each, stage.row.kind) for each in stage_remarks(facts))
    yield from _between_layers(stage, number, facts)


def _between_layers(stage: PreparedStage, number: int, facts: StageFacts) -> Iterator[Remark]:
    moments = stage.days.layers if stage.days else ()
    for before, at in pairwise(moments):
        later = replace(facts, began_at=at, below=(_layer(stage, number, before),))
        for remark in stage_remarks(later):
            if remark.code in BETWEEN_LAYERS:
                yield _ahead(remark, stage.row.kind)


def _ahead(remark: Remark, kind: str) -> Remark:
    if remark.code not in AHEAD:
        return remark
    found, advice = AHEAD[remark.code]
    return replace(remark, found=found.format(stage=stage_words(kind)), advice=advice)


def _layers(stage: PreparedStage, number: int) -> list[LayerFacts]:
    """What the stage leaves in place for the next: its last layer."""
    moments = stage.days.layers if stage.days else ()
    return [_layer(stage, number, moments[-1])] if moments and stage.sheet else []


def _layer(stage: PreparedStage, number: int, at: datetime) -> LayerFacts:
    """Without a temperature: the time line has already counted the cold, hour by hour."""
    assert stage.sheet is not None
    return LayerFacts(
        position=number,
        stage=stage.row.kind,
        sheet=sheet_facts(stage.sheet),
        mixed_at=at,
        applied_at=at,
    )


# Batches


def _of_batches(
    stage: PreparedStage, number: int, plan: Plan, stock: Sequence[ProductStock]
) -> Iterator[Remark]:
    """Of the first batch of a stage, since all of them are alike."""
    if stage.sheet is None or stage.batches is None or stage.days is None:
        return
    first, begins = stage.batches.batches[0], stage.days.begins_at
    if first.a is None or first.b is None or begins is None:
        return
    sheet, on = sheet_facts(stage.sheet), begins.date()
    own = next((each for each in stock if each.sheet.product_id == stage.sheet.product_id), None)
    lots = tuple(
        lot
        for part, amount in (("a", first.a), ("b", first.b))
        for lot in _lots(own, number, stage, part, amount, on)
    )
    yield from batch_remarks(
        BatchFacts(
            sheet=sheet,
            lots=lots,
            basis="weight" if stage.unit == "g" else "volume",
            mixed_at=begins,
            used_on=on,
            weather_of_stage=True,
        )
    )
    if stage.unit == "g" and plan.scale_step_g:
        yield from scale_too_coarse(sheet, first.a, first.b, plan.scale_step_g)


def _lots(
    own: ProductStock | None,
    number: int,
    stage: PreparedStage,
    part: str,
    amount: Decimal,
    on: date,
) -> Iterator[LotFacts]:
    """The lots of one part of a batch, the amount shared over those that the stage draws on; what
    is not in the stores comes from a lot to be bought."""
    drawn = [
        each
        for each in (own.draws if own else ())
        if each.lot.part == part and number in each.stages and each.lot.unit == stage.unit
    ]
    whole = sum((each.drawn.amount for each in drawn), Decimal(0))
    short = own.short.get(part, Decimal(0)) if own else amount
    total = whole + short
    for each in drawn if total else ():
        yield LotFacts(
            number=each.lot.number,
            product=str(each.lot.product),
            part=part,
            used_as=part,
            amount=amount * each.drawn.amount / total,
            unit=stage.unit,
            received_on=each.lot.received_on,
            shelf=shelf_on(each.lot, on),
            parent=each.lot.parent.number if each.lot.parent else None,
            held_back=each.lot.held_back,
            held_back_reason=each.lot.held_back_reason,
        )
    if not total or short:
        yield LotFacts(
            number=TO_BE_BOUGHT,
            product=stage.product,
            part=part,
            used_as=part,
            amount=amount * short / total if total else amount,
            unit=stage.unit,
            received_on=on,
            shelf=LastUsableDay(None, "none"),
            parent=TO_BE_BOUGHT,
        )
