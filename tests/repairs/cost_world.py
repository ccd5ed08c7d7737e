"""A small property with money of every sort on it, worked out by hand.

All amounts are invented. GBP, on one property of two buildings:

    Barn, sill (on the north, 20 m²)       2023   resin repair   labour 300.00   tax 50.00
                                           2024                  credit −30.00
    Barn, post (on the yard side, no area) 2024   splice         labour 500.00   capital, insurer
    Barn as a whole                        2024                  fee 120.00
                                           2024                  access 70.00, taken back in 2025
    Barn, sill                             2025                  material 100.00 USD at 0.80
    Shed (20 m² on its one side)           2025   by hand        disposal 40.00

The barn cost 300 − 30 + 500 + 120 + 70 − 70 + 80 = 970, the shed 40, the property 1,010."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal

from properties.models import Building, Defect, Elevation, Member, Property
from repairs.costs import ledger
from repairs.models import CostLine, Plan, PlanOption, Repair
from tests.factories import (
    BuildingFactory,
    CostLineFactory,
    DefectFactory,
    ElevationFactory,
    MemberFactory,
    PlanFactory,
    PlanOptionFactory,
    PriceIndexYearFactory,
    PropertyFactory,
    RepairFactory,
)

BARN, SHED = 97000, 4000
TODAY = date(2026, 11, 28)


@dataclass
class World:
    property: Property
    barn: Building
    shed: Building
    north: Elevation
    yard: Elevation
    sill: Member
    post: Member
    resin: Repair
    splice: Repair


def make_world() -> World:
    of = PropertyFactory(name="Larkfield")
    barn, shed = (
        BuildingFactory(property=of, name="Barn"),
        BuildingFactory(property=of, name="Shed"),
    )
    north = ElevationFactory(building=barn, name="North", area_m2=Decimal(20))
    yard = ElevationFactory(building=barn, name="Yard side", area_m2=None)
    ElevationFactory(building=shed, name="South", area_m2=Decimal(20))
    sill = MemberFactory(building=barn, elevation=north, mark="N-SILL-01", kind="sill")
    post = MemberFactory(building=barn, elevation=yard, mark="Y-POST-01", kind="post")
    world = World(
        of, barn, shed, north, yard, sill, post,
        resin=_repair(sill, "resin", 2023), splice=_repair(post, "splice", 2024),
    )  # fmt: skip
    _lines(world)
    return world


def _repair(member: Member, kind: str, year: int) -> Repair:
    began = datetime(year, 5, 4, 9, 0, tzinfo=UTC)
    return RepairFactory(member=member, kind=kind, state="finished", began_at=began)


def _lines(world: World) -> None:
    barn, sill, post = world.barn, world.sill, world.post
    CostLineFactory(
        building=barn, member=sill, elevation=world.north, repair=world.resin, kind="labour",
        cause="gutter", amount_minor=30000, tax_minor=5000, worked_on=date(2023, 5, 4),
    )  # fmt: skip
    CostLineFactory(
        building=barn, member=sill, kind="credit", amount_minor=-3000, cause="gutter",
        repair=world.resin, worked_on=date(2024, 1, 9),
    )  # fmt: skip
    CostLineFactory(
        building=barn, member=post, repair=world.splice, amount_minor=50000, borne_by="insurer",
        money_class="capital", worked_on=date(2024, 5, 4), cause="ground",
    )  # fmt: skip
    CostLineFactory(building=barn, kind="fee", amount_minor=12000, worked_on=date(2024, 3, 1))
    twice = CostLineFactory(
        building=barn, kind="access", amount_minor=7000, worked_on=date(2024, 6, 1)
    )
    ledger.reverse(twice, None, date(2025, 2, 1), "entered twice")
    foreign = CostLine(
        building=barn, member=sill, kind="material", amount_minor=10000, currency="USD",
        tax_minor=1000, worked_on=date(2025, 3, 31),
    )  # fmt: skip
    ledger.post(foreign, None, Decimal("0.80"))
    CostLineFactory(
        building=world.shed, kind="disposal", amount_minor=4000, worked_on=date(2025, 4, 1),
        money_class="revenue",
    )  # fmt: skip


def plan_of(repair: Repair, **facts) -> Plan:
    """What the repair was planned as; labour 20 h at 10.00 and access 50.00 unless told."""
    defect: Defect = DefectFactory(member=repair.member)
    typed = {"labour_hours": Decimal(20), "labour_rate_minor": 1000, "access_minor": 5000}
    return PlanFactory(
        defect=defect, kind=repair.kind, state="logged", repair=repair, measured="none",
        **{**typed, **facts},
    )  # fmt: skip


def option(plan: Plan, kind: str, first: int, access: int = 0) -> PlanOption:
    return PlanOptionFactory(plan=plan, kind=kind, first_minor=first, access_minor=access)


def index(currency: str = "GBP", **years: str) -> None:
    """`index(y2023="100", y2024="110")`."""
    for year, value in years.items():
        PriceIndexYearFactory(
            index__currency=currency, year=int(year.removeprefix("y")), value=Decimal(value)
        )
