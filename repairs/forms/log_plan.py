"""The log page filled in from a plan: what was to be done, left for a person to confirm."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal

from django.http import QueryDict

from config.quantities import Quantity, show, usual_unit
from materials.models import Lot
from materials.money import from_minor
from repairs.models import Plan
from repairs.plans.prepared import LotDraw, Prepared, PreparedStage

from . import log_acts, log_typed
from .log_known import Known

TENTH = Decimal("0.1")


def from_plan(plan: Plan, prepared: Prepared, known: Known, done_by: str) -> QueryDict:
    """One stage for each layer or coat, each batch with its lot and its amounts; times are left
    empty, since nobody knows them yet."""
    typed = log_typed.fresh(known.at, done_by)
    for number in log_typed.stage_numbers(typed):
        log_typed.drop(typed, f"stage-{number}")
    typed["plan"], typed["kind"] = str(plan.pk), plan.kind
    typed["member"], typed["zone"] = str(plan.defect.member_id), plan.zone
    typed.setlist("defects", [str(plan.defect_id)])
    filling = _Filling(typed, known, prepared)
    for number, stage in enumerate(prepared.stages, start=1):
        for layer in range(1, stage.layers + 1):
            filling.lay(number, stage, layer)
    first = min(log_typed.stage_numbers(typed), default=None)
    if first is not None:
        typed[f"stage-{first}-on"] = f"{known.today:%Y-%m-%d}"
    if plan.labour_rate_minor is not None:
        typed["labour-0-rate"] = str(from_minor(plan.labour_rate_minor, known.currency))
    log_acts.offer_last_rate(typed, known)
    return typed


@dataclass
class _Filling:
    typed: QueryDict
    known: Known
    prepared: Prepared
    left: dict[int, Decimal] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.draws: dict[int, list[LotDraw]] = defaultdict(list)
        for stock in self.prepared.stock:
            for each in stock.draws:
                self.draws[stock.sheet.product_id].append(each)
                self.left[each.lot.pk] = each.drawn.amount

    def lay(self, number: int, stage: PreparedStage, layer: int) -> None:
        typed, kind = self.typed, stage.row.kind
        at = log_typed.add_stage(typed, kind)
        log_typed.drop(typed, f"stage-{at}-batch-0")
        if stage.layer_mm is not None:
            system = self.known.system
            thickness = show(stage.layer_mm, Quantity.LENGTH, system)
            bare = thickness.removesuffix(f" {usual_unit(Quantity.LENGTH, system)}")
            typed[f"stage-{at}-thickness"] = bare
        for amount, first in _mixes(stage, layer):
            batch = log_typed.add_batch(typed, at)
            begins = f"stage-{at}-batch-{batch}-"
            typed[f"{begins}amount"] = amount
            typed[f"{begins}lot"] = self._lot(number, stage, first)
        typed[f"stage-{at}-planned"] = log_typed.stage_mark(typed, at)

    def _lot(self, number: int, stage: PreparedStage, wanted: Decimal) -> str:
        """The lot that the plan set aside: the first that holds enough, else the first of all."""
        product = stage.sheet.product_id if stage.sheet else 0
        lots = [
            each.lot
            for each in self.draws[product]
            if number in each.stages and each.lot.part != Lot.Part.B
        ]
        lots = [lot for lot in lots if _offered(lot) in self.known.stock.offers]
        if not lots:
            return ""
        enough = (lot for lot in lots if self.left[lot.pk] >= wanted)
        lot = next(enough, lots[0])
        self.left[lot.pk] -= wanted
        return _offered(lot)


def _offered(lot: Lot) -> str:
    """The value of the lot's line in the choice: the kit that it came in, else itself."""
    return str(lot.parent_id or lot.pk)


def _mixes(stage: PreparedStage, layer: int) -> list[tuple[str, Decimal]]:
    """The amounts of one layer as they are typed, and how much of its first part each takes."""
    if stage.sheet is None:
        return []
    if stage.sheet.product.parts == 1:
        return [_one_part(stage)]
    unit = stage.unit
    mixes = []
    for batch in stage.batches_of_layer(layer):
        parts = [part for part in (batch.a, batch.b) if part is not None]
        written = " + ".join(f"{_plain(part)} {unit}" for part in parts)
        mixes.append((written, parts[0] if parts else Decimal(0)))
    return mixes or [("", Decimal(0))]


def _one_part(stage: PreparedStage) -> tuple[str, Decimal]:
    amount = stage.amount
    unit, total = "ml", amount.total_ml if amount else None
    if total is None:
        unit, total = "g", amount.total_g if amount else None
    if not total:
        return "", Decimal(0)
    each = (total / stage.layers).quantize(TENTH)
    return f"{_plain(each)} {unit}", each


def _plain(amount: Decimal) -> str:
    return f"{amount.quantize(TENTH).normalize():f}"
