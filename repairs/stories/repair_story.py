"""The whole story of one repair, put together for its page: stages, batches, grams and money."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, QuerySet, prefetch_related_objects

from config.figures import Figure
from config.quantities import Quantity, UnitSystem, show
from materials.models import Lot
from materials.money import show_money
from properties.models import Property
from repairs.logbook.readiness import Readiness, readiness_of
from repairs.models import (
    Batch,
    BatchPart,
    BatchShare,
    DueDate,
    KeptRemark,
    Photograph,
    Repair,
    SignOff,
    Stage,
)
from repairs.models.costs import CostLineQuerySet
from repairs.stories.measured_mix import mix_figure
from repairs.stories.member_cautions import cautions_at_work
from repairs.stories.repair_outcome import CostRow, cost_row, looks_at, signed_by, totals_of
from repairs.stories.site_figures import dew_figure, part_cost_figure, ready_figure
from repairs.stories.timeline import Dated

KINDS = {Lot.Unit.GRAM: Quantity.MASS, Lot.Unit.MILLILITRE: Quantity.VOLUME}


@dataclass(frozen=True)
class Went:
    """Where some of a batch went; no address for what is not a repair that may be opened."""

    amount: str
    words: str
    url: str = ""


@dataclass(frozen=True)
class PartStory:
    part: BatchPart
    amount: str
    cost: Figure | None


@dataclass(frozen=True)
class BatchStory:
    batch: Batch
    mixed_here: bool
    mixed_for_url: str
    total: str
    mix: Figure | None
    dew: Figure | None
    parts: tuple[PartStory, ...]
    went: tuple[Went, ...]
    remarks: tuple[KeptRemark, ...]

    @property
    def has_weather(self) -> bool:
        return _weather_recorded(self.batch)


@dataclass(frozen=True)
class StageStory:
    stage: Stage
    batches: tuple[BatchStory, ...]
    remarks: tuple[KeptRemark, ...]
    state: str
    cured: Figure | None
    dew: Figure | None
    when: str

    @property
    def has_weather(self) -> bool:
        return _weather_recorded(self.stage)


def _weather_recorded(row: Stage | Batch) -> bool:
    readings = (row.air_c, row.surface_c, row.humidity_pct)
    return any(reading is not None for reading in readings)


@dataclass(frozen=True)
class RepairStory:
    repair: Repair
    stages: tuple[StageStory, ...]
    remarks: tuple[KeptRemark, ...]
    readiness: Readiness
    costs: tuple[CostRow, ...]
    totals: tuple[str, ...]
    home_total: str
    looks: tuple[Dated, ...]
    signed: tuple[Dated, ...]
    cautions: tuple[str, ...]

    @property
    def has_struck(self) -> bool:
        return any(row.struck for row in self.costs)


def story_of(
    repair: Repair,
    at: datetime,
    system: UnitSystem,
    visible: QuerySet[Property],
    told: CostLineQuerySet,
) -> RepairStory:
    """`visible` are the properties and `told` the cost lines that the reader may see."""
    prefetch_related_objects([repair], *_parts_of_story(told))
    teller = _Teller(repair, at, system, list(_batches(repair, visible)))
    costs = list(repair.cost_lines.all())
    home = repair.member.building.property.currency
    foreign = any(line.currency != home for line in costs)
    return RepairStory(
        repair=repair,
        stages=tuple(teller.stage(stage) for stage in repair.stages.all()),
        remarks=tuple(
            remark
            for remark in repair.remarks.all()
            if remark.stage_id is None and remark.batch_id is None
        ),
        readiness=readiness_of(repair, at),
        costs=tuple(cost_row(line) for line in costs),
        totals=totals_of(costs),
        home_total=show_money(sum(line.home_minor for line in costs), home) if foreign else "",
        looks=tuple(looks_at(repair, at.astimezone(teller.zone).date())),
        signed=tuple(signed_by(repair)),
        cautions=cautions_of(repair),
    )


def _parts_of_story(told: CostLineQuerySet) -> tuple[str | Prefetch[Any], ...]:
    """All that hangs on a repair itself, one query for each kind of record."""
    lines = told.select_related("reversed_by").order_by("counts_on", "pk")
    return (
        "defects",
        "labour",
        "inspections",
        "followed_by",
        "stages",
        Prefetch("photographs", Photograph.objects.select_related("member")),
        Prefetch("due_dates", DueDate.objects.with_own_months()),
        Prefetch("sign_offs", SignOff.objects.select_related("stage")),
        Prefetch("remarks", KeptRemark.objects.select_related("released_by")),
        Prefetch("cost_lines", lines),
    )


def _batches(repair: Repair, visible: QuerySet[Property]) -> QuerySet[Batch]:
    """What went into a repair, in three queries. `may_open` says of a batch whether the reader
    sees the repair that it was mixed for, and of a share whether they see where it went."""
    shares = BatchShare.objects.select_related("stage__repair__member__building")
    return (
        Batch.objects.that_went_into(repair)
        .select_related("sheet__product", "mixed_for__repair")
        .annotate(may_open=_seen(visible, "mixed_for"))
        .prefetch_related(
            Prefetch("parts", BatchPart.objects.select_related("lot__parent")),
            Prefetch("shares", shares.annotate(may_open=_seen(visible, "stage"))),
        )
    )


def _seen(visible: QuerySet[Property], stage: str) -> Exists:
    return Exists(visible.filter(pk=OuterRef(f"{stage}__repair__member__building__property")))


class _Teller:
    def __init__(
        self, repair: Repair, at: datetime, system: UnitSystem, batches: list[Batch]
    ) -> None:
        self.repair, self.at, self.system, self.batches = repair, at, system, batches
        self.zone = repair.member.building.property.zone
        self.remarks = list(repair.remarks.all())

    def stage(self, stage: Stage) -> StageStory:
        mixed = [batch for batch in self.batches if batch.mixed_for_id == stage.pk]
        taken = [
            batch
            for batch in self.batches
            if batch.mixed_for_id != stage.pk
            and any(share.stage_id == stage.pk for share in batch.shares.all())
        ]
        state, word = self._cure(stage)
        return StageStory(
            stage=stage,
            batches=tuple(
                self._batch(batch, batch.mixed_for_id == stage.pk) for batch in mixed + taken
            ),
            remarks=tuple(
                remark
                for remark in self.remarks
                if remark.stage_id == stage.pk and remark.batch_id is None
            ),
            state=state,
            cured=ready_figure(word, stage, [*mixed, *taken], self.system),
            dew=dew_figure(stage, self.system),
            when=self._span(stage),
        )

    def _span(self, stage: Stage) -> str:
        """'11 October 2025, 09:00 to 10:30', the day said once where it is the same."""
        began = stage.began_at.astimezone(self.zone)
        words = f"{began:%-d %B %Y, %H:%M}"
        if stage.ended_at is None:
            return words
        ended = stage.ended_at.astimezone(self.zone)
        same = ended.date() == began.date()
        return f"{words} to {ended:%H:%M}" if same else f"{words} to {ended:%-d %B %Y, %H:%M}"

    def _cure(self, stage: Stage) -> tuple[str, str]:
        """The mark and words of a stage's cure; none for a stage that needs no cure."""
        if stage.ready_at is None:
            return ("unknown", "Cure not recorded") if stage.ready_basis else ("", "")
        when = f"{stage.ready_at.astimezone(self.zone):%-d %B %Y, %H:%M}"
        if stage.ready_at > self.at:
            return "curing", f"Curing until {when}"
        return "ready", f"Cured since {when}"

    def _batch(self, batch: Batch, mixed_here: bool) -> BatchStory:
        parts = list(batch.parts.all())
        unit = parts[0].lot.unit if parts else Lot.Unit.GRAM
        total = batch.total()
        return BatchStory(
            batch=batch,
            mixed_here=mixed_here,
            mixed_for_url=self._mixed_for(batch),
            total=self._amount(total, unit),
            mix=mix_figure(batch, self.system),
            dew=dew_figure(batch, self.system),
            parts=tuple(self._part(part) for part in parts),
            went=tuple(self._went(batch, total, unit)),
            remarks=tuple(remark for remark in self.remarks if remark.batch_id == batch.pk),
        )

    def _part(self, part: BatchPart) -> PartStory:
        amount = self._amount(part.amount, part.lot.unit)
        return PartStory(part, amount, part_cost_figure(part, amount))

    def _mixed_for(self, batch: Batch) -> str:
        """The page of the other repair that it was mixed for, where that may be opened."""
        if batch.mixed_for is None or batch.mixed_for.repair_id == self.repair.pk:
            return ""
        seen: bool = batch.may_open  # type: ignore[attr-defined]
        return batch.mixed_for.repair.get_absolute_url() if seen else ""

    def _amount(self, amount: Decimal, unit: str) -> str:
        return show(amount, KINDS[Lot.Unit(unit)], self.system)

    def _went(self, batch: Batch, total: Decimal, unit: str) -> list[Went]:
        went, placed = [], Decimal(0)
        for share in batch.shares.all():
            placed += share.amount
            amount = self._amount(share.amount, unit)
            went.append(Went(amount, *self._place(share)))
        if total > placed:
            went.append(Went(self._amount(total - placed, unit), "not yet placed, left over"))
        return went

    def _place(self, share: BatchShare) -> tuple[str, str]:
        stage = share.stage
        if stage is None:
            return "wasted", ""
        kind = stage.get_kind_display().lower()
        if stage.repair_id == self.repair.pk:
            return f"to stage {stage.position}, {kind}", ""
        member = stage.repair.member
        if not share.may_open:  # type: ignore[attr-defined]
            return "to a repair on another property", ""
        return f"to {member.mark}, {member.building.name}", stage.repair.get_absolute_url()


def cautions_of(repair: Repair) -> tuple[str, ...]:
    """What to mind when this work goes on, or is opened up again."""
    kinds = {stage.kind for stage in repair.stages.all()}
    return cautions_at_work(repair.member, kinds)
