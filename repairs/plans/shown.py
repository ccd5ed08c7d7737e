"""A plan worked out, set out for reading: a sentence, then the parts in the order of the work."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from itertools import groupby

from config.figures import Figure
from config.quantities import UnitSystem
from materials.batches import PlannedBatch
from materials.models import Lot
from materials.money import minor_digits
from properties.models import Property
from repairs.costs.charts import Bar
from repairs.life_cycle.spread import Swing
from repairs.models import Stage
from repairs.plans.figure_words import Words, percent, span
from repairs.plans.plan_figures import (
    FillingFigures,
    OptionFigures,
    PlanFigures,
    StageFigures,
    figures_of,
)
from repairs.plans.prepare import prepare
from repairs.plans.prepared import LotDraw, Prepared, PreparedStage, ProductStock, RankedProduct
from repairs.plans.rows import PlanRows
from repairs.plans.strip import Strip, moment_words, strip_of

MOST_SWINGS = 6
PARTS = {Lot.Part.A: "part A", Lot.Part.B: "part B", Lot.Part.ONE: ""}


@dataclass(frozen=True)
class BatchRow:
    """One batch, or several alike: `3 to 8`."""

    numbers: str
    total: str
    a: str
    b: str
    within: str


@dataclass(frozen=True)
class ShownStage:
    number: int
    stage: PreparedStage
    figures: StageFigures
    batches: tuple[BatchRow, ...]
    two_parts: bool
    newer_sheet: str

    @property
    def title(self) -> str:
        return f"{self.number}. {self.stage.row.get_kind_display()}"


@dataclass(frozen=True)
class ShownLot:
    lot: Lot
    part: str
    taken: str
    left: str


@dataclass(frozen=True)
class ShownStock:
    stock: ProductStock
    drawn: Figure
    bought: Figure | None
    lots: tuple[ShownLot, ...]


@dataclass(frozen=True)
class ShownOption:
    words: str
    cheapest: bool
    figures: OptionFigures


@dataclass(frozen=True)
class ShownRank:
    product: RankedProduct
    margin: Figure
    words: str


@dataclass(frozen=True)
class ShownPlan:
    """All that the results of a plan say, in the reader's units."""

    prepared: Prepared
    figures: PlanFigures
    summary: str
    worked_out_at: datetime
    stages: tuple[ShownStage, ...]
    fillings: tuple[FillingFigures, ...]
    stock: tuple[ShownStock, ...]
    ranking: tuple[ShownRank, ...]
    costs: tuple[tuple[str, Figure], ...]
    options: tuple[ShownOption, ...]
    swings: tuple[Bar, ...]
    strip: Strip | None
    units: UnitSystem | str
    zone: str


def show_plan(rows: PlanRows, at: datetime, units: UnitSystem | str) -> ShownPlan:
    """Worked out as the stores stand at an instant."""
    prepared, place = prepare(rows, at), rows.member.building.property
    figures, words = figures_of(prepared, rows, units), Words(units, prepared.currency)
    pairs = zip(prepared.stages, figures.stages, strict=True)
    return ShownPlan(
        prepared=prepared,
        figures=figures,
        summary=summary_of(prepared, words, place),
        worked_out_at=at,
        stages=tuple(
            _stage(number, stage, opened, prepared.planned_on, words)
            for number, (stage, opened) in enumerate(pairs, start=1)
        ),
        fillings=figures.fillings,
        stock=tuple(_stock(number, prepared, figures, words)
                    for number in range(len(prepared.stock))),
        ranking=tuple(_rank(*pair) for pair in
                      zip(prepared.ranking, figures.ranking, strict=True)),
        costs=tuple((line.words, opened) for line, opened in
                    zip(prepared.costs, figures.costs, strict=True)),
        options=tuple(_options(prepared, figures)),
        swings=tuple(_swings(prepared, words)),
        strip=strip_of(prepared, place.zone),
        units=units,
        zone=place.time_zone,
    )  # fmt: skip


def summary_of(prepared: Prepared, words: Words, place: Property) -> str:
    """All in one sentence, as it would be told on the telephone."""
    told = "; ".join(part for part in (
        _work_words(prepared, words),
        _ready_words(prepared, place),
        _cost_words(prepared, words),
    ) if part)  # fmt: skip
    return f"{told[:1].upper()}{told[1:]}."


def _work_words(prepared: Prepared, words: Words) -> str:
    told = []
    for stage in prepared.stages:
        if stage.row.kind == Stage.Kind.FILL and stage.layer_mm is not None:
            count = "one layer" if stage.layers == 1 else f"{stage.layers} layers"
            told.append(f"{count} of {words.length(stage.layer_mm)}")
    batches = sum(len(stage.batches.batches) for stage in prepared.stages if stage.batches)
    if batches:
        told.append("one batch" if batches == 1 else f"{batches} batches")
    grams = [stage.amount.total_g for stage in prepared.stages if stage.amount]
    weight = sum((each for each in grams if each is not None), Decimal(0))
    if weight:
        told.append(f"{words.amount(weight, 'g')} in all")
    return ", ".join(told)


