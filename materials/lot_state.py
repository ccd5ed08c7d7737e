"""How a lot stands on a day, in words and with the mark that goes with them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_DOWN, Decimal

from django.db.models import Prefetch, prefetch_related_objects

from config.quantities import Quantity, UnitSystem, show
from materials.models import Lot

# Common practice, no source: time enough to plan a use or to order anew.
SOON = timedelta(days=60)
KINDS = {Lot.Unit.GRAM: Quantity.MASS, Lot.Unit.MILLILITRE: Quantity.VOLUME}


@dataclass(frozen=True)
class LotState:
    mark: str
    word: str


def parts_of(lot: Lot) -> list[Lot]:
    """The lots that hold the stock: of a kit its A lot and B lot, else the lot itself."""
    return list(lot.part_lots.all()) if lot.part == Lot.Part.KIT else [lot]


def read_kit(lot: Lot) -> None:
    """Read the parts of a lot's kit in one query, with what is left of each. All of them share
    one product, and so its sheets."""
    kit = lot if lot.part == Lot.Part.KIT else lot.parent
    if kit is None:
        return
    beside = Lot.objects.with_remaining().order_by("part")
    prefetch_related_objects([kit], Prefetch("part_lots", queryset=beside))
    for each in (kit, *kit.part_lots.all()):
        each.product = lot.product


def last_day(lot: Lot) -> date | None:
    """The last usable day; of a kit, that of the part that ends first."""
    days = [part.usable_until for part in parts_of(lot) if part.usable_until]
    return min(days, default=lot.usable_until)


def states_of(lot: Lot, on: date) -> list[LotState]:
    """All that is to be said of a lot on a day, the gravest first; never empty."""
    if lot.emptied_on is not None:
        return [LotState("done", f"Used up or thrown away {_day(lot.emptied_on)}")]
    parts = parts_of(lot)
    found = []
    if lot.held_back or any(part.held_back for part in parts):
        found.append(LotState("held", "Held back"))
    day = last_day(lot)
    if day is not None and day < on:
        found.append(LotState("expired", "Expired"))
    if any(part.count_needed() for part in parts):
        found.append(LotState("count", "Count needed"))
    if day is not None and on <= day <= on + SOON:
        found.append(LotState("due", "Expires soon"))
    if parts and all(part.remaining() == 0 for part in parts):
        found.append(LotState("low", "Nothing left"))
    elif any(part.runs_low() for part in parts):
        found.append(LotState("low", "Runs low"))
    return found or [LotState("released", "Released")]


def kits_remaining(kit: Lot) -> Decimal | None:
    """How many packs could still be mixed: the lesser of what is left of A and of B."""
    if kit.part != Lot.Part.KIT or not kit.kits_received:
        return None
    shares = [part.remaining() / part.received() for part in parts_of(kit) if part.received()]
    return min(shares) * kit.kits_received if shares else None


def amount_in_words(lot: Lot, amount: Decimal, system: UnitSystem | str) -> str:
    return show(amount, KINDS[Lot.Unit(lot.unit)], system)


def remaining_in_words(lot: Lot, system: UnitSystem | str) -> str:
    """`1,200 g`; of a kit `0.75 kits: A 750 g, B 247.5 g`."""
    if lot.part != Lot.Part.KIT:
        return amount_in_words(lot, lot.remaining(), system)
    parts = ", ".join(
        f"{part.part.upper()} {amount_in_words(part, part.remaining(), system)}"
        for part in parts_of(lot)
    )
    kits = kits_remaining(lot)
    return f"{kits_in_words(kits)}: {parts}" if kits is not None else parts


def kits_in_words(kits: Decimal) -> str:
    """To hundredths, cut and not rounded up: what is not there cannot be mixed."""
    figure = f"{kits.quantize(Decimal('0.01'), ROUND_DOWN).normalize():f}".replace("-", "−")
    figure = "0" if figure == "−0" else figure
    return f"{figure} kit" if 0 < kits <= 1 else f"{figure} kits"


def _day(day: date) -> str:
    return f"{day:%-d %B %Y}"
