"""The example that the tests work by hand, and what they ask of it.

One elevation that needs a scaffold, three members on it; the years 2027 to 2031.

S-1 is repainted in May 2027, S-2 in March 2028, each again every 24 months. Two earlier repaints
of the building cost 100.00 in 2025 and 140.00 in 2026; by the index (100, 110) they are 110.00 and
140.00 in money of 2026: likely 125.00, from 110.00 to 140.00. A look at S-3 was due in November
2026 and comes every 12 months; a look is typed at 15.00. A defect of class UC2 on S-3, found in
June 2026, is put right in June 2028; a repair is typed at 200.00 a metre, and S-3 is 1.5 m long:
300.00. A scaffold is typed at 800.00, from 700.00 to 1,000.00.

            looks   repaints        repairs      access   likely     low        high
    2027    2       S-1             -            1          955.00     840.00   1,170.00
    2028    1       S-2             S-3          1        1,240.00   1,125.00   1,455.00
    2029    1       S-1             -            1          940.00     825.00   1,155.00
    2030    1       S-2             -            1          940.00     825.00   1,155.00
    2031    1       S-1             -            1          940.00     825.00   1,155.00
    all     6       5               1            5        5,015.00   4,440.00   6,090.00
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from properties.models import Elevation, Member, Property
from repairs.ahead.outlook import Asked
from repairs.models import DueRule, Repair, WorkRate
from tests import factories as make

FIRST = date(2027, 1, 1)
ASKED = Asked(FIRST, years=5)


@dataclass(frozen=True)
class Example:
    property: Property
    elevation: Elevation
    one: Member
    two: Member
    three: Member


def set_rules() -> tuple[DueRule, DueRule]:
    """Only these two are in force: repaints every two years, looks every year."""
    DueRule.objects.update(in_force=False)
    repaint = make.DueRuleFactory(
        code="every-two-years", kind="repaint", first_months=[], then_months=24, from_done=True
    )
    look = make.DueRuleFactory(
        code="every-year", kind="member_look", first_months=[], then_months=12
    )
    return repaint, look


def example(past: bool = True) -> Example:
    """Without its past, no earlier repaint has cost anything."""
    elevation = make.ElevationFactory(access=Elevation.Access.SCAFFOLD, name="South")
    members = [
        make.MemberFactory(
            building=elevation.building, elevation=elevation, mark=f"S-{number}",
            length_mm=Decimal(1500),
        )
        for number in (1, 2, 3)
    ]  # fmt: skip
    found = Example(elevation.building.property, elevation, *members)
    add_dates(found)
    add_rates(found)
    if past:
        add_past(found)
    make.DefectFactory(member=found.three, urgency="UC2", found_on=date(2026, 6, 1))
    return found


def add_dates(found: Example) -> None:
    repaint, look = set_rules()
    for member, due_on in ((found.one, date(2027, 5, 10)), (found.two, date(2028, 3, 1))):
        make.DueDateFactory(
            member=member, kind="repaint", due_on=due_on, rule=repaint,
            counted_from=date(due_on.year - 2, due_on.month, due_on.day),
        )  # fmt: skip
    make.DueDateFactory(
        member=found.three, kind="member_look", due_on=date(2026, 11, 15),
        counted_from=date(2025, 11, 15), rule=look,
    )  # fmt: skip


def add_past(found: Example) -> None:
    index = make.PriceIndexFactory()
    for year, value in ((2025, 100), (2026, 110)):
        index.years.get_or_create(year=year, defaults={"value": Decimal(value)})
    for year, minor in ((2025, 10_000), (2026, 14_000)):
        paid(done(found.one, "repaint", year), minor)


def add_rates(found: Example) -> None:
    rate(found.property, "look", "member", 1500)
    rate(found.property, "repair", "metre", 20_000)
    rate(found.property, "scaffold", "elevation", 80_000, low_minor=70_000, high_minor=100_000)


def rate(property: Property, what: str, per: str, minor: int, **more: Any) -> WorkRate:
    return make.WorkRateFactory(property=property, what=what, per=per, likely_minor=minor, **more)


def done(member: Member, kind: str, year: int, month: int = 5, **more: Any) -> Repair:
    began_at = datetime(year, month, 4, 9, tzinfo=UTC)
    return make.RepairFactory(member=member, kind=kind, began_at=began_at, **more)


def paid(repair: Repair, minor: int, **more: Any) -> None:
    make.CostLineFactory(
        building=repair.member.building, member=repair.member, repair=repair,
        amount_minor=minor, worked_on=repair.began_at.date(), **more,
    )  # fmt: skip
