"""A plan as the crew takes it to the wall: where, what to bring and weigh, when, what to check.

Built only from a worked-out plan; every figure stands there as it is to be read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from config.quantities import UnitSystem
from materials.mixing import NEVER_CHANGE_THE_RATIO
from materials.models import Lot
from materials.weighing import DOUBLE_POT
from properties.elevation_drawing import LONG, SHAPES, Box, Shape
from properties.models import Member
from properties.models.members import Zone
from repairs.models import Plan, Stage
from repairs.plans.figure_words import Words, moment
from repairs.plans.prepare import prepare
from repairs.plans.prepared import Prepared, PreparedStage, ProductStock
from repairs.plans.rows import PlanRows
from repairs.plans.starting import SCALE_STEP_G
from repairs.plans.work_sheet_checks import Measures, briefly, measures_of, ticks_of
from repairs.plans.work_sheet_mixing import MixTable, few_enough, mixing_of, scale_in_words
from repairs.remarks import Remark
from repairs.remarks.limits import LOAD_CAUTION
from repairs.remarks.weather_rules import LAID_ON
from repairs.remarks.words import PARTS, day, number

# Said by a caution beside it in words for who does the work, or settled by who chose the product.
NOT_ON_SITE = frozenset({"lead-paint", "heat-too-low"})


@dataclass(frozen=True)
class ToBring:
    """One lot to take along, or one purchase; `part` is the letter to look for on the tin."""

    part: str
    product: str
    lot: str
    amount: str
    kept_at: str
    last_day: str


@dataclass(frozen=True)
class SheetStage:
    number: int
    name: str
    product: str
    takes: str
    begins: str
    why: str
    measures: Measures
    ticks: tuple[str, ...]
    mixing: MixTable | None
    after: tuple[str, ...]
    remarks: tuple[Remark, ...]
    missing: tuple[str, ...]

    @property
    def has_more(self) -> bool:
        """Something to say besides its times."""
        more = (self.product, self.ticks, self.mixing, self.after, self.remarks, self.missing)
        return any(more)


@dataclass(frozen=True)
class WorkSheet:
    plan: Plan
    member: Member
    zone: str
    sizes: str
    drawing: Shape
    spot: Box
    planned_on: str
    weather: str
    notice: str
    cautions: tuple[str, ...]
    remarks: tuple[Remark, ...]
    to_bring: tuple[ToBring, ...]
    to_buy: tuple[str, ...]
    scale: str
    stages: tuple[SheetStage, ...]
    ready: str
    made_at: str
    system: str

    @property
    def mixes(self) -> bool:
        return any(stage.mixing for stage in self.stages)

    @property
    def mixing_rules(self) -> tuple[str, str]:
        return DOUBLE_POT, NEVER_CHANGE_THE_RATIO


def work_sheet_of(plan: Plan, units: UnitSystem | str, at: datetime) -> WorkSheet:
    """A saved plan as the stores stand at an instant, in the reader's units."""
    rows = PlanRows.of(plan)
    prepared = prepare(rows, at)
    member = rows.member
    place = member.building.property
    words = Words(units, place.currency)
    drawing = SHAPES.get(Member.Kind(member.kind), LONG)
    return WorkSheet(
        plan=plan,
        member=member,
        zone=Zone(plan.zone).label,
        sizes=_sizes(member, words),
        drawing=drawing,
        spot=drawing.spot(plan.zone),
        planned_on=day(prepared.planned_on),
        weather=words.sentence(_weather(prepared, plan)),
        notice=_notice(plan),
        cautions=_cautions(prepared),
        remarks=_serious(prepared.remarks),
        to_bring=tuple(_to_bring(prepared.stock, words)),
        to_buy=tuple(_to_buy(prepared.stock, words)),
        scale=scale_in_words(plan.scale_step_g or SCALE_STEP_G, words),
        stages=tuple(_stages(prepared, plan, words)),
        ready="" if prepared.ready_at is None else moment(prepared.ready_at),
        made_at=moment(at.astimezone(place.zone)),
        system=str(units),
    )


def _notice(plan: Plan) -> str:
    if plan.state == Plan.State.DROPPED:
        return f"This plan was dropped: {plan.dropped_reason} Do not work from this sheet."
    if plan.state == Plan.State.LOGGED:
        return "This plan is logged as done. Do not work from this sheet."
    return ""


def _sizes(member: Member, words: Words) -> str:
    sizes = (("long", member.length_mm), ("wide", member.width_mm), ("deep", member.depth_mm))
    return ", ".join(f"{words.length(size)} {name}" for name, size in sizes if size is not None)


def _weather(prepared: Prepared, plan: Plan) -> str:
    if plan.forecast:
        return prepared.weather
    known = (("by day", plan.air_day_c), ("by night", plan.air_night_c))
    return ", ".join(f"{number(value)} °C {name}" for name, value in known if value is not None)


