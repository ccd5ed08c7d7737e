"""At what pace each outstanding date comes round: as `repairs.due.pace` says for one, for many.

What only some rule asks, such as the age or the condition, is read once for all, at first need."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from django.utils import timezone

from properties.models import Building, MonthlyNormal
from properties.models.owners import PropertyQuerySet
from properties.normals import hazard_of, means_of
from repairs.ahead.rows import DateRow, Rows
from repairs.due.facts import LookFacts, whole_years
from repairs.due.facts_for import asked_of, facts_told
from repairs.due.pace import Pace
from repairs.due.seasons import ANY_DAY, DayRules, PlaceYear
from repairs.models import DueDate, DueRule, Inspection, MemberInterval, Repair, Stage
from repairs.models.due_dates import DueKind, first_fitting

COATED = (DueKind.COATING_LOOK, DueKind.REPAINT)


@dataclass(frozen=True)
class Found:
    """A rule that fits, or what must be read first to know."""

    rule: DueRule | None
    asked: frozenset[str]


class Paces:
    """Gives the pace of each date; equal ones are the same object."""

    def __init__(self, rows: Rows, properties: PropertyQuerySet) -> None:
        self.rows, self.properties = rows, properties
        self.rules: dict[str, list[DueRule]] = defaultdict(list)
        for rule in DueRule.objects.in_force():
            self.rules[rule.kind].append(rule)
        self._found: dict[tuple[object, ...], Found] = {}
        self._paces: dict[tuple[int | None, int | None, DayRules], Pace] = {}
        self._now = timezone.now()

    def of(self, row: DateRow) -> Pace:
        months = self.rows.own_months.get((row.member_id, row.kind))
        if row.rule_id is None:
            return self._pace(None, months, ANY_DAY)
        rule = self._rule(row)
        return self._pace(rule, months, self._days(rule, months, row))

    def _pace(self, rule: DueRule | None, months: int | None, days: DayRules) -> Pace:
        key = (rule.pk if rule else None, months, days)
        if key not in self._paces:
            own = MemberInterval(months=months) if months else None
            self._paces[key] = Pace(rule, own, days)
        return self._paces[key]

    def _rule(self, row: DateRow) -> DueRule | None:
        key = (row.kind, *row[12:16], row.repair_kind, row.temporary)
        found = self._found.get(key)
        if found is None:
            found = self._found[key] = self._find(row.kind, _plain(row))
        if not found.asked:
            return found.rule
        facts = self._facts(row, _plain(row), found.asked)
        return first_fitting(self.rules[row.kind], facts)

    def _find(self, kind: str, plain: LookFacts) -> Found:
        rules = self.rules[kind]
        asked = asked_of(rules, plain)
        return Found(None if asked else first_fitting(rules, plain), frozenset(asked))

    def _facts(self, row: DateRow, plain: LookFacts, asked: frozenset[str]) -> LookFacts:
        return replace(
            plain,
            age=self._age(row) if "age_from_years" in asked else None,
            condition=self._conditions.get(row.member_id, "") if "worst_condition" in asked else "",
            climate=self._climates.get(row.property_id, "") if "climate" in asked else "",
        )

    def _today(self, row: DateRow) -> date:
        return self._now.astimezone(self.rows.zones[row.property_id]).date()

    def _age(self, row: DateRow) -> int | None:
        """As `repairs.due.facts_for.age_of` counts it."""
        on = self._today(row)
        if row.kind == DueKind.MEMBER_LOOK:
            year = row.installed_year
            return max(on.year - year, 0) if year else None
        if row.kind == DueKind.REPAIR_LOOK:
            since: date | None = self._worked_on.get(row.repair_id, on) if row.repair_id else on
        elif row.repair_id is not None:
            painted = row.repair_kind == Repair.Kind.REPAINT
            since = self._painted.get(row.repair_id) or (
                self._worked_on.get(row.repair_id) if painted else None
            )
        else:
            since = self._last_painted.get(row.member_id)
        return whole_years(since, on) if since else None

    def _days(self, rule: DueRule | None, months: int | None, row: DateRow) -> DayRules:
        if rule is None or not (rule.seasons or rule.frost_free):
            return ANY_DAY
        seasons = () if months else tuple(rule.seasons)
        window = Pace(rule, MemberInterval(months=months) if months else None).window_days()
        place = self._places(row.building_id, row.property_id)
        return place.days(seasons, rule.frost_free, window)

    # What is read only where some rule asks for it

    @cached_property
    def _worked_on(self) -> dict[int, date]:
        """The day on which each repair that is looked at was done."""
        of_repairs = DueDate.objects.within(self.properties).outstanding().order_by()
        columns = ("repair", "repair__ended_at", "repair__began_at",
                   "member__building__property_id")  # fmt: skip
        found = of_repairs.filter(repair__isnull=False).values_list(*columns)
        return {
            repair: (ended_at or began_at).astimezone(self.rows.zones[property]).date()
            for repair, ended_at, began_at, property in found
            if property in self.rows.zones
        }

    @cached_property
    def _conditions(self) -> dict[int, str]:
        """The class at the newest look that tells one."""
        told = Inspection.objects.within(self.properties).exclude(condition="")
        oldest_first = told.order_by("looked_on", "pk")
        return dict(oldest_first.values_list("member_id", "condition"))

    @cached_property
    def _normals(self) -> dict[int, list[MonthlyNormal]]:
        found: dict[int, list[MonthlyNormal]] = defaultdict(list)
        normals = MonthlyNormal.objects.filter(property__in=self.properties)
        for each in normals.order_by("month"):
            found[each.property_id].append(each)
        return found

    @cached_property
    def _climates(self) -> dict[int, str]:
        hazards = {place: hazard_of(months) for place, months in self._normals.items()}
        return {place: hazard.level for place, hazard in hazards.items() if hazard}

    @cached_property
    def _latitudes(self) -> tuple[dict[int, float], dict[int, float]]:
        """Of each building, and of each property by its first building that has one."""
        placed = Building.objects.filter(
            property__in=self.properties, latitude__isnull=False
        ).order_by("name")
        of_building: dict[int, float] = {}
        of_property: dict[int, float] = {}
        for pk, property, latitude in placed.values_list("pk", "property", "latitude"):
            assert latitude is not None
            of_building[pk] = float(latitude)
            of_property.setdefault(property, float(latitude))
        return of_building, of_property

    def _places(self, building: int, property: int) -> PlaceYear:
        of_building, of_property = self._latitudes
        latitude = of_building.get(building, of_property.get(property))
        return PlaceYear(latitude, means_of(self._normals.get(property, [])))

    @cached_property
    def _painted(self) -> dict[int, date]:
        """The day of the last coat of each repair that was painted over."""
        coats = (
            Stage.objects.within(self.properties)
            .filter(kind=Stage.Kind.PAINT)
            .order_by("repair", "position")
            .values_list("repair", "ended_at", "began_at", "repair__member__building__property_id")
        )
        return {
            repair: (ended_at or began_at).astimezone(self.rows.zones[property]).date()
            for repair, ended_at, began_at, property in coats
            if property in self.rows.zones
        }

    @cached_property
    def _last_painted(self) -> dict[int, date]:
        """When any of a member was last painted."""
        done = Repair.objects.standing().within(self.properties).order_by()
        found: dict[int, date] = {}
        columns = ("pk", "member", "kind", "began_at", "ended_at",
                   "member__building__property_id")  # fmt: skip
        for pk, member, kind, began_at, ended_at, property in done.values_list(*columns):
            day = self._painted.get(pk)
            if day is None and kind == Repair.Kind.REPAINT and property in self.rows.zones:
                zone = self.rows.zones[property]
                day = (ended_at or began_at).astimezone(zone).date()
            if day is not None:
                found[member] = max(found.get(member, day), day)
        return found


def _plain(row: DateRow) -> LookFacts:
    return facts_told(*row[12:16], row.repair_kind, row.temporary)
