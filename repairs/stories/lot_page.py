"""What the page of one lot says: its facts, its ledger with the balance, and where it went."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.urls import reverse

from config.figures import Figure
from config.quantities import UnitSystem
from materials.lot_state import (
    LotState,
    amount_in_words,
    kits_in_words,
    last_day,
    parts_of,
    remaining_in_words,
    states_of,
)
from materials.models import Lot, Movement, SheetRevision
from materials.money import show_money
from properties.models import Building
from repairs.models import Repair
from repairs.stories.lot_trace import LotTrace, Placing, lots_in, trace
from repairs.stories.lot_until import until_figure

CAN_BE_TAKEN_BACK = set(Movement.Kind.values) - {Movement.Kind.MOVED}


@dataclass(frozen=True)
class LedgerLine:
    line: Movement
    amount: str
    balance: str
    repair_url: str
    correct_url: str
    struck: bool


@dataclass(frozen=True)
class Went:
    """One line of where a lot went; no address for what may not be opened."""

    placing: Placing
    amount: str
    part: str
    words: str
    place: str
    repair_url: str
    member_url: str
    building_url: str
    mixed_in: str


@dataclass(frozen=True)
class PartStory:
    lot: Lot
    left: Figure
    ledger: tuple[LedgerLine, ...]
    not_linked: tuple[tuple[str, str], ...]
    in_batches: str
    until: Figure | None
    until_rule: str


@dataclass(frozen=True)
class InPlace:
    """One lot of those that went into the repairs of a place."""

    lot: Lot
    amount: str
    states: tuple[LotState, ...]


@dataclass(frozen=True)
class LotStory:
    lot: Lot
    parts: tuple[PartStory, ...]
    went: tuple[Went, ...]
    remaining: str
    until: date | None
    states: tuple[LotState, ...]
    sheet: SheetRevision | None
    unit_cost: Figure | None

    @property
    def is_opened(self) -> bool:
        """A kit is open once both its parts are, also by a batch that was mixed from them."""
        return all(part.lot.opened_on for part in self.parts)


# `visible`: the properties whose names may be told; None for all.
def story_of(lot: Lot, on: date, system: UnitSystem | str, visible: set[int] | None) -> LotStory:
    teller = _Teller(system, visible)
    traces = trace(lot)
    placings = sorted(
        (each for one in traces for each in one.placings),
        key=lambda each: (each.batch.mixed_at, each.batch.pk, each.part.part),
    )
    return LotStory(
        lot=lot,
        parts=tuple(teller.part(each) for each in traces),
        went=tuple(teller.went(each) for each in placings),
        remaining=remaining_in_words(lot, system),
        until=last_day(lot),
        states=tuple(states_of(lot, on)),
        sheet=lot.product.sheet_on(lot.received_on),
        unit_cost=_unit_cost(lot, system),
    )


def lots_of(building: Building, on: date, system: UnitSystem | str) -> list[InPlace]:
    """The lots that stand in a building, by product and number."""
    found = lots_in(Repair.objects.filter(member__building=building))
    return [
        InPlace(lot, amount_in_words(lot, found[lot], system), tuple(states_of(lot, on)))
        for lot in sorted(found, key=lambda lot: (lot.product.name, lot.number, lot.part))
    ]


class _Teller:
    """Tells in the reader's units, and names only what the reader may see."""

    def __init__(self, system: UnitSystem | str, visible: set[int] | None) -> None:
        self.system, self.visible = system, visible

    def part(self, traced: LotTrace) -> PartStory:
        lot = traced.lot
        shelf = lot.shelf()
        return PartStory(
            lot=lot,
            left=self._left(traced),
            ledger=tuple(self._ledger(traced)),
            not_linked=tuple(
                (each.words, self._signed(lot, each.amount)) for each in traced.not_linked
            ),
            in_batches=amount_in_words(lot, traced.in_batches, self.system),
            until=until_figure(lot, shelf),
            until_rule=shelf.words,
        )

    def _left(self, traced: LotTrace) -> Figure:
        lot = traced.lot
        inputs = [
            ("Received", amount_in_words(lot, traced.received, self.system)),
            ("In batches", amount_in_words(lot, traced.in_batches, self.system)),
            *((each.words, self._signed(lot, each.amount)) for each in traced.not_linked),
        ]
        return Figure(
            value=amount_in_words(lot, traced.remaining, self.system),
            name="What is left",
            inputs=tuple(inputs),
            formula="received − in batches + all other lines of the ledger, signed as they stand",
            source="the lot's own ledger",
        )

    def _signed(self, lot: Lot, amount: Decimal) -> str:
        words = amount_in_words(lot, abs(amount), self.system)
        return f"−{words}" if amount < 0 else f"+{words}" if amount > 0 else words

    def _ledger(self, traced: LotTrace) -> list[LedgerLine]:
        repairs = {}
        for placing in traced.placings:
            for pk in (placing.part.movement_id, placing.part.waste_movement_id):
                mixed_for = placing.batch.mixed_for
                repairs[pk] = mixed_for.repair if mixed_for else placing.repair
        lot, balance, told = traced.lot, Decimal(0), []
        lines = list(traced.lot.movements.all())
        taken_back = {line.reverses_id for line in lines if line.reverses_id}
        for line in lines:
            balance += line.amount
            repair = repairs.get(line.pk)
            may_correct = (
                line.pk not in repairs
                and line.pk not in taken_back
                and line.reverses_id is None
                and line.kind in CAN_BE_TAKEN_BACK
            )
            told.append(
                LedgerLine(
                    line=line,
                    amount=self._signed(lot, line.amount) if line.amount else "",
                    balance=amount_in_words(lot, balance, self.system),
                    repair_url=repair.get_absolute_url() if repair and self._sees(repair) else "",
                    correct_url=reverse("movement-correct", args=[lot.pk, line.pk])
                    if may_correct
                    else "",
                    struck=line.pk in taken_back,
                )
            )
        return told

    def _sees(self, repair: Repair) -> bool:
        return self.visible is None or repair.member.building.property_id in self.visible

    def went(self, placing: Placing) -> Went:
        repair, member = placing.repair, placing.member
        seen = repair is not None and self._sees(repair)
        place = ""
        if member is not None:
            building = member.building
            place = f"{building.name}, {building.property.name}" if seen else "another property"
        zone = member.building.property.time_zone if member else ""
        return Went(
            placing=placing,
            amount=amount_in_words(placing.part.lot, placing.amount, self.system),
            part=placing.part.get_part_display(),
            words=_where(placing),
            place=place,
            repair_url=repair.get_absolute_url() if repair and seen else "",
            member_url=member.get_absolute_url() if member and seen else "",
            building_url=reverse("building-lots", args=[member.building_id])
            if member and seen
            else "",
            mixed_in=zone,
        )


