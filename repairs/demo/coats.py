"""The example's coats of paint: whole members painted, and how the paint wears."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from properties.models import Member
from repairs.demo.entering import from_tin, log, morning, stage
from repairs.demo.places import Places
from repairs.demo.stores import Stores
from repairs.logbook.entry import LabourEntry, RepairEntry
from repairs.models import Repair

if TYPE_CHECKING:
    from django.contrib.auth.models import User

REPAINTED = (
    "S-SILL-01", "S-SILL-02", "S-SILL-03", "S-SILL-04", "S-FASCIA-01", "W-SILL-02", "N-SILL-01",
)  # fmt: skip
REPAINTED_DAYS_AGO = 1510
DAYS_OF_A_YEAR = 365
# What a coat of the example loses: classes of flaking in the square of its years.
WEAR = {"severe": Decimal("0.13"), "partly": Decimal("0.08"), "sheltered": Decimal("0.05")}


def paint_members(at: datetime, places: Places, stores: Stores, crew: User) -> None:
    for mark in REPAINTED:
        _repaint(at, places.members[mark], stores, crew)


def _repaint(at: datetime, member: Member, stores: Stores, crew: User) -> None:
    """The whole member, once, in two days."""
    began = morning(at - timedelta(days=REPAINTED_DAYS_AGO), member)
    undercoat = from_tin(stores, "primer", stores.primer, began, Decimal(90))
    gloss_at = began + timedelta(hours=25)
    gloss = from_tin(stores, "paint", stores.paint, gloss_at, Decimal(140))
    stages = (
        stage("prime", began, began + timedelta(hours=1), undercoat, washed_and_abraded=True),
        stage("paint", gloss_at, gloss_at + timedelta(hours=1), gloss),
    )
    hours = Decimal(3) + Decimal(member.pk % 3) / 2
    entry = RepairEntry(
        member=member, zone="whole", kind=Repair.Kind.REPAINT, began_at=began, stages=stages,
        ended_at=stages[-1].ended_at, done_by="Robin Larch",
        labour=(LabourEntry("Robin Larch", hours, 3400),),
        lead_note="Tested with a kit at three spots, none found; wet-scraped over a sheet",
    )  # fmt: skip
    log(entry, crew)


def flaking(exposure: str, painted_on: date, on: date) -> Decimal:
    """In half classes, as an eye gives them."""
    years = Decimal((on - painted_on).days) / DAYS_OF_A_YEAR
    worn = WEAR.get(exposure, WEAR["partly"]) * years * years
    return min(Decimal(5), Decimal(int(worn * 2)) / 2)
