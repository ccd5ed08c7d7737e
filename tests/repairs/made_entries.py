"""Entries as a crew would make them, for tests of the act that saves them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from materials.models import Lot, Product, SheetRevision
from properties.models import Member
from repairs.logbook.entry import (
    BatchEntry,
    CostEntry,
    LabourEntry,
    PartEntry,
    RepairEntry,
    StageEntry,
)
from repairs.logbook.log import judge, log_repair
from repairs.models import Repair
from tests.factories import (
    MORNING,
    DefectFactory,
    LotFactory,
    MemberFactory,
    ProductFactory,
    SheetRevisionFactory,
    make_crew,
)

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
NOW = MORNING + 60 * DAY


def make_sheet(kind: str = Product.Kind.LAMINATING_RESIN, **figures: Any) -> SheetRevision:
    sheet = SheetRevisionFactory(product=ProductFactory(kind=kind), **figures)
    sheet.refresh_from_db()
    return sheet


def make_lots(sheet: SheetRevision, **kwargs: Any) -> tuple[Lot, Lot]:
    return tuple(  # type: ignore[return-value]
        LotFactory(product=sheet.product, part=part, **kwargs) for part in (Lot.Part.A, Lot.Part.B)
    )


def part(lot: Lot, amount: Any, kit: Any = None) -> PartEntry:
    return PartEntry(lot, lot.part, Decimal(str(amount)), None if kit is None else Decimal(kit))


def batch(
    sheet: SheetRevision, *parts: PartEntry, at: datetime = MORNING, **kwargs: Any
) -> BatchEntry:
    """On a mild day, well above the dew point."""
    weather = {"air_c": Decimal(18), "surface_c": Decimal(17), "humidity_pct": Decimal(60)}
    return BatchEntry(
        sheet=sheet,
        basis=kwargs.pop("basis", "weight"),
        typed=kwargs.pop("typed", "100 g + 33 g"),
        parts=parts,
        mixed_at=at,
        **{**weather, **kwargs},
    )


def stage(kind: str, *batches: BatchEntry, at: datetime = MORNING, **kwargs: Any) -> StageEntry:
    return StageEntry(kind=kind, began_at=at, batches=batches, **kwargs)


def entry(member: Member, *stages: StageEntry, **kwargs: Any) -> RepairEntry:
    """A lasting repair of the left end, its cause put right, ended two hours after it began."""
    if "defects" not in kwargs and "new_defect" not in kwargs:
        kwargs["defects"] = (DefectFactory(member=member),)
    began_at = kwargs.pop("began_at", stages[0].began_at if stages else MORNING)
    return RepairEntry(
        member=member,
        zone=kwargs.pop("zone", "left"),
        kind=kwargs.pop("kind", "resin"),
        began_at=began_at,
        stages=stages,
        **kwargs,
    )


def reasons_for(made: RepairEntry, at: datetime = NOW) -> dict[str, str]:
    """A reason for every warning, as a person would type them after reading."""
    return {
        placed.key: "seen and accepted"
        for placed in judge(made, at)
        if placed.remark.level == "warning"
    }


def log(made: RepairEntry, at: datetime = NOW, by: Any = None) -> Repair:
    """Log it with a reason for each warning."""
    given = {**reasons_for(made, at), **made.reasons}
    return log_repair(replace(made, reasons=given), by or make_crew(), at)


def codes(made: RepairEntry, at: datetime = NOW) -> set[str]:
    return {placed.remark.code for placed in judge(made, at)}


def one_seal(member: Member | None = None, **kwargs: Any) -> RepairEntry:
    """One stage with one good batch."""
    member = member or MemberFactory()
    sheet = make_sheet(apply_min_c=10)
    lots = make_lots(sheet, price_minor=6000)
    mixed = batch(sheet, part(lots[0], 100), part(lots[1], 33))
    return entry(member, stage("seal", mixed, moisture_pct=Decimal(12)), **kwargs)


def painting(hours: str = "2.5", rate_minor: int | None = 3200) -> LabourEntry:
    return LabourEntry(who="Robin Larch", hours=Decimal(hours), rate_minor=rate_minor)


def tower(amount_minor: int = 8000, currency: str = "GBP", **kwargs: Any) -> CostEntry:
    return CostEntry(
        kind=kwargs.pop("kind", "access"),
        description="Tower for a day",
        amount_minor=amount_minor,
        currency=currency,
        **kwargs,
    )


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)  # type: ignore[misc,arg-type]
