"""The lists of this app as tables."""

from __future__ import annotations

import django_tables2 as tables
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from properties.classes import URGENCY_CHOICES
from properties.models import Defect, Owner, Property

NUMBER = {"td": {"class": "num"}}
FINE = {"td": {"class": "fine"}}
URGENCY_SIGNS = {"UC3": "overdue", "UC2": "due", "UC1": "planned", "UC0": "planned"}


class PropertyTable(tables.Table):
    name = tables.Column(linkify=True)
    address = tables.Column(attrs={"td": {"class": "fine wide-only"}})
    owner_now = tables.Column("Owner", default="Not recorded")
    building_count = tables.Column("Buildings", attrs=NUMBER)
    member_count = tables.Column("Members", attrs=NUMBER)
    defect_count = tables.Column("Open defects", attrs=NUMBER)
    worst_urgency = tables.Column("Most urgent", default="", attrs=FINE)
    given_up_on = tables.DateColumn(
        verbose_name="Given up on", format="j F Y", default="", attrs={"td": {"class": "date"}}
    )

    class Meta:
        model = Property
        fields = (
            "name",
            "address",
            "owner_now",
            "building_count",
            "member_count",
            "defect_count",
            "worst_urgency",
            "given_up_on",
        )
        order_by = "name"
        empty_text = (
            "No property is here. Properties stand here with their owner, what stands on them "
            "and their worst open defect; begin with 'Enter a property'."
        )

    def render_worst_urgency(self, value: str) -> str:
        return dict(URGENCY_CHOICES).get(value, value)


class OwnerTable(tables.Table):
    name = tables.Column(linkify=True)
    is_body = tables.Column("What it is", attrs=FINE)
    held = tables.Column("Properties now", attrs=NUMBER)

    class Meta:
        model = Owner
        fields = ("name", "is_body", "held")
        order_by = "name"
        empty_text = "No owner is here. Owners stand here once a property has one."

    def render_is_body(self, value: bool) -> str:
        return "Firm, trust or other body" if value else "Person"

    def value_is_body(self, value: bool) -> str:
        return self.render_is_body(value)


class DefectTable(tables.Table):
    member = tables.Column(
        "Member",
        linkify=lambda record: record.get_absolute_url(),
        order_by=("member__mark", "pk"),
        attrs={"td": {"class": "mark"}},
    )
    kind = tables.Column("Damage")
    urgency = tables.Column("Urgency", empty_values=())
    place = tables.Column(
        "Building",
        accessor="member__building",
        order_by=("member__building__property__name", "member__building__name"),
        attrs={"td": {"class": "place"}},
    )
    zone = tables.Column("Where on it", attrs=FINE)
    cause = tables.Column("Cause", attrs=FINE)
    found_on = tables.DateColumn("j F Y", verbose_name="Found", attrs={"td": {"class": "date"}})
    state = tables.Column("State")

    class Meta:
        model = Defect
        fields = ("member", "kind", "urgency", "place", "zone", "cause", "found_on", "state")
        order_by = ("-urgency", "found_on")
        empty_text = (
            "No defect fits. Damage stands here, the most urgent first, from the day that it is "
            "recorded on its member until it is made good."
        )

    def value_member(self, record: Defect) -> str:
        return record.member.mark

    def render_urgency(self, record: Defect) -> SafeString:
        sign = URGENCY_SIGNS.get(record.urgency, "unknown")
        word = self.value_urgency(record)
        return render_to_string("_state.html", {"state": sign, "word": word})

    def value_urgency(self, record: Defect) -> str:
        return record.get_urgency_display() or "Not recorded"

    def render_cause(self, record: Defect) -> str:
        return f"{record.get_cause_display()}: {record.get_cause_state_display().lower()}"

    def value_cause(self, record: Defect) -> str:
        return self.render_cause(record)
