"""The example's damage, repairs, looks and money, told in the order in which they happened."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from materials.models import Lot
from materials.stock import Occasion, discard
from properties.models import Defect, Member, MoistureReading
from repairs.costs.ledger import credit_shared, post, split_shared, weights_for
from repairs.demo.coats import flaking
from repairs.demo.entering import REASON, from_tin, log, mixed, morning, stage
from repairs.demo.places import Places
from repairs.demo.plans import plan_before
from repairs.demo.stores import Stores
from repairs.logbook.change import release
from repairs.logbook.entry import LabourEntry, RepairEntry, StageEntry
from repairs.logbook.log import judge, log_repair
from repairs.looks.record import InspectionEntry, record_inspection
from repairs.models import (
    CostLine,
    Draft,
    DueDate,
    Inspection,
    KeptRemark,
    Repair,
    SharedCost,
)

if TYPE_CHECKING:
    from django.contrib.auth.models import User

GBP_IN_USD = Decimal("1.27")


@dataclass(frozen=True)
class Job:
    """One repair of the example, so many days ago."""

    mark: str
    zone: str
    days_ago: int
    cause: str
    grams: int
    hours: str
    put_right: bool = True
    planned_hours: str = ""


JOBS = (
    Job("W-SILL-01", "left", 1680, "end_grain", 160, "5.5"),
    Job("S-SILL-02", "right", 1180, "open_joint", 120, "4"),
    Job("B-SILL-01", "left", 1095, "sealant", 140, "5"),
    Job("W-BARGE-01", "lower", 760, "flashing", 200, "7"),
    Job("W-SILL-03", "mid", 755, "coating", 80, "3.5", planned_hours="4"),
    Job("B-SILL-02", "right", 160, "sealant", 120, "4.5"),
    Job("S-SILL-03", "left", 44, "end_grain", 140, "4.5", planned_hours="4"),
)


def do_work(at: datetime, places: Places, stores: Stores, manager: User, crew: User) -> None:
    done = {job.mark: _repair(at, job, places, stores, crew) for job in JOBS}
    _scaffold(at, places, manager)
    _look_when_due(at, crew)
    _failed_and_done_again(at, done["W-SILL-01"], places, stores, crew)
    _make_safe(at, places.members["C-POST-02"], stores, crew)
    _still_curing(at, places, stores, crew)
    _damage_waiting(at, places, crew)
    _fees(at, places, manager)
    _say_a_word(at, manager)
    _clear_the_shelves(at, manager)
    Draft.objects.create(
        user=crew,
        member=places.members["S-SILL-04"],
        kept=True,
        typed={"member": [str(places.members["S-SILL-04"].pk)], "notes": ["Left end opened up"]},
    )


def _repair(at: datetime, job: Job, places: Places, stores: Stores, crew: User) -> Repair:
    member = places.members[job.mark]
    began = morning(at - timedelta(days=job.days_ago), member)
    defect = _defect(member, job, (began - timedelta(days=20)).date())
    _dry_wood(member, job.zone, began - timedelta(hours=2))
    stages = _all_stages(began, stores, job.grams)
    entry = _entry(member, job, began, stages, defect)
    if job.planned_hours:
        hours = Decimal(job.planned_hours)
        entry = replace(entry, plan=plan_before(defect, began, hours, crew))
    return log(entry, crew, photographs=True)


def _defect(member: Member, job: Job, found_on: date) -> Defect:
    return Defect.objects.create(
        member=member, zone=job.zone, kind="decay", found_on=found_on, found_by="Ash Rowan",
        cause=job.cause, cause_state="put_right" if job.put_right else "not_yet",
        cause_put_right_on=found_on + timedelta(days=10) if job.put_right else None,
        condition="CC2", urgency="UC2", length_mm=Decimal(220), depth_mm=Decimal(32),
        section_loss="5_20", structural_concern="no",
    )  # fmt: skip


def _dry_wood(member: Member, zone: str, at: datetime) -> None:
    MoistureReading.objects.create(
        member=member, zone=zone, taken_at=at, raw_pct=Decimal("12.6"),
        corrected_pct=Decimal("12.6"), correction="None: the wood was at 20 °C",
        meter="pin_insulated", depth_mm=Decimal(20), wood_c=Decimal(20), treated="no",
        taken_by="Robin Larch",
    )  # fmt: skip


def _entry(
    member: Member, job: Job, began: datetime, stages: tuple[StageEntry, ...], defect: Defect
) -> RepairEntry:
    last = stages[-1]
    foreign = member.building.property.currency != "GBP"
    return RepairEntry(
        member=member, zone=job.zone, kind=Repair.Kind.RESIN, began_at=began, stages=stages,
        ended_at=last.ended_at, defects=(defect,), done_by="Robin Larch",
        labour=(LabourEntry("Robin Larch", Decimal(job.hours), 3400),),
        rates={"GBP": GBP_IN_USD} if foreign else {},
        lead_note="Tested with a kit at three spots, none found; wet-scraped over a sheet",
    )  # fmt: skip


def _all_stages(began: datetime, stores: Stores, grams: int) -> tuple[StageEntry, ...]:
    """Open up, seal, fill in two batches, shape, prime and paint over four days."""

    def after(hours: float) -> datetime:
        return began + timedelta(hours=hours)

    seal = mixed(stores, "resin", stores.resin, after(2), Decimal(100), Decimal(33))
    half = Decimal(grams) / 2
    fills = [
        mixed(stores, "putty", stores.putty, after(hours), half * 2 / 3, half / 3)
        for hours in (27, 28)
    ]
    undercoat = from_tin(stores, "primer", stores.primer, after(54), Decimal(60))
    gloss = from_tin(stores, "paint", stores.paint, after(75), Decimal(80))
    return (
        stage("open_up", began, after(1.5)),
        stage("seal", after(2), after(2.5), seal, moisture_pct=Decimal("12.6")),
        stage("fill", after(27), after(28.5), *fills, thickness_mm=Decimal(25)),
        stage("shape", after(53), after(53.5)),
        stage("prime", after(54), after(54.5), undercoat, washed_and_abraded=True),
        stage("paint", after(75), after(75.5), gloss),
    )


def _look_when_due(at: datetime, crew: User) -> None:
    """Answer the dates that fell due until some weeks ago; the rest are still to be looked at."""
    until = at.date() - timedelta(days=45)
    while due := DueDate.objects.outstanding().looks().filter(due_on__lte=until).first():
        late = 3 + due.pk % 12
        looked_on = due.due_on + timedelta(days=late)
        watch = due.member.mark == "S-SILL-02" and due.step == 3
        inspection = Inspection(
            member=due.member, repair=due.repair, due=due, occasion="after_repair",
            looked_on=looked_on, looked_by=crew, looked_by_name="Robin Larch",
            flaking=flaking(due.member.exposure, due.counted_from, looked_on),
            cracking=Decimal("1") if watch else Decimal(0), chalking=Decimal(1),
            not_applicable=["cross_cut"], edge="hairline" if watch else "tight",
            condition="CC1" if watch else "CC0", result="watch" if watch else "sound",
            notes="Hairline at the left edge of the fill" if watch else "",
        )  # fmt: skip
        record_inspection(InspectionEntry(inspection), crew, inspection.looked_on)


def _failed_and_done_again(
    at: datetime, first: Repair, places: Places, stores: Stores, crew: User
) -> None:
    job = Job("W-SILL-01", "left", 410, "gutter", 180, "6")
    member = places.members[job.mark]
    began = morning(at - timedelta(days=job.days_ago), member)
    looked_on = (began - timedelta(days=30)).date()
    defect = Defect(
        member=member, zone="left", kind="failed_repair", found_on=looked_on, cause="gutter",
        cause_state="put_right", condition="CC2", urgency="UC2", found_by="Robin Larch",
        notes="Soft wood beside the fill; the gutter above had dripped on it.",
    )  # fmt: skip
    look = Inspection(
        member=member, repair=first, occasion="after_storm", looked_on=looked_on, looked_by=crew,
        looked_by_name="Robin Larch", edge="soft", condition="CC2", urgency="UC2", result="redo",
    )  # fmt: skip
    record_inspection(InspectionEntry(look, defect=defect), crew, looked_on)
    _dry_wood(member, "left", began - timedelta(hours=2))
    stages = _all_stages(began, stores, job.grams)
    entry = _entry(member, job, began, stages, defect)
    log(replace(entry, relation=Repair.Relation.REDO, follows=first), crew, photographs=True)


def _make_safe(at: datetime, member: Member, stores: Stores, crew: User) -> None:
    job = Job(member.mark, "lower", 70, "ground", 0, "3", put_right=False)
    began = morning(at - timedelta(days=job.days_ago), member)
    defect = _defect(member, job, began.date())
    defect.structural_concern, defect.urgency = "yes", "UC3"
    defect.save()
    stages = (stage("open_up", began, began + timedelta(hours=3)),)
    entry = replace(
        _entry(member, job, began, stages, defect), kind=Repair.Kind.MAKE_SAFE, temporary=True,
        notes="Propped beside the post until a new foot is spliced in.",
        engineer_note="Prop set out by the engineer on the same day, drawing 7 (invented).",
    )  # fmt: skip
    log(entry, crew)


def _still_curing(at: datetime, places: Places, stores: Stores, crew: User) -> None:
    """Filled a few hours ago: Today says when it is ready."""
    job = Job("S-SILL-01", "right", 1, "open_joint", 120, "2.5")
    member = places.members[job.mark]
    filled = at - timedelta(hours=3)
    sealed = filled - timedelta(hours=25)
    defect = _defect(member, job, (sealed - timedelta(days=9)).date())
    _dry_wood(member, job.zone, sealed - timedelta(hours=2))
    seal = mixed(stores, "resin", stores.resin, sealed, Decimal(75), Decimal("24.8"))
    fill = mixed(stores, "putty", stores.putty, filled, Decimal(80), Decimal(40))
    stages = (
        stage("seal", sealed, sealed + timedelta(minutes=30), seal),
        stage("fill", filled, filled + timedelta(minutes=40), fill, thickness_mm=Decimal(22)),
    )
    entry = replace(_entry(member, job, sealed, stages, defect), ended_at=None, finished=False)
    log_at = filled + timedelta(hours=1)
    reasons = {placed.key: REASON for placed in judge(entry, log_at)}
    log_repair(replace(entry, reasons=reasons), crew, log_at)


def _damage_waiting(at: datetime, places: Places, crew: User) -> None:
    for mark, zone, kind, cause, urgency, days in (
        ("N-SILL-02", "left", "decay", "end_grain", "UC3", 12),
        ("E-DOOR-01", "lower", "failed_coating", "coating", "UC1", 33),
        ("B-POST-01", "lower", "decay", "unknown", "UC2", 26),
        ("S-LINTEL-01", "mid", "split", "unknown", "UC1", 90),
    ):
        Defect.objects.create(
            member=places.members[mark], zone=zone, kind=kind, cause=cause,
            found_on=at.date() - timedelta(days=days), found_by="Robin Larch",
            condition="CC2", urgency=urgency, recorded_by=crew,
        )  # fmt: skip


def _scaffold(at: datetime, places: Places, manager: User) -> None:
    """One scaffold for two repairs, and some of it credited the year after."""
    worked_on = at.date() - timedelta(days=762)
    shared = SharedCost(
        description="Scaffold on the west side", rule=SharedCost.Rule.LENGTH,
        total_minor=138000, currency="GBP",
    )  # fmt: skip
    members = [places.members[mark] for mark in ("W-BARGE-01", "W-SILL-03")]
    pattern = CostLine(
        kind=CostLine.Kind.ACCESS, worked_on=worked_on, supplier="Example Scaffolds (invented)",
        invoiced_on=worked_on + timedelta(days=40), invoice="INV-0001", cause="flashing",
        tax_minor=23000, money_class=CostLine.MoneyClass.REVENUE,
    )  # fmt: skip
    split_shared(shared, weights_for(shared.rule, members), pattern, manager)
    credit_shared(
        shared,
        18000,
        manager,
        worked_on + timedelta(days=330),
        "Taken down a week early",
        tax_minor=3000,
    )


def _fees(at: datetime, places: Places, manager: User) -> None:
    for mark, days_ago, kind, minor, words in (
        ("C-POST-02", 66, CostLine.Kind.FEE, 42000, "Engineer's visit and drawing"),
        ("B-SILL-01", 1090, CostLine.Kind.DISPOSAL, 6500, "Painted waste to the county site"),
        ("S-FASCIA-01", 1900, CostLine.Kind.LABOUR, 51000, "Repaint of the eaves, before records"),
    ):
        member = places.members[mark]
        post(
            CostLine(
                building=member.building, elevation=member.elevation, member=member, kind=kind,
                description=words, amount_minor=minor,
                currency=member.building.property.currency,
                worked_on=at.date() - timedelta(days=days_ago),
            ),
            manager,
        )  # fmt: skip


def _say_a_word(at: datetime, manager: User) -> None:
    """The manager answered for all but the newest warning."""
    newest_first = KeptRemark.objects.holding().order_by("-pk")
    for remark in newest_first[1:]:
        release(remark, "Seen on site; painted white next time", manager, at.date())


def _clear_the_shelves(at: datetime, manager: User) -> None:
    """What is long past its day was thrown away, but for one forgotten tin."""
    past = Lot.objects.filter(
        usable_until__lt=at.date(), parent__isnull=True, emptied_on__isnull=True
    )
    for lot in past.order_by("-usable_until", "pk")[1:]:
        discard(lot, Occasion(at, manager, "Past its day"))
