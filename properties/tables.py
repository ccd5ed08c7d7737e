"""The lists of this app as tables."""

from __future__ import annotations

import django_tables2 as tables

from properties.classes import URGENCY_CHOICES
from properties.models import Owner, Property

NUMBER = {"td": {"class": "num"}}
FINE = {"td": {"class": "fine"}}


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
