"""Logging a repair: its entry is judged, then saved whole or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from materials.money import round_minor
from properties.models import Defect
from repairs.costs.ledger import post
from repairs.due import schedule
from repairs.logbook.batch_costs import Booking, cause_of, place_costs
from repairs.logbook.book_batch import book_batch, open_lots, take_from_earlier, unplaced_amount
from repairs.logbook.checked_row import checked
from repairs.logbook.going_on import (
    SentTwice,
    last_position,
    out_of_turn,
    sent_before,
    take_up,
)
from repairs.logbook.impossible import impossible, more_than_is_left, plan_is_closed, unsound
from repairs.logbook.judge import cure_of, remarks_by_rule
from repairs.logbook.placed import (
    PlacedRemark,
    ReasonsNeeded,
    Refused,
    Where,
    reasons_for,
)
from repairs.models import Batch, CostLine, KeptRemark, Labour, Repair, Stage
from repairs.plans.keep import log_plan

if TYPE_CHECKING:
    from django.contrib.auth.models import User

    from repairs.logbook.entry import CostEntry, LabourEntry, RepairEntry, StageEntry

__all__ = ["PlacedRemark", "ReasonsNeeded", "Refused", "Where", "judge", "log_repair"]


def judge(entry: RepairEntry, at: datetime) -> tuple[PlacedRemark, ...]:
    """What the rules say about an entry. Nothing further is asked of an impossible one."""
    stops = (*impossible(entry, at), *out_of_turn(entry))
    return stops or remarks_by_rule(entry)


def log_repair(entry: RepairEntry, by: User | None, at: datetime) -> Repair:
    """Save a repair with all that hangs on it. The same form sent twice makes one repair."""
    earlier = Repair.objects.filter(submission=entry.submission).first()
    if earlier is not None:
        return earlier
    if entry.continues is not None and sent_before(entry):
        return entry.continues
    remarks = judge(entry, at)
    _refuse(entry, remarks)
    try:
        with transaction.atomic():
            return _Writing(entry, remarks, by, at).write()
    except SentTwice:
        assert entry.continues is not None
        return entry.continues
    except ValidationError as error:
        raise Refused(unsound(error)) from error
    except IntegrityError:
        # The same form, sent a moment earlier by another request.
        earlier = Repair.objects.filter(submission=entry.submission).first()
        if earlier is None:
            raise
        return earlier


def _refuse(entry: RepairEntry, remarks: tuple[PlacedRemark, ...]) -> None:
    if stops := tuple(placed for placed in remarks if placed.remark.level == "stop"):
        raise Refused(stops)
    given = reasons_for(remarks, entry.reasons)
    unexplained = tuple(
        placed for placed in remarks if placed.remark.level == "warning" and not given[placed.key]
    )
    if unexplained:
        raise ReasonsNeeded(unexplained)


@dataclass
class _Writing:
    """One repair on its way into the database."""

    entry: RepairEntry
    remarks: tuple[PlacedRemark, ...]
    by: User | None
    at: datetime

    def __post_init__(self) -> None:
        self.repair = Repair()
        self.before = 0
        self.stages: list[Stage] = []
        self.batches: dict[tuple[int, int], Batch] = {}

    def write(self) -> Repair:
        if self.entry.continues is None:
            self._keep_repair()
            self._keep_defects()
            self._carry_out_plan()
        else:
            self._take_up()
        self._open_lots()
        for position, stage in enumerate(self.entry.stages):
            self._keep_stage(position, stage)
        self._keep_labour()
        self._keep_costs()
        self._keep_remarks()
        self._keep_photographs()
        if self.repair.state == Repair.State.FINISHED:
            follow_up(self.repair, self.by, self.day(self.at), self.entry.next_look_on)
        return self.repair

    def day(self, instant: datetime) -> date:
        return instant.astimezone(self.entry.member.building.property.zone).date()

    def _keep_repair(self) -> None:
        entry = self.entry
        self.repair = Repair(
            member=entry.member,
            zone=entry.zone,
            kind=entry.kind,
            temporary=entry.temporary,
            relation=entry.relation,
            follows=entry.follows,
            began_at=entry.began_at,
            ended_at=entry.ended_at,
            done_by=entry.done_by,
            engineer_note=entry.engineer_note,
            lead_note=entry.lead_note,
            notes=entry.notes,
            submission=entry.submission,
            state=Repair.State.FINISHED if entry.finished else Repair.State.IN_WORK,
            entered_by=self.by,
        )
        checked(self.repair).save(force_insert=True)
        if entry.relation == Repair.Relation.REDO and entry.follows is not None:
            mark_failed(entry.follows, self.day(entry.began_at))

    def _take_up(self) -> None:
        self.repair = take_up(self.entry)
        checked(self.repair).save()
        self.before = last_position(self.repair)
        self.cause = cause_of(self.repair)
        work_on_defects(self.repair, self._last_day())

    def _keep_defects(self) -> None:
        defects = list(self.entry.defects)
        new = self.entry.new_defect
        if new is not None:
            defect = Defect(
                member=self.entry.member,
                zone=self.entry.zone,
                kind=new.kind,
                cause=new.cause,
                cause_state=new.cause_state,
                found_on=new.found_on,
                condition=new.condition,
                urgency=new.urgency,
                notes=new.notes,
                found_by=self.entry.done_by[:120],
                recorded_by=self.by,
            )
            checked(defect).save(force_insert=True)
            defects.append(defect)
        self.repair.defects.set(defects)
        self.cause = cause_of(self.repair)
        work_on_defects(self.repair, self._last_day())

    def _carry_out_plan(self) -> None:
        if self.entry.plan is None:
            return
        try:
            log_plan(self.entry.plan, self.repair, self.by)
        except ValidationError as error:
            raise Refused((plan_is_closed(error.messages[0]),)) from error

    def _last_day(self) -> date:
        begun = max((stage.began_at for stage in self.entry.stages), default=self.entry.began_at)
        return self.day(self.entry.ended_at or begun)

    def _open_lots(self) -> None:
        days: dict[int, date] = {}
        for stage in self.entry.stages:
            for batch in stage.batches:
                on = self.day(batch.mixed_at)
                for part in batch.parts:
                    days[part.lot.pk] = min(on, days.get(part.lot.pk, on))
        open_lots(days)

    def _keep_stage(self, index: int, entry: StageEntry) -> None:
        cure = cure_of(entry)
        stage = Stage(
            repair=self.repair,
            position=self.before + index + 1,
            kind=entry.kind,
            began_at=entry.began_at,
            ended_at=entry.ended_at,
            ready_at=cure.ready_at if cure else None,
            ready_basis=cure.basis[:300] if cure else "",
            thickness_mm=entry.thickness_mm,
            air_c=entry.air_c,
            surface_c=entry.surface_c,
            humidity_pct=entry.humidity_pct,
            moisture_pct=entry.moisture_pct,
            washed_and_abraded=entry.washed_and_abraded,
            done_by=self.entry.done_by,
            notes=entry.notes,
        )
        checked(stage).save(force_insert=True)
        self.stages.append(stage)
        for number, batch_entry in enumerate(entry.batches):
            batch = book_batch(batch_entry, stage, self.entry.done_by, self.by)
            self.batches[index, number] = batch
            place_costs(batch, self._booking(self.day(batch_entry.mixed_at)))
        for earlier in entry.earlier_batches:
            held = Batch.objects.select_for_update().get(pk=earlier.batch.pk)
            left = unplaced_amount(held)
            if earlier.amount > left:
                raise Refused((more_than_is_left(index, held, earlier.amount, left),))
            batch = take_from_earlier(earlier, stage)
            place_costs(batch, self._booking(self.day(entry.began_at)))

    def _booking(self, on: date) -> Booking:
        return Booking(
            repair=self.repair,
            by=self.by,
            on=on,
            rates=self.entry.rates,
            borne_by=self.entry.borne_by,
            cause=self.cause,
        )

    def _line(self, kind: str, amount_minor: int, currency: str, description: str) -> CostLine:
        member = self.entry.member
        return CostLine(
            building=member.building,
            elevation_id=member.elevation_id,
            member=member,
            repair=self.repair,
            kind=kind,
            cause=self.cause,
            borne_by=self.entry.borne_by,
            amount_minor=amount_minor,
            currency=currency,
            description=description[:200],
            worked_on=self._last_day(),
        )

    def _keep_labour(self) -> None:
        home = self.entry.member.building.property.currency
        for entry in self.entry.labour:
            labour = Labour(
                repair=self.repair,
                who=entry.who,
                hours=entry.hours,
                rate_minor=entry.rate_minor,
                currency=home,
            )
            if amount := labour_minor(entry):
                line = self._line(CostLine.Kind.LABOUR, amount, home, labour_words(entry))
                labour.cost_line = post(line, self.by)
            checked(labour).save(force_insert=True)

    def _keep_costs(self) -> None:
        for entry in self.entry.costs:
            post(self._cost_line(entry), self.by, self.entry.rates.get(entry.currency))

    def _cost_line(self, entry: CostEntry) -> CostLine:
        line = self._line(entry.kind, entry.amount_minor, entry.currency, entry.description)
        line.invoiced_on, line.supplier, line.invoice = (
            entry.invoiced_on,
            entry.supplier,
            entry.invoice,
        )
        return line

    def _keep_remarks(self) -> None:
        given = reasons_for(self.remarks, self.entry.reasons)
        for placed in self.remarks:
            where, remark = placed.where, placed.remark
            kept = KeptRemark(
                repair=self.repair,
                stage=None if where.stage is None else self.stages[where.stage],
                batch=self._batch_at(where),
                code=remark.code,
                level=remark.level,
                found=remark.found[:300],
                limit=remark.limit[:300],
                source=remark.source[:300],
                advice=remark.advice[:500],
                holds=remark.holds,
                reason=given[placed.key][:500],
            )
            checked(kept).save(force_insert=True)

    def _batch_at(self, where: Where) -> Batch | None:
        if where.stage is None or where.batch is None:
            return None
        return self.batches.get((where.stage, where.batch))

    def _keep_photographs(self) -> None:
        for photograph in self.entry.photographs:
            photograph.repair = self.repair
            photograph.member = self.entry.member
            photograph.entered_by = self.by
            photograph.save()


def labour_minor(entry: LabourEntry) -> int:
    """What the hours cost; 0 where no rate is recorded."""
    return round_minor(Fraction(entry.hours) * (entry.rate_minor or 0))


def labour_words(entry: LabourEntry) -> str:
    hours = f"{Decimal(entry.hours).normalize():f} h"
    return f"{entry.who}, {hours}" if entry.who else hours


def mark_failed(repair: Repair, on: date) -> None:
    """An earlier repair fails once: a second redo does not move the day."""
    if repair.state == Repair.State.FAILED:
        return
    repair.state = Repair.State.FAILED
    repair.failed_on = on
    repair.save(update_fields=["state", "failed_on"])


def work_on_defects(repair: Repair, on: date) -> None:
    """A lasting repair that is finished makes its defects good; any other is work on them."""
    lasting = not repair.temporary and repair.kind != Repair.Kind.MAKE_SAFE
    made_good = lasting and repair.state == Repair.State.FINISHED
    for defect in repair.defects.all():
        defect.state = Defect.State.MADE_GOOD if made_good else Defect.State.IN_WORK
        # What was written down a day after it was made good was seen no later than that.
        defect.closed_on = max(on, defect.found_on) if made_good else None
        defect.save(update_fields=["state", "closed_on"])


def follow_up(repair: Repair, by: User | None, on: date, first_on: date | None = None) -> None:
    """Set the dates on which to look again, as decided on a day."""
    schedule.after_repair(repair, by, on, first_on=first_on)
