"""One factory per model, and a small invented cast.

Larkfield is an invented place; every name and price here is made up."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import factory
from django.contrib.auth.models import Group, User
from factory.django import DjangoModelFactory, ImageField

from materials.models import Kit, Lot, Movement, Product, SheetRevision
from properties.models import (
    Building,
    Defect,
    Elevation,
    Member,
    MoistureReading,
    MonthlyNormal,
    Owner,
    Ownership,
    Person,
    Property,
    WeatherFile,
)
from repairs import roles
from repairs.models import (
    Batch,
    BatchPart,
    BatchShare,
    CalendarFeed,
    CostLine,
    Draft,
    DraftPhotograph,
    DueDate,
    DueRule,
    Inspection,
    KeptRemark,
    Labour,
    MemberInterval,
    Photograph,
    Plan,
    PlanOption,
    PlanShape,
    PlanStage,
    PriceIndex,
    PriceIndexYear,
    Repair,
    Round,
    RoundStop,
    SentMail,
    SharedCost,
    SignOff,
    Stage,
    WorkMove,
    WorkRate,
)
from repairs.models.due_dates import DueKind

PASSWORD = "sash-and-sill-1"
MORNING = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)


class UserFactory(DjangoModelFactory[User]):
    class Meta:
        model = User
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"person{n}")
    first_name = "Robin"
    last_name = factory.Sequence(lambda n: f"Larch {n}")
    password = factory.django.Password(PASSWORD)

    class Params:
        role = None

    @factory.post_generation
    def role_group(user: User, create: bool, extracted: Any, **kwargs: Any) -> None:
        if create and extracted:
            user.groups.add(Group.objects.get(name=extracted))


def make_manager(**kwargs: Any) -> User:
    return UserFactory(role_group=roles.MANAGERS, **kwargs)


def make_crew(**kwargs: Any) -> User:
    return UserFactory(role_group=roles.CREW, **kwargs)


def make_viewer(*properties: Property, **kwargs: Any) -> User:
    user = UserFactory(role_group=roles.VIEWERS, **kwargs)
    PersonFactory(user=user).properties.set(properties)
    return user


class OwnerFactory(DjangoModelFactory[Owner]):
    class Meta:
        model = Owner

    name = factory.Sequence(lambda n: f"Larkfield Trust {n}")


class PropertyFactory(DjangoModelFactory[Property]):
    class Meta:
        model = Property

    name = factory.Sequence(lambda n: f"Larkfield Yard {n}")
    address = "1 Invented Lane, Larkfield"
    country = "GB"
    time_zone = "Europe/London"
    currency = "GBP"
    unit_system = "metric"


class OwnershipFactory(DjangoModelFactory[Ownership]):
    class Meta:
        model = Ownership

    property = factory.SubFactory(PropertyFactory)
    owner = factory.SubFactory(OwnerFactory)
    from_on = date(2010, 1, 1)


class BuildingFactory(DjangoModelFactory[Building]):
    class Meta:
        model = Building

    property = factory.SubFactory(PropertyFactory)
    name = factory.Sequence(lambda n: f"Granary {n}")
    year_built = 1995
    year_known = Building.YearKnown.EXACT


class ElevationFactory(DjangoModelFactory[Elevation]):
    class Meta:
        model = Elevation

    building = factory.SubFactory(BuildingFactory)
    name = factory.Sequence(lambda n: f"South {n}")
    bearing_deg = Decimal("180")
    access = Elevation.Access.LADDER


class MemberFactory(DjangoModelFactory[Member]):
    class Meta:
        model = Member

    building = factory.SubFactory(BuildingFactory)
    elevation = factory.SubFactory(ElevationFactory, building=factory.SelfAttribute("..building"))
    mark = factory.Sequence(lambda n: f"S-SILL-{n:03}")
    kind = Member.Kind.SILL
    load_bearing = "no"
    length_mm = Decimal(1200)
    finish = Member.Finish.PAINT
    finish_tone = Member.Tone.WHITE
    exposure = Member.Exposure.PARTLY
    oldest_paint_year = 1996


class DefectFactory(DjangoModelFactory[Defect]):
    class Meta:
        model = Defect

    member = factory.SubFactory(MemberFactory)
    zone = "left"
    kind = Defect.Kind.DECAY
    found_on = date(2026, 4, 20)
    cause = Defect.Cause.END_GRAIN
    cause_state = Defect.CauseState.PUT_RIGHT
    condition = "CC2"
    urgency = "UC2"


class MoistureReadingFactory(DjangoModelFactory[MoistureReading]):
    class Meta:
        model = MoistureReading

    member = factory.SubFactory(MemberFactory)
    taken_at = MORNING
    raw_pct = Decimal("13.0")


class WeatherFileFactory(DjangoModelFactory[WeatherFile]):
    """Facts of a file without its hours; see tests/properties for one that was read."""

    class Meta:
        model = WeatherFile

    property = factory.SubFactory(PropertyFactory)
    kind = WeatherFile.Kind.EPW
    file_name = "larkfield.epw"
    checksum = "0" * 64
    place = "Larkfield, invented"
    latitude = Decimal("51.5")
    longitude = Decimal("-0.5")
    altitude_m = Decimal("30")
    utc_offset_h = Decimal("0")
    rain_is_known = False
    hours = b"none"


class MonthlyNormalFactory(DjangoModelFactory[MonthlyNormal]):
    class Meta:
        model = MonthlyNormal

    property = factory.SubFactory(PropertyFactory)
    month = 5
    mean_c = Decimal("12.5")
    rain_days = Decimal("11")


class PersonFactory(DjangoModelFactory[Person]):
    class Meta:
        model = Person

    user = factory.SubFactory(UserFactory)


class ProductFactory(DjangoModelFactory[Product]):
    class Meta:
        model = Product

    name = factory.Sequence(lambda n: f"Invented Resin {n}")
    maker = "Example Resins"
    kind = Product.Kind.LAMINATING_RESIN
    parts = Product.Parts.TWO


class SheetRevisionFactory(DjangoModelFactory[SheetRevision]):
    class Meta:
        model = SheetRevision

    product = factory.SubFactory(ProductFactory)
    revision = factory.Sequence(lambda n: f"Issue {n}")
    issued_on = date(2020, 1, 1)
    weight_a = Decimal(100)
    weight_b = Decimal(33)
    ratio_tolerance_pct = Decimal(5)
    pot_life = timedelta(minutes=60)
    pot_life_mass_g = Decimal(133)
    pot_life_at_c = Decimal(20)
    cure_time = timedelta(hours=24)
    cure_at_c = Decimal(20)


class KitFactory(DjangoModelFactory[Kit]):
    class Meta:
        model = Kit

    product = factory.SubFactory(ProductFactory)
    name = factory.Sequence(lambda n: f"Kit {n}")
    mass_a_g = Decimal(1000)
    mass_b_g = Decimal(330)
    price_minor = 6000


class LotFactory(DjangoModelFactory[Lot]):
    """A lot with its received line in the ledger (`received=` says how much)."""

    class Meta:
        model = Lot
        skip_postgeneration_save = True

    product = factory.SubFactory(ProductFactory)
    part = Lot.Part.A
    number = factory.Sequence(lambda n: f"L{n:04}")
    received_on = date(2026, 1, 10)
    expires_on = date(2027, 6, 30)
    currency = "GBP"

    @factory.post_generation
    def received(lot: Lot, create: bool, extracted: Any, **kwargs: Any) -> None:
        if create and lot.part != Lot.Part.KIT and extracted != 0:
            lot.move(
                Movement.Kind.RECEIVED,
                Decimal(extracted or 1000),
                datetime(2026, 1, 10, 9, 0, tzinfo=UTC),
                None,
            )


def make_kit_lot(
    product: Product,
    *,
    kits: Decimal | int = 1,
    a: Decimal | int = 1000,
    b: Decimal | int = 330,
    price_minor: int | None = 6000,
    **kwargs: Any,
) -> Lot:
    """A kit parent with its A lot and B lot; `a` and `b` are the amounts of one kit."""
    parent = LotFactory(
        product=product,
        part=Lot.Part.KIT,
        kits_received=Decimal(kits),
        price_minor=price_minor,
        **kwargs,
    )
    kwargs.pop("number", None)
    for part, amount in ((Lot.Part.A, a), (Lot.Part.B, b)):
        LotFactory(
            product=product,
            part=part,
            parent=parent,
            received=Decimal(amount) * Decimal(kits),
            number=f"{parent.number}-{part.upper()}",
            **kwargs,
        )
    return parent


class MovementFactory(DjangoModelFactory[Movement]):
    class Meta:
        model = Movement

    lot = factory.SubFactory(LotFactory)
    kind = Movement.Kind.USED
    amount = Decimal(-10)
    at = MORNING


class RepairFactory(DjangoModelFactory[Repair]):
    class Meta:
        model = Repair

    member = factory.SubFactory(MemberFactory)
    zone = "left"
    kind = Repair.Kind.RESIN
    state = Repair.State.FINISHED
    began_at = MORNING
    done_by = "Robin Larch"


class StageFactory(DjangoModelFactory[Stage]):
    class Meta:
        model = Stage

    repair = factory.SubFactory(RepairFactory)
    position = factory.Sequence(lambda n: n + 1)
    kind = Stage.Kind.SEAL
    began_at = MORNING


class BatchFactory(DjangoModelFactory[Batch]):
    class Meta:
        model = Batch

    sheet = factory.SubFactory(SheetRevisionFactory)
    mixed_at = MORNING


class BatchPartFactory(DjangoModelFactory[BatchPart]):
    class Meta:
        model = BatchPart

    batch = factory.SubFactory(BatchFactory)
    lot = factory.SubFactory(LotFactory, product=factory.SelfAttribute("..batch.sheet.product"))
    part = Lot.Part.A
    amount = Decimal(100)
    movement = factory.SubFactory(
        MovementFactory,
        lot=factory.SelfAttribute("..lot"),
        amount=factory.LazyAttribute(lambda o: -o.factory_parent.amount),
    )


class BatchShareFactory(DjangoModelFactory[BatchShare]):
    class Meta:
        model = BatchShare

    batch = factory.SubFactory(BatchFactory)
    stage = factory.SubFactory(StageFactory)
    amount = Decimal(100)


class SharedCostFactory(DjangoModelFactory[SharedCost]):
    class Meta:
        model = SharedCost

    description = "Tower hire"
    rule = SharedCost.Rule.EQUAL
    total_minor = 30000
    currency = "GBP"


class CostLineFactory(DjangoModelFactory[CostLine]):
    class Meta:
        model = CostLine

    building = factory.SubFactory(BuildingFactory)
    kind = CostLine.Kind.LABOUR
    amount_minor = 10000
    currency = "GBP"
    home_minor = factory.SelfAttribute("amount_minor")
    worked_on = date(2026, 5, 4)


class LabourFactory(DjangoModelFactory[Labour]):
    class Meta:
        model = Labour

    repair = factory.SubFactory(RepairFactory)
    hours = Decimal("2.5")
    rate_minor = 3200
    currency = "GBP"


class DueRuleFactory(DjangoModelFactory[DueRule]):
    class Meta:
        model = DueRule
        django_get_or_create = ("code",)

    code = factory.Sequence(lambda n: f"rule-{n}")
    kind = DueKind.REPAIR_LOOK
    first_months = [1, 6]
    then_months = 12
    words = "Look at a repair after 1 month, 6 months, then yearly"
    source = "common practice, no source"


class MemberIntervalFactory(DjangoModelFactory[MemberInterval]):
    class Meta:
        model = MemberInterval

    member = factory.SubFactory(MemberFactory)
    kind = DueKind.COATING_LOOK
    months = 6
    reason = "Driving rain"


class DueDateFactory(DjangoModelFactory[DueDate]):
    class Meta:
        model = DueDate

    member = factory.SubFactory(MemberFactory)
    kind = DueKind.REPAIR_LOOK
    due_on = date(2026, 6, 4)
    counted_from = date(2026, 5, 4)
    set_because = "Look at a repair after 1 month"


class InspectionFactory(DjangoModelFactory[Inspection]):
    class Meta:
        model = Inspection

    member = factory.SubFactory(MemberFactory)
    looked_on = date(2026, 6, 4)
    looked_by_name = "Robin Larch"
    result = Inspection.Result.SOUND


class PhotographFactory(DjangoModelFactory[Photograph]):
    class Meta:
        model = Photograph

    repair = factory.SubFactory(RepairFactory)
    member = factory.SelfAttribute("repair.member")
    file = ImageField(width=64, height=48, color="sienna")
    caption = "Left end cut back to sound wood"


class KeptRemarkFactory(DjangoModelFactory[KeptRemark]):
    class Meta:
        model = KeptRemark

    repair = factory.SubFactory(RepairFactory)
    code = "too-cold"
    level = KeptRemark.Level.WARNING
    found = "7 °C"
    limit = "at least 10 °C"
    source = "the product's data sheet"
    advice = "Warm it or wait."
    reason = "Covered and heated"


class SignOffFactory(DjangoModelFactory[SignOff]):
    class Meta:
        model = SignOff

    repair = factory.SubFactory(RepairFactory)
    verdict = SignOff.Verdict.ACCEPTED
    signed_on = date(2026, 5, 8)
    name = "Ash Rowan"


class DraftFactory(DjangoModelFactory[Draft]):
    class Meta:
        model = Draft

    user = factory.SubFactory(UserFactory)
    typed = factory.LazyFunction(lambda: {"notes": ["Half typed"]})


class DraftPhotographFactory(DjangoModelFactory[DraftPhotograph]):
    class Meta:
        model = DraftPhotograph

    draft = factory.SubFactory(DraftFactory)
    file = ImageField(width=64, height=48, color="sienna")


class PlanFactory(DjangoModelFactory[Plan]):
    class Meta:
        model = Plan

    defect = factory.SubFactory(DefectFactory)
    starts_at = MORNING


class PlanShapeFactory(DjangoModelFactory[PlanShape]):
    class Meta:
        model = PlanShape

    plan = factory.SubFactory(PlanFactory)
    position = factory.Sequence(lambda n: n)
    length_mm = Decimal(200)
    width_mm = Decimal(60)
    depth_mm = Decimal(40)


class PlanStageFactory(DjangoModelFactory[PlanStage]):
    class Meta:
        model = PlanStage

    plan = factory.SubFactory(PlanFactory)
    position = factory.Sequence(lambda n: n)
    kind = Stage.Kind.FILL
    sheet = factory.SubFactory(SheetRevisionFactory)


class PlanOptionFactory(DjangoModelFactory[PlanOption]):
    class Meta:
        model = PlanOption

    plan = factory.SubFactory(PlanFactory)
    kind = PlanOption.Kind.REPAIR
    first_minor = 42000
    life_years = Decimal(10)


class PriceIndexFactory(DjangoModelFactory[PriceIndex]):
    class Meta:
        model = PriceIndex
        django_get_or_create = ("currency",)

    currency = "GBP"
    name = "An invented index"
    source = "made up for tests"


class PriceIndexYearFactory(DjangoModelFactory[PriceIndexYear]):
    class Meta:
        model = PriceIndexYear

    index = factory.SubFactory(PriceIndexFactory)
    year = factory.Sequence(lambda n: 1990 + n % 200)
    value = Decimal(100)


class CalendarFeedFactory(DjangoModelFactory[CalendarFeed]):
    class Meta:
        model = CalendarFeed

    user = factory.SubFactory(UserFactory)


class SentMailFactory(DjangoModelFactory[SentMail]):
    class Meta:
        model = SentMail

    user = factory.SubFactory(UserFactory)
    kind = SentMail.Kind.WEEKLY
    for_day = date(2026, 5, 4)
    address = "robin@example.org"
    sent_at = MORNING


class RoundFactory(DjangoModelFactory[Round]):
    class Meta:
        model = Round

    name = factory.Sequence(lambda n: f"Round {n}")
    walk_on = date(2026, 5, 4)


class RoundStopFactory(DjangoModelFactory[RoundStop]):
    class Meta:
        model = RoundStop

    round = factory.SubFactory(RoundFactory)
    due = factory.SubFactory(DueDateFactory)
    position = 1


class WorkRateFactory(DjangoModelFactory[WorkRate]):
    class Meta:
        model = WorkRate

    property = factory.SubFactory(PropertyFactory)
    what = WorkRate.What.REPAINT
    per = WorkRate.Per.MEMBER
    likely_minor = 12_000
    source = "Quotation of 4 May 2026"


class WorkMoveFactory(DjangoModelFactory[WorkMove]):
    class Meta:
        model = WorkMove

    elevation = factory.SubFactory(ElevationFactory)
    property = factory.SelfAttribute("elevation.building.property")
    first_year = 2028
    last_year = 2030
    to_year = 2029
    reason = "One scaffold for all of it"
