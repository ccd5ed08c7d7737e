"""Rows put into words, as they stood at the end of the telling: repairs, stages, batches."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from config.quantities import Quantity, show
from materials.models import Lot
from materials.money import show_money
from properties.models import Defect
from repairs.models import (
    Batch,
    BatchShare,
    CostLine,
    Inspection,
    KeptRemark,
    Labour,
    Photograph,
    Repair,
    SignOff,
    Stage,
)
from repairs.stories.measured_mix import measured_mix

from .rows import Rows
from .scope import Scope

MEASURES = {Lot.Unit.GRAM: Quantity.MASS, Lot.Unit.MILLILITRE: Quantity.VOLUME}


@dataclass(frozen=True)
class Picture:
    """A photograph as a document shows it; `source` is read by the document's own fetcher."""

    photograph: Photograph
    source: str
    caption: str
    words: str


@dataclass(frozen=True)
class PartTold:
    label: str
    lot: str
    amount: str
    count_needed: bool


@dataclass(frozen=True)
class BatchTold:
    """A batch in full at the first stage of a repair that it went to; later ones only name it."""

    batch: Batch
    in_full: bool
    total: str
    here: str
    mix: str
    parts: tuple[PartTold, ...]
    went: tuple[str, ...]
    remarks: tuple[KeptRemark, ...]


@dataclass(frozen=True)
class StageTold:
    stage: Stage
    span: str
    cure: str
    batches: tuple[BatchTold, ...]
    remarks: tuple[KeptRemark, ...]


@dataclass(frozen=True)
class CostTold:
    line: CostLine
    amount: str
    home: str
    taken_back: bool


@dataclass(frozen=True)
class RepairTold:
    repair: Repair
    standing: str
    follows: str
    defects: tuple[Defect, ...]
    stages: tuple[StageTold, ...]
    remarks: tuple[KeptRemark, ...]
    sign_offs: tuple[SignOff, ...]
    labour: str
    pictures: tuple[Picture, ...]
    lacks: tuple[str, ...]
    inspections: tuple[Inspection, ...]
    costs: tuple[CostTold, ...]
    total: str

    @property
    def has_batches(self) -> bool:
        return any(stage.batches for stage in self.stages)


