"""What the rules ask of the members of one chunk: read for all of them at once, at first need.

Which facts there are and what they mean stands in `repairs.due.facts_for`; here they are only
read in fewer queries."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import TypeVar

from properties.models import Building, Member, MonthlyNormal
from repairs.due.bulk_rows import Chunk, DateRow, MemberRow
from repairs.due.facts_for import KnownOf
from repairs.due.worked_on import last_painted_of
from repairs.models import Inspection, Repair

Value = TypeVar("Value")


class KnownOfChunk:
    """Hands out what is known of each member, and its repairs."""

    def __init__(self, chunk: Chunk, on: date) -> None:
        self.chunk, self.on = chunk, on
        self._known: dict[int, KnownOf] = {}

    def of(self, row: MemberRow) -> KnownOf:
        if row.pk not in self._known:
            self._known[row.pk] = _KnownInChunk(self, row)
        return self._known[row.pk]

    def repair(self, row: DateRow) -> Repair | None:
        if row.repair_id is None:
            return None
        repair = self.repairs[row.repair_id]
        # Its clock is known already; without this each repair would ask for its place.
        repair.member = self.of(self.chunk.members[row.member_id]).member
        return repair

    @cached_property
    def members(self) -> dict[int, Member]:
        found = list(Member.objects.filter(pk__in=self.chunk.numbers))
        for member in found:
            member.building = self.buildings[member.building_id]
        return {member.pk: member for member in found}

    @cached_property
    def buildings(self) -> dict[int, Building]:
        wanted = {row.building_id for row in self.chunk.members.values()}
        return Building.objects.select_related("property").in_bulk(wanted)

    @cached_property
    def repairs(self) -> dict[int, Repair]:
        wanted = {row.repair_id for row in self.chunk.dates if row.repair_id is not None}
        return Repair.objects.prefetch_related("stages").in_bulk(wanted)

    @cached_property
    def normals(self) -> dict[int, list[MonthlyNormal]]:
        """By property and month."""
        found: dict[int, list[MonthlyNormal]] = defaultdict(list)
        for each in MonthlyNormal.objects.filter(property__in=self.properties).order_by("month"):
            found[each.property_id].append(each)
        return found

    @cached_property
    def latitudes(self) -> dict[int, Decimal | None]:
        """Of the first building of each property that has one."""
        placed = Building.objects.filter(property__in=self.properties, latitude__isnull=False)
        last_first = placed.order_by("-name").values_list("property_id", "latitude")
        return dict(last_first)

    @cached_property
    def conditions(self) -> dict[int, str]:
        """The class at the newest look that tells one."""
        told = Inspection.objects.filter(member__in=self.chunk.numbers).exclude(condition="")
        return dict(told.order_by("looked_on", "pk").values_list("member_id", "condition"))

    @cached_property
    def last_painted(self) -> dict[int, date]:
        return last_painted_of(self.members.values())

    @property
    def properties(self) -> set[int]:
        return {row.property_id for row in self.chunk.members.values()}


class _KnownInChunk(KnownOf):
    def __init__(self, chunk: KnownOfChunk, row: MemberRow) -> None:
        self._chunk, self._row = chunk, row
        super().__init__(chunk.members[row.pk])

    @cached_property
    def today(self) -> date:
        return self._chunk.on

    @cached_property
    def normals(self) -> list[MonthlyNormal]:
        return self._chunk.normals[self._row.property_id]

    @cached_property
    def condition(self) -> str:
        return self._chunk.conditions.get(self._row.pk, "")

    @cached_property
    def last_painted(self) -> date | None:
        return self._chunk.last_painted.get(self._row.pk)

    @cached_property
    def other_latitude(self) -> Decimal | None:
        return self._chunk.latitudes.get(self._row.property_id)
