"""A plan worked out. Plain figures in stored units, for the page, the work sheet and the log.

None means that a figure could not be reached; `missing` says in a sentence what to enter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from materials.batches import Batches, PlannedBatch
    from materials.fill_heat import LayerHeat
    from materials.kits import Drawn, Purchase
    from materials.models import Kit, Lot, SheetRevision
    from materials.working_time import WorkingTime
    from properties.cavity import Cavity
    from properties.heat import ExpectedSurface
    from repairs.cure_series import CureBand
    from repairs.life_cycle.compare import Comparison
    from repairs.models import PlanStage
    from repairs.remarks import Remark
    from repairs.weather_hours import Span


@dataclass(frozen=True)
class StageAmount:
    """What one stage takes. The net amount goes into the work, the loss stays in cup and brush.
    Grams where the density is known, millilitres where either that or a coverage is."""

    net_g: Decimal | None
    loss_g: Decimal | None
    ml: Decimal | None
    basis: str
    loss_ml: Decimal | None = None

    @property
    def total_g(self) -> Decimal | None:
        return None if self.net_g is None else self.net_g + (self.loss_g or Decimal(0))

    @property
    def total_ml(self) -> Decimal | None:
        return None if self.ml is None else self.ml + (self.loss_ml or Decimal(0))


@dataclass(frozen=True)
class StageDays:
    """When a stage may begin, how long it takes hold, and when the next may follow. `allowed`
    are the spans of the forecast in which its work may be done, `refused` the hours that each
    reason refused, and `notes` what the forecast leaves open; `layers` says when each layer or
    coat may go on, as far as that is known."""

    begins_at: datetime | None
    why: str
    window_opens_at: datetime | None = None
    window_closes_at: datetime | None = None
    cure: CureBand | None = None
    allowed: tuple[Span, ...] = ()
    layers: tuple[datetime, ...] = ()
    refused: Mapping[str, int] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def last_at(self) -> datetime | None:
        """When the last of it goes on."""
        return self.layers[-1] if self.layers else self.begins_at


@dataclass(frozen=True)
class PreparedStage:
    """One stage worked out. `unit` is that of its batches: g, or ml where no density is known."""

    row: PlanStage
    sheet: SheetRevision | None
    amount: StageAmount | None = None
    layers: int = 1
    layer_mm: Decimal | None = None
    working: WorkingTime | None = None
    batches: Batches | None = None
    unit: str = "g"
    least_batch_g: Decimal | None = None
    scale_error: Decimal | None = None
    heat: LayerHeat | None = None
    thickest_mm: Decimal | None = None
    days: StageDays | None = None
    air_c: Decimal | None = None
    remarks: tuple[Remark, ...] = ()
    missing: tuple[str, ...] = ()

    @property
    def product(self) -> str:
        return str(self.sheet.product) if self.sheet else ""

    def batches_of_layer(self, layer: int) -> tuple[PlannedBatch, ...]:
        """The batches of one layer or coat, counted from 1; all take the same."""
        if self.batches is None:
            return ()
        each = len(self.batches.batches) // self.layers
        return self.batches.batches[(layer - 1) * each : layer * each]


@dataclass(frozen=True)
class LotDraw:
    """How much of one lot of the stores is set aside for the plan; in the lot's unit."""

    lot: Lot
    drawn: Drawn
    stages: tuple[int, ...]
    cost_minor: int | None = None


@dataclass(frozen=True)
class ProductStock:
    """One product of the plan: what the stores give, what is to be bought, what will be left.
    `need` and `short` by part, in `unit`; `used_minor` is the share of the purchase that the
    plan uses, the rest stays in the stores."""

    sheet: SheetRevision
    draws: tuple[LotDraw, ...]
    purchase: Purchase | None
    remark: str = ""
    kit: Kit | None = None
    unit: str = "g"
    need: Mapping[str, Decimal] = field(default_factory=dict)
    short: Mapping[str, Decimal] = field(default_factory=dict)
    used_minor: int | None = None


@dataclass(frozen=True)
class RankedProduct:
    """A resin on hand against the heat of this face; `margin_k` None where its sheet is silent."""

    sheet: SheetRevision
    margin_k: Decimal | None
    stands: bool | None
    in_plan: bool


@dataclass(frozen=True)
class PlannedCost:
    """One line of what the plan costs, in minor units of the property's currency."""

    words: str
    minor: int | None
    basis: str


@dataclass(frozen=True)
class Filling:
    """One way to fill the cavity: its material with the loss, weight and cost. `shell_mm` is that
    of a lining."""

    kind: str
    words: str
    ml: Decimal
    mass_g: Decimal | None
    cost_minor: int | None
    chosen: bool
    shell_mm: Decimal | None = None


@dataclass(frozen=True)
class Prepared:
    """`weather` says what air the plan is reckoned with, `own_record` how long such repairs have
    lasted on the property; `missing` what to enter that no single stage lacks."""

    cavity: Cavity | None
    fillings: tuple[Filling, ...]
    stages: tuple[PreparedStage, ...]
    stock: tuple[ProductStock, ...]
    face: ExpectedSurface | None
    ranking: tuple[RankedProduct, ...]
    costs: tuple[PlannedCost, ...]
    currency: str
    comparison: Comparison | None
    remarks: tuple[Remark, ...]
    cautions: tuple[str, ...]
    missing: tuple[str, ...]
    planned_on: date
    ready_at: datetime | None
    takes: timedelta | None
    weather: str = ""
    own_record: str = ""

    @property
    def total_minor(self) -> int | None:
        """None while one line is not known."""
        known = [line.minor for line in self.costs if line.minor is not None]
        return sum(known) if self.costs and len(known) == len(self.costs) else None

    @property
    def to_pay_minor(self) -> int | None:
        """What the kits to buy cost, the part that is left over included."""
        prices = [each.purchase.cost_minor for each in self.stock if each.purchase]
        known = [price for price in prices if price is not None]
        return sum(known) if len(known) == len(prices) else None
