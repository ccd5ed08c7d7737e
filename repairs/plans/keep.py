"""Saving a plan whole or not at all, dropping it, and logging it as done."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from uuid import uuid4

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from repairs.models import Plan, PlanOption, PlanShape, PlanStage
from repairs.plans.rows import PlanRows

if TYPE_CHECKING:
    from django.contrib.auth.models import User

    from repairs.models import Repair

CLOSED = {
    Plan.State.LOGGED: "This plan is logged as done. Plan anew from the defect.",
    Plan.State.DROPPED: "This plan was dropped. Plan anew from the defect.",
}


def save_plan(rows: PlanRows, by: User | None, at: datetime) -> Plan:
    """Save a new plan, or a changed one whose rows take the place of those it had.

    One form sent twice makes one plan: the second time the first one is given back, if it is of
    the same defect; a key of elsewhere counts for nothing. Raises ValidationError where a row is
    wrong, or where the plan is no longer planned."""
    twins = Plan.objects.filter(submission=rows.plan.submission, defect=rows.plan.defect)
    if is_new := rows.plan._state.adding:
        if twin := twins.first():
            return twin
        if Plan.objects.filter(submission=rows.plan.submission).exists():
            rows.plan.submission = uuid4()
    try:
        return _save(rows, by, at)
    except (IntegrityError, ValidationError):
        # Another request with the same form may have been the quicker one.
        if is_new and (twin := twins.first()):
            return twin
        raise


def version_of(plan: Plan) -> str:
    """Tells whether a plan was changed since it was read."""
    return str(plan.history.order_by("-pk").values_list("pk", flat=True).first() or "")


@transaction.atomic
def _save(rows: PlanRows, by: User | None, at: datetime) -> Plan:
    plan = rows.plan
    if plan._state.adding:
        plan.made_by = by
    else:
        _held_open(plan)
        for before in (plan.shapes, plan.stages, plan.options):
            before.all().delete()
    plan.full_clean()
    plan._history_date = at  # type: ignore[attr-defined]
    plan.save()
    for position, shape in enumerate(rows.shapes, start=1):
        shape.position = position
    for position, stage in enumerate(rows.stages, start=1):
        stage.position = position
    children: tuple[PlanShape | PlanStage | PlanOption, ...]
    children = (*rows.shapes, *rows.stages, *rows.options)
    for row in children:
        _keep(row, plan)
    return plan


def _keep(row: PlanShape | PlanStage | PlanOption, plan: Plan) -> None:
    row.pk, row.plan = None, plan
    row.full_clean()
    row.save(force_insert=True)


@transaction.atomic
def drop_plan(plan: Plan, reason: str, by: User | None) -> Plan:
    """Say that a plan is not to be carried out, and why; it stays in the records."""
    held = _held_open(plan)
    held.state, held.dropped_reason = Plan.State.DROPPED, reason.strip()
    held.full_clean()
    held._history_user = by  # type: ignore[attr-defined]
    held.save(update_fields=["state", "dropped_reason"])
    return held


@transaction.atomic
def log_plan(plan: Plan, repair: Repair, by: User | None) -> Plan:
    """Say that a plan was carried out, and by which repair."""
    held = _held_open(plan)
    held.state, held.repair = Plan.State.LOGGED, repair
    held.full_clean()
    held._history_user = by  # type: ignore[attr-defined]
    held.save(update_fields=["state", "repair"])
    return held


@transaction.atomic
def plan_again(repair: Repair, by: User | None) -> None:
    """The repair is withdrawn: the plan that it carried out is still to be done."""
    held = Plan.objects.select_for_update().filter(repair=repair).first()
    if held is not None:
        held.state, held.repair = Plan.State.PLANNED, None
        held._history_user = by  # type: ignore[attr-defined]
        held.save(update_fields=["state", "repair"])


def _held_open(plan: Plan) -> Plan:
    """The plan as the database has it, held until the transaction ends, if it is still planned."""
    held = Plan.objects.select_for_update().get(pk=plan.pk)
    if not held.is_still_planned():
        raise ValidationError(CLOSED[Plan.State(held.state)], code="not-planned")
    return held
