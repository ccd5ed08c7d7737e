"""The list of repairs, and what narrows it."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

import django_filters
import django_tables2 as tables
from django.db.models import QuerySet
from django.template.loader import render_to_string
from django.utils.formats import date_format
from django.utils.safestring import SafeString

from materials.money import from_minor, show_money
from properties.access import properties_for
from properties.models import Property
from repairs.forms.repairs import day_input
from repairs.models import Repair

CURING, WAITING = "curing", "waiting"


def state_of(repair: Repair, at: datetime) -> tuple[str, str]:
    """The mark and the words for how a repair stands; wants `with_standing`."""
    zone = repair.member.building.property.zone
    if repair.state == Repair.State.WITHDRAWN:
        return "cancelled", "Withdrawn"
    if repair.state == Repair.State.FAILED:
        return "redo", "Failed"
    if repair.waits:  # type: ignore[attr-defined]
        return "held", "Waits for a word"
    cured_at: datetime | None = repair.cured_at  # type: ignore[attr-defined]
    if cured_at is not None and cured_at > at:
        local = cured_at.astimezone(zone)
        return "curing", f"Curing until {local:%-d %B %Y %H:%M}"
    if repair.state == Repair.State.IN_WORK:
        return "open", "In work"
    return "done", "Finished"


class RepairTable(tables.Table):
    member = tables.Column(
        verbose_name="Member",
        linkify=lambda record: record.get_absolute_url(),
        order_by="member__mark",
        attrs={"td": {"class": "mark"}},
    )
    place = tables.Column(
        accessor="member__building",
        verbose_name="Building",
        order_by=("member__building__property__name", "member__building__name"),
        attrs={"td": {"class": "place"}},
    )
    kind = tables.Column(verbose_name="Kind")
    zone = tables.Column(verbose_name="Where on it", attrs={"td": {"class": "fine"}})
    began_at = tables.Column(verbose_name="Began", attrs={"td": {"class": "date"}})
    state = tables.Column(verbose_name="State")
    cost = tables.Column(
        accessor="cost_home_minor",
        verbose_name="Cost",
        attrs={"td": {"class": "num"}},
        default="Not recorded",
    )
    currency = tables.Column(accessor="member__building__property__currency", visible=False)

    class Meta:
        template_name = "_table.html"
        fields = ()
        sequence = ("member", "place", "kind", "zone", "began_at", "state", "cost", "currency")
        order_by = "-began_at"
        empty_text = (
            "No repair fits. When repairs are logged they stand here, the newest first; "
            "log the first one just after finishing it."
        )

    def __init__(self, *args: Any, at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.at = at

    def render_began_at(self, record: Repair) -> str:
        local = record.began_at.astimezone(record.member.building.property.zone)
        return date_format(local, "j F Y")

    def value_began_at(self, record: Repair) -> str:
        return record.began_at.astimezone(record.member.building.property.zone).isoformat()

    def render_state(self, record: Repair) -> SafeString:
        state, word = state_of(record, self.at)
        return render_to_string("_state.html", {"state": state, "word": word})

    def value_state(self, record: Repair) -> str:
        return state_of(record, self.at)[1]

    def render_cost(self, record: Repair, value: int) -> str:
        return show_money(value, record.member.building.property.currency)

    def value_cost(self, record: Repair, value: int) -> Decimal:
        return from_minor(value, record.member.building.property.currency)


class RepairFilter(django_filters.FilterSet):
    search = django_filters.CharFilter(method="narrow_search", label="Mark, place, person or note")
    property = django_filters.ModelChoiceFilter(
        field_name="member__building__property",
        queryset=lambda request: _seen(request),
        empty_label="All",
        label="Property",
    )
    kind = django_filters.ChoiceFilter(choices=Repair.Kind, empty_label="All", label="Kind")
    state = django_filters.ChoiceFilter(
        choices=[(WAITING, "Waits for a word"), (CURING, "Curing"), *Repair.State.choices],
        method="narrow_state",
        empty_label="All",
        label="State",
    )
    after = django_filters.DateFilter(
        field_name="began_at",
        lookup_expr="date__gte",
        label="Began from",
        widget=day_input(),
    )
    before = django_filters.DateFilter(
        field_name="began_at",
        lookup_expr="date__lte",
        label="to",
        widget=day_input(),
    )

    class Meta:
        model = Repair
        fields: list[str] = []

    def __init__(self, *args: Any, at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.at = at

    def narrow_search(self, repairs: Any, name: str, value: str) -> Any:
        return repairs.matching(value)

    def narrow_state(self, repairs: Any, name: str, value: str) -> Any:
        if value == CURING:
            return repairs.curing(self.at)
        if value == WAITING:
            return repairs.waiting_for_a_word()
        return repairs.filter(state=value)


def _seen(request: Any) -> QuerySet[Property]:
    return properties_for(request.user)
