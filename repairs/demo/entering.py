"""How the example's work is entered: its batches, and each repair as the log page saves it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from materials.models import Lot, SheetRevision
from properties.models import Member
from repairs.demo.pictures import picture
from repairs.demo.stores import Stores
from repairs.logbook.entry import BatchEntry, PartEntry, RepairEntry, StageEntry
from repairs.logbook.log import judge, log_repair
from repairs.models import Photograph, Repair

if TYPE_CHECKING:
    from django.contrib.auth.models import User

REASON = "The owner wants this colour kept; a lighter one is advised at the next repaint"
WEATHER: dict[str, Any] = {
    "air_c": Decimal(20), "surface_c": Decimal(20), "humidity_pct": Decimal(55),
}  # fmt: skip


def morning(at: datetime, member: Member) -> datetime:
    local = at.astimezone(member.building.property.zone)
    return local.replace(hour=9, minute=0, second=0, microsecond=0)


def stage(
    kind: str, began: datetime, ended: datetime, *batches: BatchEntry, **facts: Any
) -> StageEntry:
    return StageEntry(kind, began, ended, batches=batches, **WEATHER, **facts)


def mixed(
    stores: Stores, name: str, sheet: SheetRevision, at: datetime, a: Decimal, b: Decimal
) -> BatchEntry:
    lots = {lot.part: lot for lot in stores.kit(name, at.date()).part_lots.all()}
    a, b = a.quantize(Decimal("0.1")), b.quantize(Decimal("0.1"))
    parts = (PartEntry(lots[Lot.Part.A], "a", a), PartEntry(lots[Lot.Part.B], "b", b))
    return BatchEntry(
        sheet, "weight", f"{a} g + {b} g", parts, at, at + timedelta(minutes=25),
        waste=((a + b) / 20).quantize(Decimal("0.1")), **WEATHER,
    )  # fmt: skip


def from_tin(
    stores: Stores, name: str, sheet: SheetRevision, at: datetime, millilitres: Decimal
) -> BatchEntry:
    lot = stores.kit(name, at.date())
    part = PartEntry(lot, "one", millilitres)
    return BatchEntry(sheet, "volume", f"{millilitres} ml", (part,), at, **WEATHER)


def log(entry: RepairEntry, crew: User, photographs: bool = False) -> Repair:
    """Save an entry as the log page does, with a reason for each warning."""
    at = (entry.ended_at or entry.stages[-1].began_at) + timedelta(hours=1)
    reasons = {placed.key: REASON for placed in judge(entry, at)}
    entry = replace(entry, reasons=reasons)
    if photographs:
        entry = replace(entry, photographs=tuple(_photographs(entry)))
    return log_repair(entry, crew, at)


def _photographs(entry: RepairEntry) -> list[Photograph]:
    captions = {
        "before": "Opened up: soft to the probe",
        "during": "Lined and filled, before shaping",
        "after": "Shaped and painted",
    }
    return [
        Photograph(
            file=picture(moment, f"{entry.member.mark}{moment}"), moment=moment, caption=caption,
            taken_at=entry.began_at, original_name=f"drawn-{moment}.jpg",
        )
        for moment, caption in captions.items()
    ]  # fmt: skip