@dataclass(frozen=True)
class Teller:
    scope: Scope
    rows: Rows

    def repair(self, repair: Repair, lines: list[CostLine]) -> RepairTold:
        rows, key = self.rows, repair.pk
        member = repair.member_id
        remarks = rows.remarks.get(key, [])
        pictures = [each for each in rows.photographs.get(member, []) if each.repair_id == key]
        defects = {defect.pk: defect for defect in rows.defects.get(member, [])}
        looks = rows.inspections.get(member, [])
        stages = self._stages(repair, remarks)
        return RepairTold(
            repair=repair,
            standing=repair_standing(repair, self.scope),
            follows=self._follows(repair),
            defects=tuple(
                defects[each] for each in rows.defects_of.get(key, []) if each in defects
            ),
            stages=stages,
            remarks=tuple(
                each for each in remarks if each.stage_id is None and each.batch_id is None
            ),
            sign_offs=tuple(rows.sign_offs.get(key, [])),
            labour=_hours(rows.labour.get(key, [])),
            pictures=tuple(self.picture(each) for each in pictures),
            lacks=tuple(_lacks(repair, stages, pictures)),
            inspections=tuple(look for look in looks if look.repair_id == key),
            costs=tuple(self.cost(line) for line in lines),
            total=self.money(sum(line.home_minor for line in lines)),
        )

    def _follows(self, repair: Repair) -> str:
        if repair.follows is None:
            return ""
        day = repair.follows.began_at.astimezone(self.scope.zone)
        return f"{repair.get_relation_display()}, that of {day:%-d %B %Y}"

    def _stages(self, repair: Repair, remarks: list[KeptRemark]) -> tuple[StageTold, ...]:
        told: set[int] = set()
        stages = []
        for stage in self.rows.stages.get(repair.pk, []):
            batches = self.rows.batches.get(stage.pk, [])
            stages.append(StageTold(
                stage=stage,
                span=self._span(stage),
                    cure=self._cure(stage),
                batches=tuple(
                    self._batch(batch, stage, batch.pk not in told, remarks) for batch in batches
                ),
                remarks=tuple(
                    each for each in remarks if each.stage_id == stage.pk and each.batch_id is None
                ),
            ))  # fmt: skip
            told.update(batch.pk for batch in batches)
        return tuple(stages)

    def _span(self, stage: Stage) -> str:
        """From and to on site; the day once where it is the same."""
        began = stage.began_at.astimezone(self.scope.zone)
        if stage.ended_at is None:
            return f"{began:%-d %B %Y, %H:%M}, end not recorded"
        ended = stage.ended_at.astimezone(self.scope.zone)
        same_day = began.date() == ended.date()
        until = f"{ended:%H:%M}" if same_day else f"{ended:%-d %B %Y, %H:%M}"
        return f"{began:%-d %B %Y, %H:%M} to {until}"

    def _cure(self, stage: Stage) -> str:
        if stage.ready_at is None:
            return "Cure not recorded" if stage.ready_basis else ""
        return f"Cured {stage.ready_at.astimezone(self.scope.zone):%-d %B %Y, %H:%M}"

    def _batch(
        self, batch: Batch, stage: Stage, in_full: bool, remarks: list[KeptRemark]
    ) -> BatchTold:
        parts = list(batch.parts.all())
        unit = parts[0].lot.unit if parts else Lot.Unit.GRAM
        shares = list(batch.shares.all())
        here = [share.amount for share in shares if share.stage_id == stage.pk]
        mix = measured_mix(batch)
        return BatchTold(
            batch=batch,
            in_full=in_full,
            total=self.amount(batch.total(), unit),
            here=self.amount(sum(here, Decimal(0)), unit) if here else "",
            mix=mix.words if mix else "",
            parts=tuple(
                PartTold(
                    part.get_part_display(), part.lot.number,
                    self.amount(part.amount, part.lot.unit), part.lot.count_needed(),
                )
                for part in parts
            ),
            went=tuple(
                f"{self.amount(share.amount, unit)} {self._place(share, stage.repair_id)}"
                for share in shares
            ),
            remarks=tuple(each for each in remarks if each.batch_id == batch.pk),
        )  # fmt: skip

    def _place(self, share: BatchShare, repair: int) -> str:
        if share.stage is None:
            return "wasted"
        kind = share.stage.get_kind_display().lower()
        if share.stage.repair_id == repair:
            return f"to stage {share.stage.position}, {kind}"
        member = share.stage.repair.member
        if member.building.property_id != self.scope.of.pk:
            return "to a repair on another property"
        return f"to {member.mark}, {kind}"

    def amount(self, amount: Decimal, unit: str) -> str:
        return show(amount, MEASURES[Lot.Unit(unit)], self.scope.system)

    def money(self, minor: int) -> str:
        return show_money(minor, self.scope.of.currency)

    def cost(self, line: CostLine) -> CostTold:
        return CostTold(
            line=line,
            amount=show_money(line.amount_minor, line.currency),
            home=self.money(line.home_minor),
            taken_back=line.is_taken_back,
        )

    def picture(self, photograph: Photograph) -> Picture:
        when = photograph.taken_at
        day = f"{when.astimezone(self.scope.zone):%-d %B %Y}" if when else "day not recorded"
        caption = photograph.caption or "no caption"
        moment = photograph.get_moment_display()
        return Picture(photograph, str(photograph.file.name), f"{moment} · {day} · {caption}",
                       f"{moment}: {caption}")  # fmt: skip


def repair_standing(repair: Repair, scope: Scope) -> str:
    """Its state at the end of the telling, whatever came of it later."""
    kind = "Temporary. " if repair.temporary else ""
    if scope.is_over(repair.failed_on):
        return f"{kind}Failed on {repair.failed_on:%-d %B %Y}"
    if scope.has_passed(repair.ended_at):
        return f"{kind}Finished"
    if scope.last is None:
        return f"{kind}{repair.get_state_display()}"
    return f"{kind}End not recorded by then"


def defect_standing(defect: Defect, scope: Scope) -> str:
    if defect.closed_on and not scope.is_over(defect.closed_on):
        return "Open"
    closed = f" on {defect.closed_on:%-d %B %Y}" if defect.closed_on else ""
    return f"{defect.get_state_display()}{closed}"


def is_outstanding(defect: Defect, scope: Scope) -> bool:
    if defect.closed_on:
        return not scope.is_over(defect.closed_on)
    return defect.is_outstanding()


def _hours(labour: list[Labour]) -> str:
    hours = sum((each.hours for each in labour), Decimal(0))
    return f"{hours.normalize():f} h" if labour else ""


def _lacks(repair: Repair, stages: tuple[StageTold, ...], pictures: list[Photograph]) -> list[str]:
    """What a reader would look for and not find, said in words."""
    lacks = []
    if not stages:
        lacks.append("its stages")
    if repair.ended_at is None:
        lacks.append("when it ended")
    if not repair.done_by:
        lacks.append("who did it")
    moments = {each.moment for each in pictures}
    if Photograph.Moment.BEFORE not in moments:
        lacks.append("a photograph before")
    if Photograph.Moment.AFTER not in moments:
        lacks.append("a photograph after")
    wet = [told.stage for told in stages if told.batches]
    if wet and all(stage.moisture_pct is None for stage in wet):
        lacks.append("wood moisture before the resin")
    return lacks
