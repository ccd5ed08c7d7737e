"""The whole history of a property, put together for a document that a stranger must trust."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from config.quantities import Quantity, show
from properties.models import Building, Defect, Elevation, Member, MoistureReading, Ownership
from repairs.costs.charts import Section, page_sections
from repairs.costs.reports import CostReport, Share
from repairs.looks.ratings import NAMES, rating_in_words
from repairs.models import CostLine, Inspection, Repair
from repairs.remarks.remark import Remark
from repairs.stories.member_cautions import cautions_about

from .entries import happenings, read
from .entry_words import Entry, entry_of
from .open_matters import OpenMatter, open_matters
from .rows import Rows, gather
from .scope import Scope
from .telling import (
    CostTold,
    Picture,
    RepairTold,
    Teller,
    defect_standing,
    is_outstanding,
)


@dataclass(frozen=True)
class DefectTold:
    defect: Defect
    standing: str
    outstanding: bool
    extent: str


@dataclass(frozen=True)
class LookTold:
    look: Inspection
    by: str
    late: str
    ratings: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class MemberTold:
    """One member with all that is told of it; `quiet` when there is nothing but its facts."""

    member: Member
    standing: str
    section: str
    unknown: tuple[str, ...]
    cautions: tuple[Remark, ...]
    defects: tuple[DefectTold, ...]
    readings: tuple[MoistureReading, ...]
    governing: MoistureReading | None
    repairs: tuple[RepairTold, ...]
    looks: tuple[LookTold, ...]
    pictures: tuple[Picture, ...]
    costs: tuple[CostTold, ...]
    total: str

    @property
    def quiet(self) -> bool:
        return not (
            self.defects or self.readings or self.repairs or self.looks or self.pictures
            or self.costs
        )  # fmt: skip


@dataclass(frozen=True)
class BuildingTold:
    building: Building
    elevations: tuple[Elevation, ...]
    members: tuple[MemberTold, ...]

    @property
    def told(self) -> tuple[MemberTold, ...]:
        return tuple(member for member in self.members if not member.quiet)

    @property
    def quiet(self) -> tuple[MemberTold, ...]:
        return tuple(member for member in self.members if member.quiet)


@dataclass(frozen=True)
class Costs:
    total: str
    sections: tuple[Section, ...]
    untied: tuple[CostTold, ...]


@dataclass(frozen=True)
class Dossier:
    scope: Scope
    ownerships: tuple[Ownership, ...]
    buildings: tuple[BuildingTold, ...]
    entries: tuple[Entry, ...]
    costs: Costs | None
    matters: tuple[OpenMatter, ...]
    begins_on: date | None
    member_count: int
    repair_count: int
    look_count: int

    @property
    def pictures(self) -> list[Picture]:
        members = [member for each in self.buildings for member in each.members]
        ours = [picture for member in members for picture in member.pictures]
        return ours + [
            picture for member in members for repair in member.repairs
            for picture in repair.pictures
        ]  # fmt: skip


def dossier_of(scope: Scope) -> Dossier:
    rows = gather(scope)
    teller = Teller(scope, rows)
    lines = _lines_of_members(rows)
    members = [_member(member, teller, lines.get(member.pk, [])) for member in rows.members]
    entries = tuple(entry_of(row, scope) for row in read(happenings(scope)))
    return Dossier(
        scope=scope,
        ownerships=tuple(rows.ownerships),
        buildings=tuple(_buildings(rows, members, scope)),
        entries=entries,
        costs=_costs(teller) if scope.costs else None,
        matters=tuple(open_matters(scope, rows)),
        begins_on=scope.first or (entries[0].when if entries else None),
        member_count=len(members),
        repair_count=sum(len(member.repairs) for member in members),
        look_count=sum(len(member.looks) for member in members),
    )


def _lines_of_members(rows: Rows) -> dict[int, list[CostLine]]:
    grouped: defaultdict[int, list[CostLine]] = defaultdict(list)
    for line in rows.lines:
        if line.member_id is not None:
            grouped[line.member_id].append(line)
    return dict(grouped)


def _buildings(rows: Rows, members: list[MemberTold], scope: Scope) -> Iterable[BuildingTold]:
    for building in rows.buildings:
        if scope.member is not None and scope.member.building_id != building.pk:
            continue
        ours = tuple(each for each in members if each.member.building_id == building.pk)
        yield BuildingTold(building, tuple(rows.elevations.get(building.pk, [])), ours)


def _member(member: Member, teller: Teller, lines: list[CostLine]) -> MemberTold:
    scope, rows, key = teller.scope, teller.rows, member.pk
    defects = [each for each in rows.defects.get(key, []) if _falls_in(each, scope)]
    readings = [
        each for each in rows.readings.get(key, [])
        if scope.begins is None or each.taken_at >= scope.begins
    ]  # fmt: skip
    repairs = [each for each in rows.repairs.get(key, []) if _worked_in(each, scope)]
    of_repair: defaultdict[int | None, list[CostLine]] = defaultdict(list)
    shown = {repair.pk for repair in repairs}
    for line in lines:
        of_repair[line.repair_id if line.repair_id in shown else None].append(line)
    return MemberTold(
        member=member,
        standing=_standing(member, scope),
        section=_sizes(scope, member.width_mm, member.depth_mm),
        unknown=tuple(_unknown(member)),
        cautions=tuple(cautions_about(member, tuple(
            defect for defect in defects if is_outstanding(defect, scope)
        ))),
        defects=tuple(
            DefectTold(
                each, defect_standing(each, scope), is_outstanding(each, scope),
                _sizes(scope, each.length_mm, each.width_mm, each.depth_mm),
            )
            for each in defects
        ),
        readings=tuple(readings),
        governing=_governing(readings),
        repairs=tuple(teller.repair(each, of_repair[each.pk]) for each in repairs),
        looks=tuple(
            _look(each) for each in rows.inspections.get(key, [])
            if scope.first is None or each.looked_on >= scope.first
        ),
        pictures=tuple(
            teller.picture(each) for each in rows.photographs.get(key, [])
            if each.repair_id not in shown
        ),
        costs=tuple(teller.cost(line) for line in of_repair[None]),
        total=teller.money(sum(line.home_minor for line in lines)) if lines else "",
    )  # fmt: skip


def _sizes(scope: Scope, *sizes: Decimal | None) -> str:
    """'95 mm × 145 mm', with 'not recorded' once where none is known."""
    if all(size is None for size in sizes):
        return "not recorded"
    return " × ".join(
        "not recorded" if size is None else show(size, Quantity.LENGTH, scope.system)
        for size in sizes
    )


def _falls_in(defect: Defect, scope: Scope) -> bool:
    """Found in the days told, or still open or closed in them."""
    if scope.first is None or defect.found_on >= scope.first:
        return True
    return is_outstanding(defect, scope) or (
        defect.closed_on is not None and defect.closed_on >= scope.first
    )


def _worked_in(repair: Repair, scope: Scope) -> bool:
    return scope.begins is None or (repair.ended_at or repair.began_at) >= scope.begins


def _governing(readings: list[MoistureReading]) -> MoistureReading | None:
    """The worst reading: over range before any figure, then the wettest."""
    judged = [(reading.judged(), reading) for reading in readings]
    worst = max(judged, key=lambda pair: (pair[0].over_range, pair[0].governs_at_pct), default=None)
    return worst[1] if worst else None


def _standing(member: Member, scope: Scope) -> str:
    if member.removed_on is None or not scope.is_over(member.removed_on):
        return "In place"
    after = getattr(member, "superseded_by", None)
    replaced = f"; {after.mark} took its place" if after else ""
    return f"Removed on {member.removed_on:%-d %B %Y}: {member.removed_reason}{replaced}"


def _unknown(member: Member) -> Iterable[str]:
    facts = (
        ("species", member.species), ("width_mm", member.width_mm), ("depth_mm", member.depth_mm),
        ("length_mm", member.length_mm), ("oldest_paint_year", member.oldest_paint_year),
        ("use_class", member.use_class), ("installed_year", member.installed_year),
    )  # fmt: skip
    for name, value in facts:
        if value in (None, "") and name not in member.not_applicable:
            yield _called(name)
    choices = ("exposure", "ground_contact", "load_bearing", "finish")
    for name in choices:
        if getattr(member, name) == "unknown" and name not in member.not_applicable:
            yield _called(name)


def _called(name: str) -> str:
    return str(getattr(Member._meta.get_field(name), "verbose_name", name))


def _look(look: Inspection) -> LookTold:
    full = look.looked_by.get_full_name() if look.looked_by else ""
    late = (look.looked_on - look.due.due_on).days if look.due else 0
    return LookTold(
        look=look,
        by=look.looked_by_name or full,
        late=f"{late} days after its date" if late > 0 else "",
        ratings=tuple((NAMES[name], _rating(look, name)) for name in Inspection.RATINGS),
    )


def _rating(look: Inspection, name: str) -> str:
    if name in look.not_applicable:
        return "not applicable"
    value = getattr(look, name)
    return "not recorded" if value is None else rating_in_words(name, value)


def _costs(teller: Teller) -> Costs:
    lines, scope = teller.rows.lines, teller.scope
    report = CostReport(
        title=scope.of.name,
        currency=scope.of.currency,
        period=scope.cost_period,
        total_minor=sum(line.home_minor for line in lines),
        by_year=_shares((str(line.year), line.home_minor) for line in lines),
        by_kind=_shares((line.get_kind_display(), line.home_minor) for line in lines),
    )
    return Costs(
        total=teller.money(report.total_minor),
        sections=tuple(page_sections(report)),
        untied=tuple(teller.cost(line) for line in lines if line.member_id is None),
    )


def _shares(amounts: Iterable[tuple[str, int]]) -> tuple[Share, ...]:
    sums: defaultdict[str, int] = defaultdict(int)
    for label, minor in amounts:
        sums[label] += minor
    return tuple(Share(label, minor) for label, minor in sorted(sums.items()))
