"""The whole account of what buildings have cost: one function each for a building, a property and
all properties, read by page, PDF, workbook and whatever else tells it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from properties.models import Building, Elevation, Property
from properties.models.buildings import BuildingQuerySet
from properties.models.owners import PropertyQuerySet
from repairs.costs.areas import (
    ElevationCost,
    MeasuredBuildings,
    areas_in,
    areas_of,
    elevation_costs,
    measured_buildings,
    of_buildings,
)
from repairs.costs.dearest import DearMember, dearest_members
from repairs.costs.divisions import Divisions, divisions_of
from repairs.costs.period import Period
from repairs.costs.planned import PlannedAgainstSpent, planned_against_spent
from repairs.costs.prices import kept_index
from repairs.costs.recorded_life import RecordedLife, recorded_life
from repairs.costs.reports import (
    CostReport,
    all_of,
    building_report,
    building_totals,
    lines_by_currency,
    portfolio_reports,
    property_report,
)
from repairs.costs.shares import lines_url
from repairs.costs.todays_money import TodaysMoney, todays_money
from repairs.models.costs import CostLineQuerySet


@dataclass(frozen=True)
class CostAccount:
    """`by_elevation` is empty over all properties, where the faces would be too many to read;
    `life` is None without a line."""

    report: CostReport
    todays: TodaysMoney
    life: RecordedLife | None
    divisions: Divisions
    by_elevation: tuple[ElevationCost, ...]
    measured: MeasuredBuildings
    dearest: tuple[DearMember, ...]
    planned: PlannedAgainstSpent

    @property
    def title(self) -> str:
        return self.report.title

    @property
    def currency(self) -> str:
        return self.report.currency

    @property
    def lines_url(self) -> str:
        """Every line of the account, of its days."""
        return lines_url(self.report.only)


@dataclass(frozen=True)
class _Reach:
    """What an account is of: its buildings and what each cost, its lines of any day, and when it
    ends. Over all properties the elevations are too many to tell each."""

    buildings: BuildingQuerySet
    ever: CostLineQuerySet
    totals: Mapping[int, int]
    until: date | None = None
    several: bool = True


def building_account(
    building: Building, period: Period, on: date, told: CostLineQuerySet | None = None
) -> CostAccount:
    """`told` are the lines that the reader may see, all of them if not given; `on` is today."""
    report = building_report(building, period, told)
    reach = _Reach(
        buildings=Building.objects.filter(pk=building.pk),
        ever=all_of(told).filter(building=building),
        totals={building.pk: report.total_minor},
        until=_earlier(building.demolished_on, building.property.given_up_on),
        several=False,
    )
    return _account(report, reach, on, of_buildings(reach.buildings))


def property_account(
    property: Property, period: Period, on: date, told: CostLineQuerySet | None = None
) -> CostAccount:
    report = property_report(property, period, told)
    reach = _Reach(
        buildings=Building.objects.filter(property=property),
        ever=all_of(told).filter(building__property=property),
        totals={int(each.only[0][1]): each.minor for each in report.by_building},
        until=property.given_up_on,
    )
    return _account(report, reach, on, of_buildings(reach.buildings))


def portfolio_accounts(
    properties: PropertyQuerySet, period: Period, on: date, told: CostLineQuerySet | None = None
) -> list[CostAccount]:
    """One for each currency."""
    accounts = []
    reports = portfolio_reports(properties, period, told)
    for report, (currency, lines) in zip(reports, lines_by_currency(properties, told), strict=True):
        here = properties.filter(currency=currency)
        buildings = Building.objects.filter(property__in=here)
        totals = building_totals(period.lines(lines))
        reach = _Reach(buildings=buildings, ever=lines, totals=totals)
        accounts.append(_account(report, reach, on))
    return accounts


def _account(
    report: CostReport, reach: _Reach, on: date, elevations: Iterable[Elevation] | None = None
) -> CostAccount:
    lines = report.period.lines(reach.ever)
    faces = None if elevations is None else list(elevations)
    areas = areas_in(reach.buildings) if faces is None else areas_of(faces)
    return CostAccount(
        report=report,
        todays=todays_money(report.by_year, kept_index(report.currency)),
        life=recorded_life(reach.ever, report.period, on, reach.until),
        divisions=divisions_of(lines, report.currency),
        by_elevation=elevation_costs(lines, faces, reach.several) if faces else (),
        measured=measured_buildings(areas, reach.totals),
        dearest=dearest_members(lines, report.period, reach.several),
        planned=planned_against_spent(reach.buildings, report.period, reach.ever),
    )


def _earlier(*days: date | None) -> date | None:
    return min((day for day in days if day is not None), default=None)
