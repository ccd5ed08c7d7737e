"""A fresh plan for a defect, filled with what the records know and with usual figures."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal

from materials.models import Lot, Product, SheetRevision
from properties.models import Defect, Elevation, Member, Property
from properties.models.members import Zone
from repairs.models import Labour, Plan, PlanOption, PlanShape, PlanStage, Repair, Stage
from repairs.plans.own_lives import OwnLives, lives_here
from repairs.plans.own_prices import OwnPrice, OwnPrices, last_prices
from repairs.plans.rows import PlanRows

# Common practice, no source.
LOSS_PCT = Decimal(10)
SCALE_STEP_G = Decimal(1)
STARTS = time(9)
COATS = {Stage.Kind.PAINT: 2}
READING_HOLDS = timedelta(days=30)
STAGES = {
    Repair.Kind.RESIN: ("open_up", "dry", "seal", "fill", "shape", "prime", "paint"),
    Repair.Kind.SPLICE: ("open_up", "dry", "seal", "prime", "paint"),
    Repair.Kind.REPLACEMENT: ("open_up", "seal", "prime", "paint"),
    Repair.Kind.REPAINT: ("shape", "prime", "paint"),
    Repair.Kind.MAKE_SAFE: ("open_up", "seal"),
}
PRODUCT_KINDS = {
    Stage.Kind.TREAT: (Product.Kind.PRESERVATIVE,),
    Stage.Kind.SEAL: (Product.Kind.SEALER, Product.Kind.LAMINATING_RESIN),
    Stage.Kind.FILL: (Product.Kind.FILLER, Product.Kind.LAMINATING_RESIN),
    Stage.Kind.PRIME: (Product.Kind.PAINT_PRIMER,),
    Stage.Kind.PAINT: (Product.Kind.PAINT,),
}
OPTION_OF = {
    Repair.Kind.RESIN: PlanOption.Kind.REPAIR,
    Repair.Kind.SPLICE: PlanOption.Kind.SPLICE,
    Repair.Kind.REPLACEMENT: PlanOption.Kind.REPLACE,
}
# Years expected, at worst and at best: common practice, no source.
LIVES = {
    PlanOption.Kind.REPAIR: (10, 6, 15),
    PlanOption.Kind.SPLICE: (20, 12, 30),
    PlanOption.Kind.REPLACE: (30, 20, 40),
}
REPAINT_YEARS = Decimal(6)
# How many repairs must have failed before their lives say more than the usual figures.
ENOUGH_LIVES = 3
TENTH = Decimal("0.1")


def starting_rows(defect: Defect, at: datetime) -> PlanRows:
    """What the page of a new plan opens with: unsaved rows that a person then changes."""
    place = defect.member.building.property
    kind, today = usual_kind(defect), place.day_of(at)
    prices = last_prices(defect.member, today)
    plan = Plan(
        defect=defect,
        zone=defect.zone,
        kind=kind,
        starts_at=tomorrow_morning(place, at),
        measured=Plan.Measured.NONE if kind == Repair.Kind.REPAINT else Plan.Measured.SHAPES,
        paint_m2=_face_m2(defect.member),
        wood_moisture_pct=_last_reading(defect, at),
        scale_step_g=SCALE_STEP_G,
        loss_pct=LOSS_PCT,
        labour_rate_minor=_last_rate(place),
        access_minor=_access(defect.member, prices),
    )
    return PlanRows(
        plan,
        _box(plan) if plan.measured == Plan.Measured.SHAPES else (),
        usual_stages(plan, at),
        _options(plan, prices, today),
    )


def usual_kind(defect: Defect) -> Repair.Kind:
    worn = {Defect.Kind.FAILED_COATING, Defect.Kind.WEATHERING}
    return Repair.Kind.REPAINT if defect.kind in worn else Repair.Kind.RESIN


def tomorrow_morning(place: Property, at: datetime) -> datetime:
    """By the clock of the place."""
    day = place.day_of(at) + timedelta(days=1)
    return datetime.combine(day, STARTS, tzinfo=place.zone)


def usual_stages(plan: Plan, at: datetime) -> tuple[PlanStage, ...]:
    """The usual stages of the plan's kind, each with what came into the stores last for it."""
    day = plan.defect.member.building.property.day_of(plan.starts_at)
    sheets = newest_on_hand(day)
    return tuple(
        PlanStage(
            plan=plan,
            position=position,
            kind=kind,
            sheet=_first_of(sheets, kind),
            coats=COATS.get(Stage.Kind(kind), 1),
        )
        for position, kind in enumerate(STAGES[Repair.Kind(plan.kind)], start=1)
    )


