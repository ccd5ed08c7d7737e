"""The list of planned repairs, and what narrows it."""

from __future__ import annotations

from typing import Any

import django_filters
import django_tables2 as tables
from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.safestring import SafeString

from properties.access import properties_for
from properties.models import Property
from repairs.models import Plan
from repairs.models.plans import PlanQuerySet
from repairs.tables.inspections import state_html

SIGNS = {Plan.State.PLANNED: "planned", Plan.State.LOGGED: "done", Plan.State.DROPPED: "cancelled"}


def state_of(plan: Plan) -> SafeString:
    return SafeString(state_html(SIGNS[Plan.State(plan.state)], plan.get_state_display()))


class PlanTable(tables.Table):
    member = tables.Column(
        "Member",
        accessor="defect__member__mark",
        linkify=lambda record: record.get_absolute_url(),
        attrs={"td": {"class": "mark"}},
    )
    place = tables.Column(
        "Building",
        accessor="defect__member__building",
        order_by=(
            "defect__member__building__property__name",
            "defect__member__building__name",
        ),
        attrs={"td": {"class": "place"}},
    )
    kind = tables.Column("Kind")
    zone = tables.Column("Where on it", attrs={"td": {"class": "fine"}})
    starts_at = tables.Column("Can start", attrs={"td": {"class": "date"}})
    state = tables.Column("State")

    class Meta:
        template_name = "_table.html"
        fields = ()
        sequence = ("member", "place", "kind", "zone", "starts_at", "state")
        order_by = "-starts_at"
        empty_text = (
            "No planned repair fits. A repair is planned from the page of its defect; "
            "it then stands here until it is logged as done."
        )

    def render_starts_at(self, record: Plan) -> str:
        local = record.starts_at.astimezone(record.defect.member.building.property.zone)
        return date_format(local, "j F Y")

    def value_starts_at(self, record: Plan) -> str:
        return record.starts_at.astimezone(record.defect.member.building.property.zone).isoformat()

    def render_state(self, record: Plan) -> SafeString:
        return state_of(record)

    def value_state(self, record: Plan) -> str:
        return str(record.get_state_display())


class PlanFilter(django_filters.FilterSet):
    search = django_filters.CharFilter(
        method="narrow_search", label="Mark, place or note", max_length=200
    )
    property = django_filters.ModelChoiceFilter(
        field_name="defect__member__building__property",
        queryset=lambda request: _seen(request),
        empty_label="All",
        label="Property",
    )
    state = django_filters.ChoiceFilter(choices=Plan.State, empty_label="All", label="State")
    kind = django_filters.ChoiceFilter(
        choices=Plan._meta.get_field("kind").choices, empty_label="All", label="Kind"
    )

    class Meta:
        model = Plan
        fields: list[str] = []

    def narrow_search(self, plans: PlanQuerySet, name: str, value: str) -> Any:
        return plans.matching(value)


def _seen(request: Any) -> QuerySet[Property]:
    return properties_for(request.user)
