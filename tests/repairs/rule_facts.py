"""Facts for the rules, sound until a test says otherwise. All figures are invented."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from materials.mixing import MixRatio
from materials.shelf_life import LastUsableDay
from properties.heat import ExpectedSurface
from repairs.remarks import (
    BatchFacts,
    LayerFacts,
    LotFacts,
    Remark,
    RepairFacts,
    SheetFacts,
    StageFacts,
)

D = Decimal
MORNING = datetime(2026, 5, 4, 8, tzinfo=UTC)
HOUR = timedelta(hours=1)

RESIN = SheetFacts(
    product="Laminating resin L",
    kind="laminating_resin",
    revision="Issue 4",
    weight_ratio=MixRatio(D(100), D(33), "weight"),
    ratio_tolerance_pct=D(5),
    pot_life=HOUR,
    pot_life_mass_g=D(500),
    pot_life_at_c=D(20),
    cure_time=24 * HOUR,
    cure_at_c=D(20),
    recoat_from=2 * HOUR,
    recoat_to=24 * HOUR,
    apply_min_c=D(10),
    apply_max_c=D(30),
    wood_moisture_max_pct=D(16),
    heat_deflection_c=D(60),
)
PUTTY = SheetFacts(
    product="Putty P",
    kind="filler",
    revision="Issue 2",
    volume_ratio=MixRatio(D(2), D(1), "volume"),
    working_time_thick=90 * timedelta(minutes=1),
    working_time_thin=3 * HOUR,
    cure_time=24 * HOUR,
    cure_at_c=D(20),
    layer_min_mm=D(13),
    layer_max_mm=D("25.4"),
    apply_min_c=D(10),
    heat_deflection_c=D(60),
)
PAINT = SheetFacts(
    product="Paint T",
    kind="paint",
    revision="Issue 1",
    parts=1,
    recoat_from=4 * HOUR,
    apply_min_c=D(10),
)
WHITE_SUN = ExpectedSurface(D(50), "white finish in full sun; common practice, no source")


def lot(part: str, amount: Any, **more: Any) -> LotFacts:
    facts = LotFacts(
        number=f"{part.upper()}-11",
        product=more.pop("product", RESIN.product),
        part=part,
        used_as=more.pop("used_as", part),
        amount=D(str(amount)),
        unit=more.pop("unit", "g"),
        received_on=date(2026, 1, 10),
        shelf=LastUsableDay(date(2027, 3, 31), "printed"),
        remaining=D(1000),
    )
    return replace(facts, **more)


def mix(a: Any, b: Any, sheet: SheetFacts = RESIN, **more: Any) -> BatchFacts:
    unit = more.pop("unit", "g")
    lots = tuple(
        lot(part, amount, unit=unit, product=sheet.product)
        for part, amount in (("a", a), ("b", b))
        if amount
    )
    facts = BatchFacts(
        sheet=sheet,
        lots=lots,
        basis="weight",
        mixed_at=MORNING,
        used_on=MORNING.date(),
        applied_at=MORNING + HOUR / 2,
        air_c=D(18),
        surface_c=D(17),
        humidity_pct=D(60),
    )
    return replace(facts, **more)


def layer(sheet: SheetFacts = RESIN, **more: Any) -> LayerFacts:
    facts = LayerFacts(position=1, stage="seal", sheet=sheet, mixed_at=MORNING, temperature_c=D(20))
    return replace(facts, **more)


def stage(kind: str, *sheets: SheetFacts, **more: Any) -> StageFacts:
    facts = StageFacts(
        kind=kind,
        began_at=MORNING,
        sheets=sheets,
        thickness_mm=D(15) if kind == "fill" else None,
        air_c=D(18),
        surface_c=D(17),
        humidity_pct=D(60),
        moisture_pct=D(13),
        face=WHITE_SUN,
    )
    return replace(facts, **more)


def repair(**more: Any) -> RepairFacts:
    facts = RepairFacts(
        kind="resin",
        temporary=False,
        load_bearing="no",
        engineer_note="",
        lead_note="",
        stages=("open_up", "seal", "fill", "paint"),
        zone="left end",
        paint_year=2001,
        ban_year=1992,
    )
    return replace(facts, **more)


def codes(remarks: list[Remark]) -> list[str]:
    return [remark.code for remark in remarks]


def only(remarks: list[Remark], code: str) -> Remark:
    """The one remark of a code."""
    [found] = [remark for remark in remarks if remark.code == code]
    return found