def newest_on_hand(day: date) -> dict[str, SheetRevision]:
    """The sheet of the product of each kind that came in last and may be used on a day."""
    lots = (
        Lot.objects.holding_stock()
        .usable(day)
        .with_something_left()
        .order_by("received_on", "pk")
        .select_related("product")
        .prefetch_related("product__sheets")
    )
    found: dict[str, SheetRevision] = {}
    for lot in lots:
        if sheet := lot.product.sheet_on(day):
            found[lot.product.kind] = sheet
    return found


def _first_of(sheets: dict[str, SheetRevision], stage: str) -> SheetRevision | None:
    kinds = PRODUCT_KINDS.get(Stage.Kind(stage), ())
    return next((sheets[kind] for kind in kinds if kind in sheets), None)


def _box(plan: Plan) -> tuple[PlanShape, ...]:
    """The damage as a box, where its three sizes are recorded."""
    defect = plan.defect
    depth = defect.depth_mm or defect.probe_mm
    if not (defect.length_mm and defect.width_mm and depth):
        return ()
    return (
        PlanShape(
            plan=plan,
            position=1,
            shape=PlanShape.Shape.BOX,
            length_mm=defect.length_mm,
            width_mm=defect.width_mm,
            depth_mm=depth,
        ),
    )


def _face_m2(member: Member) -> Decimal | None:
    """The face of the member, which is painted whole so that the repair does not show."""
    if member.length_mm is None or member.width_mm is None:
        return None
    return (member.length_mm * member.width_mm / 1_000_000).quantize(Decimal("0.001")) or None


def _last_reading(defect: Defect, at: datetime) -> Decimal | None:
    reading = defect.member.moisture_readings.filter(
        zone__in={defect.zone, Zone.WHOLE}, taken_at__gte=at - READING_HOLDS, taken_at__lte=at
    ).first()
    if reading is None:
        return None
    return min(reading.judged().governs_at_pct, Decimal(100))


def _last_rate(place: Property) -> int | None:
    """What an hour cost last on this property."""
    labour = Labour.objects.filter(
        repair__member__building__property=place,
        rate_minor__isnull=False,
        currency=place.currency,
    )
    last = labour.order_by("-pk").first()
    return last.rate_minor if last else None


def _access(member: Member, prices: OwnPrices) -> int | None:
    """What it cost last; nothing from the ground; else it is not known."""
    if prices.access is not None:
        return prices.access.best_minor
    elevation = member.elevation
    return 0 if elevation and elevation.access == Elevation.Access.GROUND else None


def _options(plan: Plan, prices: OwnPrices, on: date) -> tuple[PlanOption, ...]:
    """The ways that this property has paid for before, at what they cost last."""
    place = plan.defect.member.building.property
    known = {
        Repair.Kind.RESIN: prices.repair,
        Repair.Kind.SPLICE: prices.splice,
        Repair.Kind.REPLACEMENT: prices.replacement,
    }
    return tuple(
        _option(plan, kind, price, prices, lives_here(kind, place, on))
        for kind, price in known.items()
        if price is not None
    )


def _option(
    plan: Plan, kind: Repair.Kind, price: OwnPrice, prices: OwnPrices, lives: OwnLives
) -> PlanOption:
    years, low, high = _life(OPTION_OF[kind], lives)
    return PlanOption(
        plan=plan,
        kind=OPTION_OF[kind],
        first_minor=price.best_minor,
        access_minor=prices.access.best_minor if prices.access else 0,
        life_years=years,
        life_low_years=low,
        life_high_years=high,
        repaint_minor=prices.repaint.best_minor if prices.repaint else 0,
        repaint_years=REPAINT_YEARS if prices.repaint else None,
    )


def _life(kind: PlanOption.Kind, lives: OwnLives) -> tuple[Decimal, Decimal, Decimal]:
    """By the property's own record where it knows enough of it, else the usual figures."""
    if lives.median_failed is None or len(lives.failed) < ENOUGH_LIVES:
        middle, least, most = LIVES[kind]
        return Decimal(middle), Decimal(least), Decimal(most)
    longest = max(*lives.failed, *lives.sound)
    return _years(lives.median_failed), _years(min(lives.failed)), _years(longest)


def _years(life: float) -> Decimal:
    return max(Decimal(str(life)).quantize(TENTH), TENTH)