def _cautions(prepared: Prepared) -> tuple[str, ...]:
    """That an engineer decides is said once."""
    said = any(each.code == "no-engineer-note" for each in prepared.remarks)
    return tuple(each for each in prepared.cautions if not (said and each == LOAD_CAUTION))


def _serious(remarks: Sequence[Remark]) -> tuple[Remark, ...]:
    """What a crew must know; notes are for who plans."""
    return tuple(
        remark for remark in remarks if remark.level != "note" and remark.code not in NOT_ON_SITE
    )


# What to bring


def _to_bring(stock: Sequence[ProductStock], words: Words) -> Iterator[ToBring]:
    for each in stock:
        for draw in each.draws:
            lot, part = draw.lot, draw.drawn.part
            yield ToBring(
                part=_letter(part),
                product=each.sheet.product.name,
                lot=lot.number,
                amount=words.weighed(draw.drawn.amount, lot.unit),
                kept_at=lot.kept_at or "not recorded",
                last_day=_last_day(lot),
            )


def _last_day(lot: Lot) -> str:
    return "no date recorded" if lot.usable_until is None else day(lot.usable_until)


def _letter(part: str) -> str:
    return "" if part == Lot.Part.ONE else PARTS[part]


def _to_buy(stock: Sequence[ProductStock], words: Words) -> Iterator[str]:
    for each in stock:
        if not each.short:
            continue
        short = " and ".join(
            f"{words.weighed(amount, each.unit)}{_of_part(part)}"
            for part, amount in each.short.items()
        )
        bought = each.purchase
        packs = ""
        if bought is not None and each.kit is not None:
            count = "1 pack" if bought.kits == 1 else f"{bought.kits} packs"
            packs = f": {count} of {each.kit}"
        yield f"{each.sheet.product}, {short} short{packs}"


def _of_part(part: str) -> str:
    return f" of {_letter(part)}" if _letter(part) else ""


# Stages


def _stages(prepared: Prepared, plan: Plan, words: Words) -> Iterator[SheetStage]:
    below: list[PreparedStage] = []
    mixed = sum(stage.batches is not None for stage in prepared.stages)
    for position, stage in enumerate(prepared.stages, start=1):
        days, mixing = stage.days, mixing_of(stage, plan, words)
        yield SheetStage(
            number=position,
            name=Stage.Kind(stage.row.kind).label,
            product=stage.sheet.product.name if stage.sheet else stage.product,
            takes=_takes(stage, words),
            begins="" if days is None or days.begins_at is None else moment(days.begins_at),
            why="" if days is None else words.sentence(days.why),
            measures=measures_of(stage, words),
            ticks=ticks_of(stage, below, plan.defect),
            mixing=mixing and few_enough(mixing, mixed),
            after=tuple(words.sentence(each) for each in _after(stage)),
            remarks=_serious(stage.remarks),
            missing=tuple(words.sentence(each) for each in stage.missing),
        )
        if stage.row.kind in LAID_ON and stage.sheet is not None:
            below.append(stage)


def _takes(stage: PreparedStage, words: Words) -> str:
    """Layers or coats, and of what is not mixed how much."""
    parts = []
    if stage.row.kind == Stage.Kind.FILL and stage.layer_mm is not None:
        count = "1 layer" if stage.layers == 1 else f"{stage.layers} layers"
        parts.append(f"{count} of {words.length(stage.layer_mm)}")
    elif stage.sheet is not None and stage.row.kind in LAID_ON:
        parts.append("1 coat" if stage.row.coats == 1 else f"{stage.row.coats} coats")
    if stage.amount is not None and stage.batches is None:
        if stage.amount.total_ml is not None:
            parts.append(f"{words.amount(stage.amount.total_ml, 'ml')} in all")
        elif stage.amount.total_g is not None:
            parts.append(f"{words.weighed(stage.amount.total_g, 'g')} in all")
    return ", ".join(parts)


def _after(stage: PreparedStage) -> Iterator[str]:
    """When the next may follow, counted from mixing."""
    days = stage.days
    if days is None or days.begins_at is None:
        return
    if days.window_opens_at is not None:
        opens, closes = briefly(days.window_opens_at), days.window_closes_at
        until = "" if closes is None else f" until {briefly(closes)}"
        yield f"Lay over from {opens}{until}."
    if days.cure is not None and days.cure.ready_at is not None:
        band = ""
        if days.cure.earliest is not None and days.cure.latest is not None:
            first, last = days.cure.earliest, days.cure.latest
            late = f"{last:%H:%M}" if last.date() == first.date() else briefly(last)
            band = f" ({briefly(first)} to {late})"
        yield f"Cured about {briefly(days.cure.ready_at)}{band}."
