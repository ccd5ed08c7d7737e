"""Everything on record about a property up to a day, in one query for each kind of record."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeVar

from django.db.models import Prefetch, Q, QuerySet

from materials.models import Lot
from properties.models import Building, Defect, Elevation, Member, MoistureReading, Ownership
from repairs.models import (
    Batch,
    BatchPart,
    BatchShare,
    CostLine,
    DueDate,
    Inspection,
    KeptRemark,
    Labour,
    Photograph,
    Repair,
    SignOff,
    Stage,
)

from .scope import Scope

Row = TypeVar("Row")
ByKey = dict[int, list[Row]]


@dataclass(frozen=True)
class Rows:
    """What was read, in order and grouped by what it hangs on. Nothing in it asks again."""

    ownerships: list[Ownership]
    buildings: list[Building]
    elevations: ByKey[Elevation]
    members: list[Member]
    defects: ByKey[Defect]
    readings: ByKey[MoistureReading]
    repairs: ByKey[Repair]
    defects_of: ByKey[int]
    stages: ByKey[Stage]
    batches: ByKey[Batch]
    remarks: ByKey[KeptRemark]
    sign_offs: ByKey[SignOff]
    labour: ByKey[Labour]
    photographs: ByKey[Photograph]
    inspections: ByKey[Inspection]
    due: ByKey[DueDate]
    lines: list[CostLine]


def gather(scope: Scope) -> Rows:
    members = _members(scope)
    repairs = _repairs(scope)
    # Inside other queries the order would only cost a sort.
    told = repairs.order_by()
    on_member = _on_member(scope)
    return Rows(
        ownerships=list(scope.of.ownerships.select_related("owner").order_by("from_on")),
        buildings=list(scope.of.buildings.order_by("name")),
        elevations=_by(_elevations(scope), lambda row: row.building_id),
        members=members,
        defects=_by(_defects(scope, on_member), lambda row: row.member_id),
        readings=_by(_readings(scope, on_member), lambda row: row.member_id),
        repairs=_by(repairs, lambda row: row.member_id),
        defects_of=_defects_of(told),
        stages=_by(_stages(scope, told), lambda row: row.repair_id),
        batches=_batches(scope, told),
        remarks=_by(_remarks(told), lambda row: row.repair_id),
        sign_offs=_by(_sign_offs(scope, told), lambda row: row.repair_id),
        labour=_by(Labour.objects.filter(repair__in=told), lambda row: row.repair_id),
        photographs=_by(_photographs(scope, on_member), lambda row: row.member_id),
        inspections=_by(_inspections(scope, on_member), lambda row: row.member_id),
        due=_by(_due(scope, on_member), lambda row: row.member_id),
        lines=_lines(scope) if scope.costs else [],
    )


def _by(rows: Iterable[Row], key: Callable[[Row], Any]) -> ByKey[Row]:
    grouped: defaultdict[int, list[Row]] = defaultdict(list)
    for row in rows:
        grouped[key(row)].append(row)
    return dict(grouped)


def _until(scope: Scope, name: str) -> dict[str, Any]:
    return {} if scope.last is None else {f"{name}__lte": scope.last}


def _before(scope: Scope, name: str) -> dict[str, Any]:
    return {} if scope.ends is None else {f"{name}__lt": scope.ends}


def _on_member(scope: Scope) -> dict[str, Any]:
    if scope.member is not None:
        return {"member": scope.member}
    return {"member__building__property": scope.of}


def _elevations(scope: Scope) -> QuerySet[Elevation]:
    return Elevation.objects.filter(building__property=scope.of).order_by("name")


def _members(scope: Scope) -> list[Member]:
    """Each with the very property of the scope, so that one prefetch of it serves all."""
    members = Member.objects.filter(building__property=scope.of).select_related(
        "building", "elevation", "supersedes", "superseded_by"
    )
    if scope.member is not None:
        members = members.filter(pk=scope.member.pk)
    found = list(members.order_by("building__name", "mark", "pk"))
    for member in found:
        member.building.property = scope.of
    return found


def _defects(scope: Scope, on_member: dict[str, Any]) -> QuerySet[Defect]:
    found = Defect.objects.filter(**on_member, **_until(scope, "found_on"))
    return found.select_related("member").order_by("found_on", "pk")


def _readings(scope: Scope, on_member: dict[str, Any]) -> QuerySet[MoistureReading]:
    readings = MoistureReading.objects.filter(**on_member, **_before(scope, "taken_at"))
    return readings.order_by("taken_at", "pk")


def _repairs(scope: Scope) -> QuerySet[Repair]:
    repairs = Repair.objects.standing().filter(**_on_member(scope), **_before(scope, "began_at"))
    return repairs.select_related("follows", "entered_by").order_by("began_at", "pk")


def _defects_of(told: QuerySet[Repair]) -> ByKey[int]:
    pairs = Repair.defects.through.objects.filter(repair__in=told).order_by("pk")
    found: defaultdict[int, list[int]] = defaultdict(list)
    for repair, defect in pairs.values_list("repair_id", "defect_id"):
        found[repair].append(defect)
    return dict(found)


def _stages(scope: Scope, told: QuerySet[Repair]) -> QuerySet[Stage]:
    stages = Stage.objects.filter(repair__in=told, **_before(scope, "began_at"))
    return stages.order_by("repair", "position")


def _batches(scope: Scope, told: QuerySet[Repair]) -> ByKey[Batch]:
    """Under the stages that a batch was mixed for or went to."""
    stages = Stage.objects.filter(repair__in=told)
    in_shares = BatchShare.objects.filter(stage__in=stages).values("batch")
    lots = Lot.objects.with_remaining().select_related("product")
    shares = BatchShare.objects.select_related("stage__repair__member__building")
    batches = (
        Batch.objects.filter(Q(mixed_for__in=stages) | Q(pk__in=in_shares))
        .filter(**_before(scope, "mixed_at"))
        .select_related("sheet__product")
        .prefetch_related(
            Prefetch("parts", BatchPart.objects.prefetch_related(Prefetch("lot", lots))),
            Prefetch("shares", shares),
        )
        .order_by("mixed_at", "pk")
    )
    under: defaultdict[int, list[Batch]] = defaultdict(list)
    for batch in batches:
        used_in = [share.stage_id for share in batch.shares.all() if share.stage_id]
        for stage in dict.fromkeys(
            [*([batch.mixed_for_id] if batch.mixed_for_id else []), *used_in]
        ):
            under[stage].append(batch)
    return dict(under)


def _remarks(told: QuerySet[Repair]) -> QuerySet[KeptRemark]:
    return KeptRemark.objects.filter(repair__in=told).select_related("released_by").order_by("pk")


def _sign_offs(scope: Scope, told: QuerySet[Repair]) -> QuerySet[SignOff]:
    signed = SignOff.objects.filter(repair__in=told, **_until(scope, "signed_on"))
    return signed.select_related("stage").order_by("signed_on", "pk")


def _photographs(scope: Scope, on_member: dict[str, Any]) -> QuerySet[Photograph]:
    """In the order in which they were taken, as far as that is known."""
    taken = Photograph.objects.filter(**on_member)
    if scope.ends is not None:
        taken = taken.filter(
            Q(taken_at__lt=scope.ends) | Q(taken_at__isnull=True, entered_at__lt=scope.ends)
        )
    return taken.order_by("taken_at", "pk")


def _inspections(scope: Scope, on_member: dict[str, Any]) -> QuerySet[Inspection]:
    looks = Inspection.objects.filter(**on_member, **_until(scope, "looked_on"))
    return looks.select_related("looked_by", "due", "opened_defect").order_by("looked_on", "pk")


def _due(scope: Scope, on_member: dict[str, Any]) -> QuerySet[DueDate]:
    """Dates that were open at the end of the telling."""
    dates = DueDate.objects.filter(**on_member, **_until(scope, "counted_from"))
    if scope.last is None:
        return dates.outstanding().order_by("due_on", "pk")
    return dates.filter(
        Q(done_on__isnull=True) | Q(done_on__gt=scope.last),
        Q(cancelled_on__isnull=True) | Q(cancelled_on__gt=scope.last),
    ).order_by("due_on", "pk")


def _lines(scope: Scope) -> list[CostLine]:
    lines = scope.cost_period.lines(CostLine.objects.filter(building__property=scope.of))
    if scope.member is not None:
        lines = lines.filter(member=scope.member)
    return list(lines.select_related("reversed_by").order_by("counts_on", "pk"))