def _ready_words(prepared: Prepared, place: Property) -> str:
    paint = next((each for each in prepared.stages if each.row.kind == Stage.Kind.PAINT), None)
    begins = paint.days.begins_at if paint and paint.days else None
    if begins is not None:
        return f"ready to paint about {begins.astimezone(place.zone):%-d %B %Y}"
    if prepared.ready_at is not None:
        return f"ready about {prepared.ready_at.astimezone(place.zone):%-d %B %Y}"
    return "the day it is ready is not known yet"


def _cost_words(prepared: Prepared, words: Words) -> str:
    if prepared.total_minor is None:
        return "the cost is not known yet"
    return words.money(prepared.total_minor)


def _stage(
    number: int, stage: PreparedStage, opened: StageFigures, on: date, words: Words
) -> ShownStage:
    batches = stage.batches.batches if stage.batches else ()
    newest = stage.sheet.product.sheet_on(on) if stage.sheet else None
    renewed = newest is not None and stage.sheet is not None and newest.pk != stage.sheet.pk
    return ShownStage(
        number=number,
        stage=stage,
        figures=opened,
        batches=tuple(_batch_rows(batches, stage.unit, words)),
        two_parts=any(each.b is not None for each in batches),
        newer_sheet=newest.revision if newest and renewed else "",
    )


def _batch_rows(batches: tuple[PlannedBatch, ...], unit: str, words: Words) -> Iterable[BatchRow]:
    def alike(batch: PlannedBatch) -> tuple[str, str, str, str]:
        within = span(batch.working.to_use_within) if batch.working else "not known"
        return (
            words.weighed(batch.total, unit),
            "" if batch.a is None else words.weighed(batch.a, unit),
            "" if batch.b is None else words.weighed(batch.b, unit),
            within,
        )

    for told, group in groupby(batches, key=alike):
        numbers = [batch.number for batch in group]
        first, last = numbers[0], numbers[-1]
        yield BatchRow(f"{first}" if first == last else f"{first} to {last}, each", *told)


def _stock(number: int, prepared: Prepared, figures: PlanFigures, words: Words) -> ShownStock:
    stock, opened = prepared.stock[number], figures.stock[number]
    lots = tuple(_lot(draw, words) for draw in stock.draws)
    return ShownStock(stock, opened.drawn, opened.bought, lots)


def _lot(draw: LotDraw, words: Words) -> ShownLot:
    return ShownLot(
        draw.lot,
        PARTS.get(Lot.Part(draw.lot.part), ""),
        words.weighed(draw.drawn.amount, draw.lot.unit),
        words.weighed(draw.drawn.left, draw.lot.unit),
    )


def _rank(product: RankedProduct, margin: Figure) -> ShownRank:
    if product.stands is None:
        told = "Not known"
    else:
        told = "Stands it" if product.stands else "Too near or too soft"
    return ShownRank(product, margin, told)


def _options(prepared: Prepared, figures: PlanFigures) -> Iterable[ShownOption]:
    compared = prepared.comparison
    if compared is None:
        return
    for result, opened in zip(compared.results, figures.options, strict=True):
        kind = result.option.kind
        yield ShownOption(result.option.words, kind == compared.cheapest, opened)


def _swings(prepared: Prepared, words: Words) -> Iterable[Bar]:
    """What the answer hangs on: how far each input moves the difference, the largest first."""
    if prepared.comparison is None:
        return
    digits = minor_digits(prepared.currency)
    swings = prepared.comparison.hangs_on[:MOST_SWINGS]
    longest = max((swing.width for swing in swings), default=0.0)
    for swing in swings:
        width = round(100 * swing.width / longest, 1) if longest else 0
        turned = " (turns the answer round)" if swing.turns else ""
        value = words.money(round(swing.width * 10**digits))
        yield Bar(f"{_swing_words(swing, words, digits)}{turned}", value, width)


def _swing_words(swing: Swing, words: Words, digits: int) -> str:
    if swing.unit == "rate":
        return f"{swing.words}, {percent(swing.low)} to {percent(swing.high)}"
    if swing.unit == "years":
        return f"{swing.words}, {swing.low:g} to {swing.high:g} years"
    low, high = (words.money(round(each * 10**digits)) for each in (swing.low, swing.high))
    return f"{swing.words}, {low} to {high}"


__all__ = ["ShownPlan", "moment_words", "show_plan", "summary_of"]
