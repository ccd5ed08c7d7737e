"""The three roles of an installation, as Django groups with their permissions."""

from __future__ import annotations

from typing import Any

MANAGERS, CREW, VIEWERS = "Managers", "Crew", "Viewers"

ROLE_WORDS = {
    MANAGERS: "Manager: everything, on every property",
    CREW: "Crew: log repairs and inspections, on every property",
    VIEWERS: "Viewer: read, only the properties given",
}

# What viewers read: every record of the properties given to them, but neither stores nor people.
_UNSEEN_BY_VIEWERS = {
    "person",
    "draft",
    "draftphotograph",
    "calendarfeed",
    "sentmail",
    "round",
    "roundstop",
}
_CREW_ADDS = {
    "defect",
    "moisturereading",
    "repair",
    "stage",
    "batch",
    "batchpart",
    "batchshare",
    "labour",
    "photograph",
    "inspection",
    "draft",
    "draftphotograph",
    "keptremark",
    "movement",
    "plan",
    "round",
    "roundstop",
}


def _permissions(role: str) -> Any:
    from django.contrib.auth.models import Permission
    from django.db.models import Q

    ours = Permission.objects.filter(
        content_type__app_label__in=["materials", "properties", "repairs"]
    )
    if role == MANAGERS:
        return ours
    seen = (
        ours.filter(
            Q(codename__startswith="view_"),
            content_type__app_label__in=["properties", "repairs"],
        )
        .exclude(content_type__model__in=_UNSEEN_BY_VIEWERS)
        .exclude(codename="view_every_property")
    )
    if role == VIEWERS:
        return seen
    added = ours.filter(
        Q(codename__startswith="add_") | Q(codename__startswith="change_"),
        content_type__model__in=_CREW_ADDS,
    )
    stores = ours.filter(codename__startswith="view_", content_type__app_label="materials")
    everywhere = ours.filter(codename="view_every_property")
    rounds = ours.filter(codename__in=["view_round", "view_roundstop"])
    return (seen | added | stores | everywhere | rounds).distinct()


def make_roles(**kwargs: Any) -> None:
    """Create the groups and give them their permissions; run after every migrate."""
    from django.contrib.auth.models import Group

    for role in (MANAGERS, CREW, VIEWERS):
        group, _ = Group.objects.get_or_create(name=role)
        group.permissions.set(_permissions(role))


def role_of(user: Any) -> str:
    """The person's role by its group's name; empty without one."""
    names = {group.name for group in user.groups.all()}
    return next((role for role in ROLE_WORDS if role in names), "")
