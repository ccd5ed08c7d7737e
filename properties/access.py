"""Who may open what: one finder per thing that a page is about. What a person may not see
is not found, so that an address never tells whether it exists."""

from __future__ import annotations

from django.contrib.auth.models import AnonymousUser, User
from django.shortcuts import get_object_or_404

from properties.models import Building, Defect, Elevation, Member, Owner, Ownership, Property
from properties.models.owners import OwnerQuerySet, PropertyQuerySet

Visitor = User | AnonymousUser


def properties_for(user: Visitor) -> PropertyQuerySet:
    return Property.objects.visible_to(user)


def owners_for(user: Visitor) -> OwnerQuerySet:
    """Owners of what the visitor may see; all of them for those who see every property."""
    if user.has_perm("properties.view_every_property"):
        return Owner.objects.all()
    seen = Ownership.objects.filter(property__in=properties_for(user))
    return Owner.objects.filter(pk__in=seen.values("owner"))


def find_owner(user: Visitor, pk: int) -> Owner:
    return get_object_or_404(owners_for(user), pk=pk)


def find_property(user: Visitor, pk: int) -> Property:
    return get_object_or_404(properties_for(user), pk=pk)


def find_building(user: Visitor, pk: int) -> Building:
    buildings = Building.objects.select_related("property")
    return get_object_or_404(buildings, pk=pk, property__in=properties_for(user))


def find_elevation(user: Visitor, pk: int) -> Elevation:
    elevations = Elevation.objects.select_related("building__property")
    return get_object_or_404(elevations, pk=pk, building__property__in=properties_for(user))


def find_member(user: Visitor, pk: int) -> Member:
    return get_object_or_404(Member.objects.within(properties_for(user)).with_place(), pk=pk)


def find_defect(user: Visitor, pk: int) -> Defect:
    return get_object_or_404(Defect.objects.within(properties_for(user)).with_place(), pk=pk)
