"""Repairs that were planned and done: what was planned against what was spent, and what was saved
against a new member. Money is nominal, of the day on which it was planned or spent."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, IntegerField, OuterRef, Prefetch, QuerySet, Subquery

from properties.models.buildings import BuildingQuerySet
from repairs.costs.period import Period
from repairs.costs.shares import Share, condition
from repairs.models import (
    Batch,
    BatchPart,
    BatchShare,
    CostLine,
    Plan,
    PlanOption,
    PlanStage,
    Repair,
    Stage,
)
from repairs.models.costs import CostLineQuerySet
from repairs.plans.planned_money import DoneStage, MixedBatch, PlannedMoney, planned_money

# Each plan is worked out anew, some 3 ms.
MOST_PLANS = 100
DONE = (Repair.State.FINISHED, Repair.State.FAILED)
# What a repair of a kind is called among the options of its plan.
OPTIONS = {
    Repair.Kind.RESIN: PlanOption.Kind.REPAIR,
    Repair.Kind.SPLICE: PlanOption.Kind.SPLICE,
    Repair.Kind.REPLACEMENT: PlanOption.Kind.REPLACE,
}
KEPT_THE_MEMBER = (Repair.Kind.RESIN, Repair.Kind.SPLICE)


@dataclass(frozen=True)
class PlannedRepair:
    """One repair with its plan; `spent` are all its lines, whatever their day. `typed_minor` is
    what doing it once was said to cost among the options, `replace_minor` a new member, access
    included in both; None where not priced."""

    repair: Repair
    spent: Share
    reckoned: PlannedMoney
    typed_minor: int | None
    replace_minor: int | None

    @property
    def planned_minor(self) -> int | None:
        """The plan's own lines; where one of them is not known, the option as typed."""
        return self.typed_minor if self.reckoned.total is None else self.reckoned.total

    @property
    def saved_minor(self) -> int | None:
        """Below zero where the repair cost more than a new member was said to."""
        if self.replace_minor is None or self.repair.kind not in KEPT_THE_MEMBER:
            return None
        return self.replace_minor - self.spent.minor


@dataclass(frozen=True)
class PlannedAgainstSpent:
    """The newest first. `older` were left out for their number, `in_work` are not done yet,
    `without_lines` cost nothing on record, and of `hidden` an earlier owner bore a part."""

    repairs: tuple[PlannedRepair, ...] = ()
    older: int = 0
    in_work: int = 0
    without_lines: int = 0
    hidden: int = 0

    @property
    def priced(self) -> tuple[PlannedRepair, ...]:
        return tuple(each for each in self.repairs if each.planned_minor is not None)

    @property
    def unpriced(self) -> tuple[PlannedRepair, ...]:
        return tuple(each for each in self.repairs if each.planned_minor is None)

    @property
    def saving(self) -> tuple[PlannedRepair, ...]:
        return tuple(each for each in self.repairs if each.saved_minor is not None)


def planned_against_spent(
    buildings: BuildingQuerySet, period: Period, told: CostLineQuerySet
) -> PlannedAgainstSpent:
    """Of the repairs that were begun in the days asked for. A repair of which the reader may not
    see every line is left out: a part of what was spent cannot be held against the plan."""
    begun = _begun_in(_logged(buildings), period)
    done = [each.plan for each in begun if each.state in DONE]
    shown = _whole(done[:MOST_PLANS], told) if done else []
    whole = [each for each in shown if _lines(each) and each.all_lines == len(_lines(each))]
    without = [each for each in shown if not each.all_lines]
    hidden = [each for each in shown if _lines(each) and each not in whole]
    return PlannedAgainstSpent(
        repairs=tuple(_compared(each) for each in whole),
        older=max(0, len(done) - MOST_PLANS),
        in_work=len(begun) - len(done),
        without_lines=len(without),
        hidden=len(hidden),
    )


def _lines(plan: Plan) -> list[CostLine]:
    return list(plan.repair.cost_lines.all()) if plan.repair else []


@dataclass(frozen=True)
class _Begun:
    plan: int
    state: str


def _logged(buildings: BuildingQuerySet) -> QuerySet[Plan]:
    return (
        Plan.objects.filter(state=Plan.State.LOGGED, repair__member__building__in=buildings)
        .exclude(repair__state=Repair.State.WITHDRAWN)
        .order_by("-repair__began_at", "-pk")
    )


def _begun_in(plans: QuerySet[Plan], period: Period) -> list[_Begun]:
    """By the day on site."""
    rows = plans.values_list(
        "pk", "repair__state", "repair__began_at",
        "repair__member__building__property__time_zone",
    )  # fmt: skip
    return [
        _Begun(pk, state)
        for pk, state, at, zone in rows
        if period.holds(at.astimezone(ZoneInfo(zone)).date())
    ]


def _whole(plans: Sequence[int], told: CostLineQuerySet) -> list[Any]:
    """With all that a plan is reckoned from, in a fixed number of queries. `all_lines` counts
    the lines of the repair, told or not."""
    parts = BatchPart.objects.select_related("lot")
    batches = Batch.objects.select_related("sheet").prefetch_related(
        Prefetch("parts", parts), "shares"
    )
    shares = BatchShare.objects.prefetch_related(Prefetch("batch", batches))
    stages = Stage.objects.prefetch_related(
        Prefetch("batches_mixed", batches), Prefetch("batch_shares", shares)
    )
    lines = CostLine.objects.filter(repair=OuterRef("repair")).order_by().values("repair")
    counted = Subquery(lines.annotate(n=Count("pk")).values("n"), output_field=IntegerField())
    return list(
        Plan.objects.filter(pk__in=plans)
        .select_related("defect", "repair__member__building__property")
        .annotate(all_lines=counted)
        .prefetch_related(
            "shapes",
            "options",
            Prefetch("stages", PlanStage.objects.select_related("sheet__product")),
            Prefetch("repair__stages", stages),
            Prefetch("repair__cost_lines", told),
        )
        .order_by("-repair__began_at", "-pk")
    )


def _compared(plan: Plan) -> PlannedRepair:
    repair = plan.repair
    assert repair is not None
    options = {option.kind: option for option in plan.options.all()}
    spent = sum(line.home_minor for line in _lines(plan))
    member = repair.member
    words = f"{member.mark} · {repair.get_kind_display()}, {_on(repair):%-d %B %Y}"
    return PlannedRepair(
        repair=repair,
        spent=Share(words, spent, repair.get_absolute_url(), condition("repair", repair.pk)),
        reckoned=planned_money(plan, repair, _done_stages(repair), _lines(plan)),
        typed_minor=_once(options.get(OPTIONS.get(Repair.Kind(repair.kind), ""))),
        replace_minor=_once(options.get(PlanOption.Kind.REPLACE)),
    )


def _on(repair: Repair) -> date:
    return repair.member.building.property.day_of(repair.began_at)


def _once(option: PlanOption | None) -> int | None:
    return None if option is None else option.first_minor + option.access_minor


def _done_stages(repair: Repair) -> Iterable[DoneStage]:
    """Each stage with the batches mixed for it or shared to it, each once."""
    for stage in repair.stages.all():
        batches = {batch.pk: batch for batch in stage.batches_mixed.all()}
        batches |= {share.batch_id: share.batch for share in stage.batch_shares.all()}
        yield DoneStage(stage, tuple(MixedBatch(batch) for batch in batches.values()))
