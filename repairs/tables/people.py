"""The table of people."""

from __future__ import annotations

import django_tables2 as tables
from django.contrib.auth.models import User
from django.db.models import QuerySet

from repairs.roles import CREW, MANAGERS, role_of


def people() -> QuerySet[User]:
    users = User.objects.select_related("person").prefetch_related("groups", "person__properties")
    return users.order_by("last_name", "first_name", "username")


class PersonTable(tables.Table):
    name = tables.Column(
        accessor="get_full_name",
        linkify=("person-edit", [tables.A("pk")]),
        order_by=("last_name", "first_name"),
        empty_values=(),
    )
    username = tables.Column("Log-in name")
    role = tables.Column(empty_values=(), orderable=False)
    reads = tables.Column(
        "Properties given",
        empty_values=(),
        orderable=False,
        attrs={"td": {"class": "fine"}},
    )
    is_active = tables.Column("May log in")
    last_login = tables.Column("Last here", attrs={"td": {"class": "date"}})

    class Meta:
        model = User
        fields = ("name", "username", "role", "reads", "is_active", "last_login")
        empty_text = "Nobody is here yet. Add the first person."

    def render_name(self, record: User) -> str:
        return record.get_full_name() or record.username

    def render_role(self, record: User) -> str:
        return role_of(record) or (
            "all rights" if record.is_superuser else "none: may not read anything"
        )

    def render_reads(self, record: User) -> str:
        if record.is_superuser or role_of(record) in {MANAGERS, CREW}:
            return "all"
        given = record.person.properties.all() if hasattr(record, "person") else []
        return ", ".join(str(property) for property in given) or "none"

    def render_is_active(self, value: bool) -> str:
        return "yes" if value else "no"
