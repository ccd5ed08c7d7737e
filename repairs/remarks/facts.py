"""What the rules are told: figures and instants, no rows. None means not recorded.

Instants are aware datetimes; days are local dates where the work was done; temperatures °C."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from materials.mixing import MixRatio
from materials.shelf_life import LastUsableDay
from properties.heat import ExpectedSurface


@dataclass(frozen=True)
class SheetFacts:
    """The figures of one sheet revision, by the names that the revision gives them. `kind` is the
    product's kind; `weight_ratio` may be worked out from the volume ratio and the densities."""

    product: str
    kind: str
    revision: str
    weight_ratio: MixRatio | None = None
    volume_ratio: MixRatio | None = None
    ratio_tolerance_pct: Decimal | None = None
    pot_life: timedelta | None = None
    pot_life_mass_g: Decimal | None = None
    pot_life_at_c: Decimal | None = None
    pot_life_large: timedelta | None = None
    pot_life_large_mass_g: Decimal | None = None
    activation_energy_kj_mol: Decimal | None = None
    batch_mass_max_g: Decimal | None = None
    working_time_thick: timedelta | None = None
    working_time_thin: timedelta | None = None
    working_time_at_c: Decimal | None = None
    cure_time: timedelta | None = None
    cure_at_c: Decimal | None = None
    recoat_from: timedelta | None = None
    recoat_to: timedelta | None = None
    layer_min_mm: Decimal | None = None
    layer_max_mm: Decimal | None = None
    apply_min_c: Decimal | None = None
    apply_max_c: Decimal | None = None
    wood_moisture_max_pct: Decimal | None = None
    heat_deflection_c: Decimal | None = None
    heat_deflection_method: str = ""
    parts: int = 2

    @property
    def source(self) -> str:
        return f"data sheet of {self.product[:60]}, {self.revision[:30]}"

    @property
    def is_resin(self) -> bool:
        return self.kind in {"sealer", "laminating_resin", "filler", "adhesive"}

    @property
    def is_coating(self) -> bool:
        return self.kind in {"paint_primer", "paint"}


@dataclass(frozen=True)
class LotFacts:
    """One lot in one batch. `remaining` is what the lot held just before this amount was taken, in
    its unit, after all that the same entry took before. `parent` names the kit it came in."""

    number: str
    product: str
    part: str
    used_as: str
    amount: Decimal
    unit: str
    received_on: date
    shelf: LastUsableDay
    remaining: Decimal | None = None
    parent: str | None = None
    held_back: bool = False
    held_back_reason: str = ""


@dataclass(frozen=True)
class BatchFacts:
    """One mix. `used_on` is the local day of mixing. `thickness_mm` is that of its stage. `basis`
    is weight or volume when the parts were measured, kit when a fraction of a kit was taken.
    `weather_of_stage` says that its readings are those of the stage, which judges them once."""

    sheet: SheetFacts
    lots: tuple[LotFacts, ...]
    basis: str
    mixed_at: datetime
    used_on: date
    applied_at: datetime | None = None
    air_c: Decimal | None = None
    surface_c: Decimal | None = None
    humidity_pct: Decimal | None = None
    thickness_mm: Decimal | None = None
    abandoned: bool = False
    weather_of_stage: bool = False

    def amount(self, part: str) -> Decimal:
        return sum((lot.amount for lot in self.lots if lot.used_as == part), Decimal(0))

    @property
    def total(self) -> Decimal:
        return self.amount("a") + self.amount("b") + self.amount("one")

    @property
    def unit(self) -> str:
        """The unit of all lots, empty where they differ."""
        units = {lot.unit for lot in self.lots}
        return units.pop() if len(units) == 1 else ""


@dataclass(frozen=True)
class LayerFacts:
    """One batch already in place under a stage. `temperature_c` is that of its surface, else of
    the air. `position` counts the stages."""

    position: int
    stage: str
    sheet: SheetFacts
    mixed_at: datetime
    applied_at: datetime | None = None
    temperature_c: Decimal | None = None

    @property
    def in_place_at(self) -> datetime:
        return self.applied_at or self.mixed_at


@dataclass(frozen=True)
class StageFacts:
    """One stage. `sheets` are those of what went on in it, `below` the layers of earlier stages.
    `weather_in_batches` says that each batch has its own temperature, so none is asked here.
    `night_low_c` is the coldest air that a forecast gives for the 24 hours after it began."""

    kind: str
    began_at: datetime
    sheets: tuple[SheetFacts, ...] = ()
    below: tuple[LayerFacts, ...] = ()
    thickness_mm: Decimal | None = None
    air_c: Decimal | None = None
    surface_c: Decimal | None = None
    humidity_pct: Decimal | None = None
    moisture_pct: Decimal | None = None
    washed_and_abraded: bool | None = None
    face: ExpectedSurface | None = None
    weather_in_batches: bool = False
    night_low_c: Decimal | None = None


@dataclass(frozen=True)
class CauseFacts:
    """The cause of a defect and its state: put_right, not_yet, cannot or unknown."""

    words: str
    state: str


@dataclass(frozen=True)
class RepairFacts:
    """The repair as a whole. `earlier_here` counts the repairs done before on the same zone,
    withdrawn ones left out. `paint_year` is that of the oldest paint, else of the building."""

    kind: str
    temporary: bool
    load_bearing: str
    engineer_note: str
    lead_note: str
    stages: tuple[str, ...]
    causes: tuple[CauseFacts, ...] = ()
    zone: str = ""
    earlier_here: int = 0
    paint_year: int | None = None
    ban_year: int | None = None
    country: str = ""
    structural_concern: bool = False
