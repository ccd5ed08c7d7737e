"""Who may open what of the repairs side; see `properties.access`."""

from __future__ import annotations

from django.shortcuts import get_object_or_404

from properties.access import Visitor, properties_for
from repairs.models import (
    CostLine,
    DueDate,
    Inspection,
    Photograph,
    Plan,
    Repair,
    Round,
    RoundStop,
    SharedCost,
    WorkMove,
)
from repairs.models.costs import CostLineQuerySet
from repairs.models.rounds import RoundQuerySet


def find_repair(user: Visitor, pk: int) -> Repair:
    repairs = Repair.objects.within(properties_for(user)).with_place()
    return get_object_or_404(repairs.select_related("follows", "entered_by", "plan__defect"), pk=pk)


def find_inspection(user: Visitor, pk: int) -> Inspection:
    inspections = Inspection.objects.within(properties_for(user)).with_place()
    return get_object_or_404(inspections, pk=pk)


def find_due_date(user: Visitor, pk: int) -> DueDate:
    return get_object_or_404(DueDate.objects.within(properties_for(user)).with_place(), pk=pk)


def find_plan(user: Visitor, pk: int) -> Plan:
    """With the rows that it is made of."""
    plans = Plan.objects.within(properties_for(user)).whole()
    return get_object_or_404(plans.select_related("made_by"), pk=pk)


def find_work_move(user: Visitor, pk: int) -> WorkMove:
    moves = WorkMove.objects.within(properties_for(user))
    places = ("property", "elevation__building__property", "member")
    return get_object_or_404(moves.select_related(*places), pk=pk)


def cost_lines_for(user: Visitor) -> CostLineQuerySet:
    """Every line, for those who see every property; else the lines of the properties given,
    since the current owner took over: what an earlier owner spent is not the next one's."""
    if user.has_perm("properties.view_every_property"):
        return CostLine.objects.all()
    return CostLine.objects.within(properties_for(user)).of_current_owner()


def find_cost_line(user: Visitor, pk: int) -> CostLine:
    return get_object_or_404(cost_lines_for(user).select_related("building__property"), pk=pk)


def find_shared_cost(user: Visitor, pk: int) -> SharedCost:
    """By any of its shares that the visitor may see."""
    told = cost_lines_for(user).filter(shared__isnull=False)
    return get_object_or_404(SharedCost, pk=pk, pk__in=told.values("shared"))


def find_photograph(user: Visitor, pk: int) -> Photograph:
    photographs = Photograph.objects.select_related("member__building__property")
    return get_object_or_404(
        photographs, pk=pk, member__building__property__in=properties_for(user)
    )


def rounds_for(user: Visitor) -> RoundQuerySet:
    """Every round, for those who see every property; else those that lead nowhere else."""
    if user.has_perm("properties.view_every_property"):
        return Round.objects.all()
    return Round.objects.within(properties_for(user))


def find_round(user: Visitor, pk: int) -> Round:
    return get_object_or_404(rounds_for(user).select_related("person"), pk=pk)


def find_stop(user: Visitor, round_pk: int, pk: int) -> RoundStop:
    stops = RoundStop.objects.filter(round__in=rounds_for(user)).with_place()
    return get_object_or_404(stops.select_related("round__person"), pk=pk, round=round_pk)
