"""What the stores give for a plan, what is to be bought, and what both cost.

One query for the lots, one for the kits beside them, one for the packs that are sold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from django.db.models import Prefetch

from materials.kits import Drawn, OnHand, Purchase, draw
from materials.mixing import split
from materials.models import Kit, Lot, SheetRevision
from materials.money import share_of_price, split_minor
from repairs.plans.buying import Bought, cheapest, convert
from repairs.plans.mixes import Mixes
from repairs.plans.prepared import LotDraw, ProductStock, StageAmount
from repairs.remarks.words import PARTS, amount, day

THOUSANDTH = Decimal("0.001")
MOST_NAMED = 2


@dataclass(frozen=True)
class StageNeed:
    """What one stage takes of its product, by part (`a`, `b` or `one`), in g or ml. `on` is the
    day on which the last of it is used."""

    stage: int
    sheet: SheetRevision
    on: date
    unit: str
    parts: Mapping[str, Decimal]


def need_of(
    stage: int, sheet: SheetRevision | None, taken: StageAmount | None, mixes: Mixes, on: date
) -> StageNeed | None:
    """The sum of its batches, else the amount itself; None where that is not known."""
    if sheet is None or taken is None:
        return None
    unit, parts = _parts_of(sheet, taken, mixes)
    return StageNeed(stage, sheet, on, unit, parts) if parts and all(parts.values()) else None


def _parts_of(
    sheet: SheetRevision, taken: StageAmount, mixes: Mixes
) -> tuple[str, dict[str, Decimal]]:
    if sheet.product.parts == 1:
        unit, total = ("g", taken.total_g) if taken.total_ml is None else ("ml", taken.total_ml)
        return unit, {"one": total} if total else {}
    if mixes.batches is not None:
        rows = mixes.batches.batches
        return mixes.unit, {
            "a": sum((row.a or Decimal(0) for row in rows), Decimal(0)),
            "b": sum((row.b or Decimal(0) for row in rows), Decimal(0)),
        }
    total = taken.total_g if mixes.unit == "g" else taken.total_ml
    ratio = sheet.weight_ratio() if mixes.unit == "g" else sheet.volume_ratio()
    if not total or ratio is None:
        return mixes.unit, {}
    shares = split(total, ratio)
    return mixes.unit, {"a": shares.a, "b": shares.b}


def stock_for(needs: Sequence[StageNeed], currency: str) -> tuple[ProductStock, ...]:
    """For each product of the needs: lots set aside that are good until its last day, packs to
    buy, preferably priced in a currency, and what both cost."""
    by_product: dict[int, list[StageNeed]] = defaultdict(list)
    for need in needs:
        by_product[need.sheet.product_id].append(need)
    if not by_product:
        return ()
    lots, kits = _lots(by_product), _kits(by_product)
    return tuple(
        _product_stock(group, lots.get(product, []), kits.get(product, []), currency)
        for product, group in by_product.items()
    )


def _lots(products: Iterable[int]) -> dict[int, list[Lot]]:
    beside = Lot.objects.with_remaining().order_by("part")
    lots = (
        Lot.objects.holding_stock()
        .kept()
        .with_something_left()
        .soonest_expiry_first()
        .filter(product__in=list(products))
        .select_related("parent")
        .prefetch_related(Prefetch("parent__part_lots", queryset=beside))
    )
    found: dict[int, list[Lot]] = defaultdict(list)
    for lot in lots:
        found[lot.product_id].append(lot)
    return found


def _kits(products: Iterable[int]) -> dict[int, list[Kit]]:
    found: dict[int, list[Kit]] = defaultdict(list)
    for kit in Kit.objects.filter(product__in=list(products)):
        found[kit.product_id].append(kit)
    return found


def _product_stock(
    needs: Sequence[StageNeed],
    lots: Sequence[Lot],
    kits: Sequence[Kit],
    currency: str,
) -> ProductStock:
    sheet, unit, on = needs[0].sheet, needs[0].unit, max(need.on for need in needs)
    needs = [_in_unit(need, unit) for need in needs]
    for lot in lots:
        lot.product = sheet.product
    total = _sum_of(needs)
    usable = [lot for lot in lots if lot.is_usable(on)]
    on_hand = [(lot, each) for lot in usable if (each := _on_hand(lot, sheet, unit)) is not None]
    draws = draw(total, [each for _, each in on_hand], on)
    by_key = {lot.pk: lot for lot, _ in on_hand}
    bought = cheapest(draws.short, kits, sheet, unit, on, currency) if draws.short else None
    return ProductStock(
        sheet=sheet,
        draws=_priced(
            [_lot_draw(each, by_key[each.key], sheet, unit, needs) for each in draws.drawn]
        ),
        purchase=bought.purchase if bought else None,
        remark=" ".join(_remarks(lots, usable, on_hand, draws.short, bought, sheet, unit, on)),
        kit=bought.kit if bought else None,
        unit=unit,
        need=total,
        short=draws.short,
        used_minor=_used(bought.purchase, draws.short) if bought else None,
    )


# One unit for all of a product


def _in_unit(need: StageNeed, unit: str) -> StageNeed:
    parts = {
        part: convert(figure, need.unit, unit, part, need.sheet)
        for part, figure in need.parts.items()
    }
    known = {part: figure for part, figure in parts.items() if figure is not None}
    return replace(need, unit=unit, parts=known)


def _sum_of(needs: Sequence[StageNeed]) -> dict[str, Decimal]:
    total: dict[str, Decimal] = defaultdict(Decimal)
    for need in needs:
        for part, figure in need.parts.items():
            total[part] += figure
    return dict(total)


def _on_hand(lot: Lot, sheet: SheetRevision, unit: str) -> OnHand | None:
    held = convert(lot.remaining(), lot.unit, unit, lot.part, sheet)
    return None if held is None else OnHand(lot.pk, lot.part, held, lot.usable_until)


def _lot_draw(
    drawn: Drawn, lot: Lot, sheet: SheetRevision, unit: str, needs: Sequence[StageNeed]
) -> LotDraw:
    """In the lot's own unit, to the thousandth that the ledger keeps, never more than it holds."""
    taken = convert(drawn.amount, unit, lot.unit, lot.part, sheet) or Decimal(0)
    taken = min(taken.quantize(THOUSANDTH), lot.remaining())
    own = replace(drawn, amount=taken, left=lot.remaining() - taken)
    return LotDraw(lot, own, tuple(need.stage for need in needs if need.parts.get(lot.part)))