def _where(placing: Placing) -> str:
    if placing.given_back:
        return "Withdrawn: entered by mistake and put back"
    if placing.went == "waste":
        return "Waste"
    if placing.went == "left" or placing.stage is None:
        return "Not yet placed"
    return placing.stage.get_kind_display()


def _unit_cost(lot: Lot, system: UnitSystem | str) -> Figure | None:
    """What 100 g or 100 ml costs, and of a kit what one kit costs; None without a price."""
    priced = lot.parent if lot.parent is not None and lot.price_minor is None else lot
    if priced.price_minor is None:
        return None
    paid = ("Paid", show_money(priced.price_minor, priced.currency))
    if lot.part == Lot.Part.KIT:
        cost = lot.cost_of_kits(Decimal(1))
        name, whole = "one kit", ("Kits received", kits_in_words(lot.kits_received or Decimal(0)))
        formula = "paid ÷ kits received"
    else:
        cost = lot.cost_of(Decimal(100))
        name = f"100 {lot.unit}"
        received = sum((each.received() for each in _sharing(lot)), Decimal(0))
        whole = ("Received for it", amount_in_words(lot, received, system))
        formula = f"paid × 100 {lot.unit} ÷ all that was received for it"
    if cost is None:
        return None
    return Figure(
        value=f"{show_money(cost, priced.currency)} for {name}",
        name=f"What {name} costs",
        inputs=(paid, whole),
        formula=formula,
        source="the price and the received lines entered for this lot",
    )


def _sharing(lot: Lot) -> list[Lot]:
    """The lots that share one price."""
    shares_kit = lot.parent is not None and lot.price_minor is None
    return parts_of(lot.parent) if shares_kit and lot.parent else [lot]
