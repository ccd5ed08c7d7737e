"""What a member's page says: each spot with its repairs and how long they lasted, and all that
happened to the member in order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from django.db.models import BigIntegerField, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.shortcuts import get_object_or_404

from config.figures import Figure
from config.quantities import UnitSystem
from properties.access import properties_for
from properties.models import Defect, Member, MoistureReading, Property
from properties.models.members import Zone
from properties.moisture import CorrectedReading
from repairs.access import cost_lines_for
from repairs.models import DueDate, Inspection, Photograph, Repair
from repairs.models.costs import CostLineQuerySet
from repairs.stories.site_figures import moisture_figure
from repairs.stories.zone_lives import Life, Span, lives, lives_in_words, ordinal

if TYPE_CHECKING:
    from properties.access import Visitor

# Kinds that mend the wood of one spot; a repaint or a prop is no fill.
MENDS_A_SPOT = {Repair.Kind.RESIN, Repair.Kind.SPLICE}


@dataclass(frozen=True)
class ZoneRow:
    """One spot of a member."""

    zone: str
    name: str
    repairs: tuple[Repair, ...]
    lives: tuple[Life, ...]
    defects: tuple[Defect, ...]

    @property
    def words(self) -> str:
        """'2 repairs before, lives 5 years and to date'."""
        if not self.repairs:
            return "No repair before"
        count = len(self.repairs)
        repairs = "1 repair before" if count == 1 else f"{count} repairs before"
        return f"{repairs}, {lives_in_words(self.lives)}"

    @property
    def advice(self) -> str:
        """What a further fill here would be, once there have been two."""
        if len(self.repairs) < 2:
            return ""
        nth = ordinal(len(self.repairs) + 1)
        if self.defects:
            return (
                f"A {nth} fill on this spot: replacing the member, or splicing it, is advised. "
                "Look for the cause first."
            )
        return f"A fill here would be the {nth} on this spot; weigh a replacement then."


@dataclass(frozen=True)
class MemberRecords:
    """All the rows that hang on a member, each asked for once."""

    member: Member
    on: date
    defects: tuple[Defect, ...]
    readings: tuple[MoistureReading, ...]
    repairs: tuple[Repair, ...]
    inspections: tuple[Inspection, ...]
    due_dates: tuple[DueDate, ...]
    photographs: tuple[Photograph, ...]

    @property
    def open_defects(self) -> tuple[Defect, ...]:
        return tuple(defect for defect in self.defects if defect.is_outstanding())

    @property
    def open_due_dates(self) -> tuple[DueDate, ...]:
        """None once it is no longer looked after: nobody is reminded then."""
        if not self.member.is_looked_after(self.on):
            return ()
        return tuple(due for due in self.due_dates if due.is_outstanding())

    def day(self, at: datetime) -> date:
        return self.member.building.property.day_of(at)


def find_member_in_full(user: Visitor, pk: int) -> Member:
    """The member with its place, its neighbours in time and `cost_minor`, in one query."""
    lines = cost_lines_for(user).filter(member=OuterRef("pk")).order_by().values("member")
    cost = Subquery(lines.annotate(sum=Sum("home_minor")).values("sum"))
    members = (
        Member.objects.within(properties_for(user))
        .with_place()
        .select_related("supersedes", "superseded_by", "building__property__weather_file")
        .defer("building__property__weather_file__hours")
        .annotate(cost_minor=Coalesce(cost, 0, output_field=BigIntegerField()))
    )
    return get_object_or_404(members, pk=pk)


def records_of(member: Member, on: date, told: CostLineQuerySet) -> MemberRecords:
    def rows(found: QuerySet[Any]) -> tuple[Any, ...]:
        found_rows = tuple(found)
        for row in found_rows:
            row.member = member
        return found_rows

    return MemberRecords(
        member=member,
        on=on,
        defects=rows(member.defects.order_by("-found_on", "-pk")),
        readings=rows(member.moisture_readings.order_by("-taken_at", "-pk")),
        repairs=rows(_with_costs(member.repairs.standing().order_by("began_at", "pk"), told)),
        inspections=rows(member.inspections.select_related("looked_by").order_by("-looked_on")),
        due_dates=rows(member.due_dates.with_own_months().order_by("due_on", "pk")),
        photographs=rows(member.photographs.order_by("-pk")),
    )


def _with_costs(repairs: QuerySet[Repair], told: CostLineQuerySet) -> QuerySet[Repair]:
    lines = told.filter(repair=OuterRef("pk")).order_by().values("repair")
    cost = Subquery(lines.annotate(sum=Sum("home_minor")).values("sum"))
    return repairs.annotate(cost_minor=Coalesce(cost, 0, output_field=BigIntegerField()))


def zone_rows(records: MemberRecords) -> list[ZoneRow]:
    """The spots that have a repair or an open defect, in the order of the list of zones."""
    return [row for zone in Zone if (row := _zone_row(records, zone)).repairs or row.defects]


def _zone_row(records: MemberRecords, zone: Zone) -> ZoneRow:
    repairs = tuple(
        repair for repair in records.repairs if repair.zone == zone and repair.kind in MENDS_A_SPOT
    )
    spans = [Span(records.day(repair.began_at), repair.failed_on) for repair in repairs]
    return ZoneRow(
        zone=zone.value,
        name=str(zone.label),
        repairs=repairs,
        lives=tuple(lives(spans)),
        defects=tuple(defect for defect in records.open_defects if defect.zone == zone),
    )


@dataclass(frozen=True)
class MoistureRow:
    """One reading, and what it counts as."""

    reading: MoistureReading
    counts: Figure


def moisture_rows(readings: Iterable[MoistureReading], system: UnitSystem) -> list[MoistureRow]:
    return [MoistureRow(reading, moisture_figure(reading, system)) for reading in readings]


def worst_of_latest(readings: tuple[MoistureReading, ...], of: Property) -> MoistureReading | None:
    """The governing reading: the worst of the last day on site on which somebody measured."""
    if not readings:
        return None
    last = of.day_of(readings[0].taken_at)
    latest = [reading for reading in readings if of.day_of(reading.taken_at) == last]
    return max(latest, key=lambda reading: _wetness(reading.judged()))


def _wetness(judged: CorrectedReading) -> tuple[bool, Any]:
    return judged.over_range, judged.governs_at_pct