# Money


def _priced(draws: Sequence[LotDraw]) -> tuple[LotDraw, ...]:
    """With what each costs in its lot's currency: parts of one kit add up to the kit's share, as
    they will when the repair is logged."""
    groups: dict[int, list[LotDraw]] = defaultdict(list)
    for each in draws:
        groups[priced_lot(each.lot).pk].append(each)
    costs: dict[int, int] = {}
    for group in groups.values():
        taken = [each.drawn.amount for each in group]
        whole = group[0].lot.cost_of(sum(taken, Decimal(0)))
        if whole is not None and any(taken):
            shares = split_minor(whole, taken)
            costs |= {each.lot.pk: share for each, share in zip(group, shares, strict=True)}
    return tuple(replace(each, cost_minor=costs.get(each.lot.pk)) for each in draws)


def priced_lot(lot: Lot) -> Lot:
    """The kit that a lot came in, where the price stands there."""
    return lot if lot.parent is None or lot.price_minor is not None else lot.parent


def cost_of(stock: ProductStock, currency: str) -> int | None:
    """What the plan uses of a product, in minor units; None where a price is missing or in
    another currency."""
    costs = [
        each.cost_minor if priced_lot(each.lot).currency == currency else None
        for each in stock.draws
    ]
    if stock.short:
        known_kit = stock.kit is not None and stock.kit.currency == currency
        costs.append(stock.used_minor if known_kit else None)
    known = [cost for cost in costs if cost is not None]
    return sum(known) if len(known) == len(costs) else None


def _used(purchase: Purchase, short: Mapping[str, Decimal]) -> int | None:
    bought = sum(purchase.bought.values(), Decimal(0))
    if purchase.cost_minor is None or not bought:
        return None
    return share_of_price(purchase.cost_minor, sum(short.values(), Decimal(0)), bought)


# What to say


def _remarks(
    lots: Sequence[Lot],
    usable: Sequence[Lot],
    on_hand: Sequence[tuple[Lot, OnHand]],
    short: Mapping[str, Decimal],
    bought: Bought | None,
    sheet: SheetRevision,
    unit: str,
    on: date,
) -> list[str]:
    barred = [lot for lot in reversed(lots) if lot not in usable]
    counted = {lot.pk for lot, _ in on_hand}
    other_unit = [lot for lot in usable if lot.pk not in counted]
    said = [_left_out(lot, on) for lot in barred[:MOST_NAMED]]
    more = len(barred) - MOST_NAMED
    if more > 0:
        said.append(f"So {'is 1 lot' if more == 1 else f'are {more} lots'} more.")
    said += [
        f"Lot {lot.number} is kept in {lot.get_unit_display()} and is left out: no density of "
        f"{PARTS[lot.part]} is recorded."
        for lot in other_unit[:MOST_NAMED]
    ]
    withdrawn = sheet.product.withdrawn_on
    if short and bought is None:
        parts = ", ".join(
            f"{amount(figure, unit)} of {PARTS[part]}" for part, figure in short.items()
        )
        said.append(f"{parts} missing, and no pack of {sheet.product} is recorded that holds it.")
    elif short and withdrawn is not None and withdrawn <= on:
        said.append(f"{sheet.product} is no longer bought since {day(withdrawn)}.")
    return said


def _left_out(lot: Lot, on: date) -> str:
    if lot.held_back:
        return f"Lot {lot.number} is held back and is left out: {lot.held_back_reason}."
    assert lot.usable_until is not None
    return f"Lot {lot.number} is left out: it is past its last day, {day(lot.usable_until)}."
