"""What was planned beside what was done, stage by stage, for the page of a repair.

The plan is worked out from its own rows and weather alone, so that it says the same however the
stores change later. A planned material is priced at what the lots that were used had cost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Protocol, TypeVar

from config.quantities import Quantity, UnitSystem, show
from materials.money import round_minor, show_money
from repairs.models import Batch, CostLine, Plan, PlanStage, Repair, Stage
from repairs.plans.air import air_of
from repairs.plans.amounts import Layers, space_of
from repairs.plans.prepared import StageAmount, StageDays
from repairs.plans.rows import PlanRows
from repairs.plans.stages import planned_stages
from repairs.stories.repair_story import StageStory

KINDS = {"g": Quantity.MASS, "ml": Quantity.VOLUME}
NOT_KNOWN = "not known"
LINES = {
    "product": "Product",
    "amount": "Amount, loss included",
    "layers": "Layers",
    "batches": "Batches",
    "began": "Begun",
    "ready": "Cured",
    "cost": "Material",
}


@dataclass(frozen=True)
class Line:
    """One side of a stage, as it is read; an empty word where it does not apply."""

    product: str = ""
    amount: str = ""
    layers: str = ""
    batches: str = ""
    began: str = ""
    ready: str = ""
    cost: str = ""


@dataclass(frozen=True)
class Row:
    """One figure on both sides."""

    words: str
    planned: str
    done: str


@dataclass(frozen=True)
class StageBeside:
    """A planned stage and what came of it; `planned` is None for one that no plan foresaw, `done`
    for one that was left out."""

    words: str
    planned: Line | None
    done: Line | None

    @property
    def rows(self) -> tuple[Row, ...]:
        """The figures of which either side says something."""
        planned, done = self.planned or Line(), self.done or Line()
        rows = (
            Row(words, getattr(planned, name), getattr(done, name)) for name, words in LINES.items()
        )
        return tuple(row for row in rows if row.planned or row.done)


@dataclass(frozen=True)
class Beside:
    plan: Plan
    stages: tuple[StageBeside, ...]
    money: tuple[Row, ...]
    not_done: str


@dataclass(frozen=True)
class Foreseen:
    """One stage of the plan, worked out; the amount in grams or millilitres, loss included."""

    row: PlanStage
    layers: Layers
    days: StageDays
    amount: Decimal | None
    unit: str
    batches: int | None


class Mixed(Protocol):
    @property
    def batch(self) -> Batch: ...


class DoneStage(Protocol):
    """A stage that was done with the batches that went into it, as much as a story tells."""

    @property
    def stage(self) -> Stage: ...
    @property
    def batches(self) -> Sequence[Mixed]: ...


Done = TypeVar("Done", bound=DoneStage)


@dataclass(frozen=True)
class Used:
    """What went into stages that were done: by unit, and its cost in the home currency."""

    amounts: dict[str, Decimal]
    batches: int
    minor: int | None


def beside_of(
    repair: Repair, stages: Sequence[StageStory], system: UnitSystem | str
) -> Beside | None:
    """None for a repair that no plan was made for. Two queries for a plan of any size; `repair`
    brings its plan, cost lines and labour, `stages` the batches."""
    plan = getattr(repair, "plan", None)
    if plan is None:
        return None
    rows = PlanRows(
        plan,
        tuple(plan.shapes.all()),
        tuple(plan.stages.select_related("sheet__product")),
    )
    plan.defect.member = repair.member
    teller = _Teller(repair, system)
    paired, unforeseen = paired_stages(rows.stages, stages)
    return Beside(
        plan=plan,
        stages=(
            *(teller.stage(each, paired[each.row.position]) for each in foreseen_stages(rows)),
            *(teller.unforeseen(each) for each in unforeseen),
        ),
        money=tuple(teller.money(plan)),
        not_done="not done so far" if repair.state == Repair.State.IN_WORK else "not done",
    )


def foreseen_stages(rows: PlanRows) -> list[Foreseen]:
    space, air = space_of(rows), air_of(rows.plan, rows.member.building.property)
    foreseen = []
    for each in planned_stages(rows, space, air):
        batches = each.mixes.batches.batches if each.mixes.batches else ()
        total, unit = _total(each.amount, each.mixes.unit, each.row)
        if batches:
            total = sum((batch.total for batch in batches), Decimal(0))
        foreseen.append(
            Foreseen(each.row, each.layers, each.days, total, unit, len(batches) or None)
        )
    return foreseen


def _total(amount: StageAmount | None, unit: str, row: PlanStage) -> tuple[Decimal | None, str]:
    """Of a two-part product in the unit of its batches; of a one-part one in millilitres."""
    if amount is None or row.sheet is None:
        return None, unit
    if row.sheet.product.parts == 1 and amount.total_ml is not None:
        return amount.total_ml, "ml"
    return (amount.total_g, "g") if unit == "g" else (amount.total_ml, "ml")


def paired_stages(
    rows: Sequence[PlanStage], done: Sequence[Done]
) -> tuple[dict[int, list[Done]], list[Done]]:
    """To each planned stage those that were done of its kind: first with its own product, then,
    where there was none, with another. What is left over no plan foresaw."""
    left = list(done)
    paired: dict[int, list[Done]] = {row.position: [] for row in rows}
    for own_product in (True, False):
        for row in rows:
            if paired[row.position]:
                continue
            mine = [each for each in left if _answers(each, row, own_product)]
            paired[row.position] = mine
            left = [each for each in left if each not in mine]
    return paired, left


def _answers(done: DoneStage, row: PlanStage, own_product: bool) -> bool:
    if done.stage.kind != row.kind:
        return False
    used = {told.batch.sheet.product_id for told in done.batches}
    wanted = {row.sheet.product_id} if row.sheet else set()
    return used == wanted or not own_product


class _Teller:
    """Puts figures into the reader's units, the property's time and its currency."""

    def __init__(self, repair: Repair, system: UnitSystem | str) -> None:
        place = repair.member.building.property
        self.repair, self.system = repair, system
        self.zone, self.currency = place.zone, place.currency
        self.lines = list(repair.cost_lines.all())

    def stage(self, foreseen: Foreseen, done: Sequence[StageStory]) -> StageBeside:
        used = used_in(done, self.lines)
        planned = self._planned(foreseen, used)
        words = foreseen.row.get_kind_display()
        return StageBeside(words, planned, self._done(done, used) if done else None)

    def unforeseen(self, done: StageStory) -> StageBeside:
        words = done.stage.get_kind_display()
        return StageBeside(words, None, self._done([done], used_in([done], self.lines)))

    def money(self, plan: Plan) -> Iterable[Row]:
        kinds = CostLine.Kind
        for kind, planned in (
            (kinds.LABOUR, planned_labour(plan)),
            (kinds.ACCESS, plan.access_minor),
        ):
            of_kind = [line.home_minor for line in self.lines if line.kind == kind]
            done = sum(of_kind) if of_kind else None
            yield Row(str(kind.label), self._money(planned), self._money(done))

    def _planned(self, foreseen: Foreseen, used: Used) -> Line:
        row, days = foreseen.row, foreseen.days
        if row.sheet is None:
            return Line(began=self._at(days.begins_at))
        known = foreseen.amount is not None
        return Line(
            product=str(row.sheet.product),
            amount=self._amount(foreseen.amount, foreseen.unit) if known else NOT_KNOWN,
            layers=self._layers(foreseen.layers),
            batches=str(foreseen.batches or ""),
            began=self._at(days.begins_at),
            ready=self._at(days.cure.ready_at) if days.cure else "",
            cost=self._money(at_the_price_of(used, foreseen.amount, foreseen.unit)),
        )

    def _done(self, done: Sequence[StageStory], used: Used) -> Line:
        stages = [told.stage for told in done]
        products = dict.fromkeys(
            str(told.batch.sheet.product) for each in done for told in each.batches
        )
        ready = [stage.ready_at for stage in stages if stage.ready_at is not None]
        amounts = (self._amount(amount, unit) for unit, amount in used.amounts.items())
        return Line(
            product=", ".join(products),
            amount=" + ".join(amounts),
            layers=self._thicknesses(stages) if used.batches else "",
            batches=str(used.batches or ""),
            began=self._at(min(stage.began_at for stage in stages)),
            ready=self._at(max(ready)) if ready else "",
            cost=self._money(used.minor) if used.batches else "",
        )

    def _layers(self, layers: Layers) -> str:
        if layers.each_mm is None:
            return str(layers.count)
        return f"{layers.count} × {show(layers.each_mm, Quantity.LENGTH, self.system)}"

    def _thicknesses(self, stages: Sequence[Stage]) -> str:
        known = [stage.thickness_mm for stage in stages if stage.thickness_mm is not None]
        if not known:
            return str(len(stages))
        return " + ".join(show(each, Quantity.LENGTH, self.system) for each in known)

    def _amount(self, amount: Decimal | None, unit: str) -> str:
        return "" if amount is None else show(amount, KINDS[unit], self.system)

    def _at(self, at: datetime | None) -> str:
        return f"{at.astimezone(self.zone):%-d %B %Y, %H:%M}" if at else NOT_KNOWN

    def _money(self, minor: int | None) -> str:
        return NOT_KNOWN if minor is None else show_money(minor, self.currency)


def planned_labour(plan: Plan) -> int | None:
    """The hours at their rate; None where either is not entered."""
    if plan.labour_hours is None or plan.labour_rate_minor is None:
        return None
    return round_minor(Fraction(plan.labour_hours) * plan.labour_rate_minor)


def used_in(done: Sequence[DoneStage], lines: Iterable[CostLine]) -> Used:
    """What stages of a repair took; `lines` are the cost lines of the repair."""
    amounts: dict[str, Decimal] = defaultdict(Decimal)
    own = {told.stage.pk for told in done}
    batches = [told.batch for each in done for told in each.batches]
    for batch in batches:
        parts = list(batch.parts.all())
        unit = parts[0].lot.unit if parts else "g"
        shares = list(batch.shares.all())
        taken = [share.amount for share in shares if share.stage_id in own]
        # Waste counts where the batch was mixed, as the plan counts its loss.
        if batch.mixed_for_id in own:
            taken += [share.amount for share in shares if share.stage_id is None]
        amounts[unit] += sum(taken, Decimal(0))
    priced = [line.home_minor for line in lines if line.stage_id in own and line.batch_id]
    return Used(dict(amounts), len(batches), sum(priced) if priced else None)


def at_the_price_of(used: Used, amount: Decimal | None, unit: str) -> int | None:
    """What the planned amount would cost at the price of what was used."""
    taken = used.amounts.get(unit)
    if not taken or amount is None or used.minor is None or len(used.amounts) > 1:
        return None
    return round_minor(Fraction(used.minor) * Fraction(amount) / Fraction(taken))
