"""What one logged repair holds, cleaned to amounts, days and records, before it is saved.

The log page, an import and later the API each make a `RepairEntry`; `repairs.logbook.log` judges
and saves it. Instants are aware datetimes; amounts are in the lot's unit; money in minor units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid4

from materials.models import Lot, SheetRevision
from properties.models import Defect, Member
from repairs.models import Batch, CostLine, Photograph, Plan, Repair


@dataclass(frozen=True)
class PartEntry:
    """How much of one lot; `kit_fraction` is set when it was typed as a fraction of a kit."""

    lot: Lot
    part: str
    amount: Decimal
    kit_fraction: Decimal | None = None


@dataclass(frozen=True)
class BatchEntry:
    """One mix. `waste` is in the unit of the parts; the rest went into the stage."""

    sheet: SheetRevision
    basis: str
    typed: str
    parts: tuple[PartEntry, ...]
    mixed_at: datetime
    applied_at: datetime | None = None
    air_c: Decimal | None = None
    surface_c: Decimal | None = None
    humidity_pct: Decimal | None = None
    waste: Decimal | None = None
    left_over: Decimal | None = None
    abandoned: bool = False
    notes: str = ""


@dataclass(frozen=True)
class EarlierBatchEntry:
    """Some of a batch that was mixed for another stage or another repair."""

    batch: Batch
    amount: Decimal


@dataclass(frozen=True)
class StageEntry:
    kind: str
    began_at: datetime
    ended_at: datetime | None = None
    thickness_mm: Decimal | None = None
    air_c: Decimal | None = None
    surface_c: Decimal | None = None
    humidity_pct: Decimal | None = None
    moisture_pct: Decimal | None = None
    washed_and_abraded: bool | None = None
    notes: str = ""
    batches: tuple[BatchEntry, ...] = ()
    earlier_batches: tuple[EarlierBatchEntry, ...] = ()


@dataclass(frozen=True)
class LabourEntry:
    who: str
    hours: Decimal
    rate_minor: int | None


@dataclass(frozen=True)
class CostEntry:
    kind: str
    description: str
    amount_minor: int
    currency: str
    invoiced_on: date | None = None
    supplier: str = ""
    invoice: str = ""


@dataclass(frozen=True)
class NewDefectEntry:
    """A defect that was not in the records before the repair."""

    kind: str
    cause: str
    cause_state: str
    found_on: date
    condition: str = ""
    urgency: str = ""
    notes: str = ""


@dataclass(frozen=True)
class RepairEntry:
    member: Member
    zone: str
    kind: str
    began_at: datetime
    stages: tuple[StageEntry, ...]
    ended_at: datetime | None = None
    finished: bool = True
    # A repair in work to which these stages are added; what it is stays as it was recorded.
    continues: Repair | None = None
    # The plan that this repair carries out; it is then logged as done.
    plan: Plan | None = None
    temporary: bool = False
    relation: str = Repair.Relation.FIRST
    follows: Repair | None = None
    defects: tuple[Defect, ...] = ()
    new_defect: NewDefectEntry | None = None
    done_by: str = ""
    labour: tuple[LabourEntry, ...] = ()
    costs: tuple[CostEntry, ...] = ()
    # What one unit of a foreign currency was worth in the property's currency on the day.
    rates: Mapping[str, Decimal] = field(default_factory=dict)
    # Who bears all cost lines of this repair: the contractor, for a redo under warranty.
    borne_by: str = CostLine.Bearer.OWNER
    # In place of the rule set's first date, when a person typed one.
    next_look_on: date | None = None
    engineer_note: str = ""
    lead_note: str = ""
    notes: str = ""
    # Unsaved rows with file, caption and moment; the rest is filled in when they are saved.
    photographs: tuple[Photograph, ...] = ()
    # Remark key (see `repairs.logbook.log.judge`) to the reason that a person typed.
    reasons: Mapping[str, str] = field(default_factory=dict)
    submission: UUID = field(default_factory=uuid4)
