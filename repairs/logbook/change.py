"""What may happen to a repair after it was logged: finished, released, signed off, withdrawn."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from materials.models import Movement
from properties.models import Defect
from repairs.costs.ledger import LedgerRefusal, reverse
from repairs.due.held import hold_members
from repairs.logbook.batch_costs import Booking, place_costs
from repairs.logbook.log import follow_up, work_on_defects
from repairs.models import Batch, BatchShare, CostLine, KeptRemark, Repair
from repairs.plans.keep import plan_again

if TYPE_CHECKING:
    from django.contrib.auth.models import User


class CannotChange(ValueError):
    """Why it cannot be done, as a sentence for the person."""


@transaction.atomic
def finish(
    repair: Repair,
    ended_at: datetime,
    by: User | None,
    at: datetime,
    next_look_on: date | None = None,
) -> None:
    """Close a repair in work: its defects are made good and its next looks are set."""
    repair = _held(repair, Repair.State.IN_WORK)
    if ended_at < repair.began_at:
        raise CannotChange("The repair ends before it begins. Correct the day or the time.")
    repair.state = Repair.State.FINISHED
    repair.ended_at = ended_at
    repair.save(update_fields=["state", "ended_at"])
    zone = repair.member.building.property.zone
    work_on_defects(repair, ended_at.astimezone(zone).date())
    follow_up(repair, by, at.astimezone(zone).date(), next_look_on)


@transaction.atomic
def release(remark: KeptRemark, word: str, by: User, on: date) -> None:
    """Take a person's word on a remark that held back the next step."""
    remark = KeptRemark.objects.select_for_update().get(pk=remark.pk)
    if not remark.holds or remark.released_on is not None:
        raise CannotChange("This remark no longer waits: somebody has given their word on it.")
    remark.released_on, remark.released_by, remark.released_word = on, by, word
    remark.save(update_fields=["released_on", "released_by", "released_word"])


@transaction.atomic
def withdraw(repair: Repair, reason: str, by: User, at: datetime) -> None:
    """Take back a repair that was entered by mistake. Nothing is removed: stores and money are
    put right by further lines, its dates are called off, and the record stays readable."""
    repair = _held(repair, Repair.State.IN_WORK, Repair.State.FINISHED, Repair.State.FAILED)
    on = at.astimezone(repair.member.building.property.zone).date()
    _refuse_if_others_lean_on(repair)
    repair.state, repair.failed_on = Repair.State.WITHDRAWN, None
    repair.notes = f"{repair.notes}\n\nWithdrawn on {on:%-d %B %Y} by {_name(by)}: {reason}".strip()
    repair.save(update_fields=["state", "failed_on", "notes"])
    _give_back_materials(repair, by, at)
    _give_back_shares(repair, by, on)
    own_lines = CostLine.objects.filter(repair=repair, shared__isnull=True)
    for line in own_lines.select_related("building__property").standing():
        reverse(line, by, on, f"repair withdrawn, {reason}")
    for due in repair.due_dates.outstanding():
        due.call_off(on, f"Repair withdrawn: {reason}")
    _restore_followed(repair)
    _reopen_defects(repair)
    plan_again(repair, by)


def _held(repair: Repair, *states: str) -> Repair:
    """The repair as it stands now, its row held so that two people cannot do this at once."""
    hold_members([repair.member_id])
    now = Repair.objects.select_for_update(of=("self",)).with_place().get(pk=repair.pk)
    if now.state not in states:
        raise CannotChange(f"This repair is now “{now.get_state_display().lower()}”.")
    return now


def _name(user: User) -> str:
    return user.get_full_name() or user.get_username()


def _refuse_if_others_lean_on(repair: Repair) -> None:
    follower = repair.followed_by.standing().first()
    if follower is not None:
        raise CannotChange(
            f"“{follower}” is recorded as following this repair. Withdraw that one first."
        )
    share = (
        BatchShare.objects.filter(batch__mixed_for__repair=repair, stage__isnull=False)
        .exclude(stage__repair=repair)
        .exclude(stage__repair__state=Repair.State.WITHDRAWN)
        .select_related("stage__repair__member")
        .first()
    )
    if share is not None and share.stage is not None:
        raise CannotChange(
            f"A batch mixed for this repair was also used in “{share.stage.repair}”. "
            "Withdraw that one first."
        )


def _give_back_materials(repair: Repair, by: User, at: datetime) -> None:
    """Put what was booked out back into the lots, line against line."""
    batches = Batch.objects.filter(mixed_for__repair=repair)
    for batch in batches.prefetch_related("parts__movement", "parts__waste_movement"):
        for part in batch.parts.all():
            for line in (part.movement, part.waste_movement):
                if line is not None:
                    _reverse_movement(line, by, at)


def _reverse_movement(line: Movement, by: User, at: datetime) -> None:
    Movement.objects.create(
        lot_id=line.lot_id,
        kind=line.kind,
        amount=-line.amount,
        at=at,
        entered_by=by,
        reverses=line,
        note="Repair withdrawn",
    )


def _give_back_shares(repair: Repair, by: User, on: date) -> None:
    """What it took of batches mixed elsewhere is left over again, and so is its money."""
    shares = BatchShare.objects.filter(stage__repair=repair).exclude(
        batch__mixed_for__repair=repair
    )
    for share in shares.select_related("batch__mixed_for__repair"):
        batch = share.batch
        share.delete()
        rates = {line.currency: line.rate for line in batch.cost_lines.all()}
        place_costs(
            batch,
            Booking(
                repair=repair,
                by=by,
                on=on,
                rates=rates,
                borne_by=CostLine.Bearer.OWNER,
                cause=Defect.Cause.UNKNOWN,
            ),
        )


def _restore_followed(repair: Repair) -> None:
    """The earlier repair did not fail, if only this redo said so."""
    earlier = repair.follows
    if earlier is None or repair.relation != Repair.Relation.REDO:
        return
    redone = earlier.followed_by.standing().filter(relation=Repair.Relation.REDO).exists()
    judged = earlier.inspections.filter(result="redo").exists()
    if earlier.state == Repair.State.FAILED and not redone and not judged:
        earlier.state, earlier.failed_on = Repair.State.FINISHED, None
        earlier.save(update_fields=["state", "failed_on"])


def _reopen_defects(repair: Repair) -> None:
    for defect in repair.defects.all():
        if defect.repairs.standing().exists() or defect.state == Defect.State.SUPERSEDED:
            continue
        defect.state, defect.closed_on = Defect.State.OPEN, None
        defect.save(update_fields=["state", "closed_on"])


__all__ = ["CannotChange", "LedgerRefusal", "finish", "release", "withdraw"]
