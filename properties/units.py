"""In which units a person reads and types the figures of a property."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.core.exceptions import ObjectDoesNotExist

from config.quantities import UnitSystem

if TYPE_CHECKING:
    from properties.access import Visitor
    from properties.models import Property


def units_for(user: Visitor, of: Property | None = None) -> UnitSystem:
    """The person's own units where they chose some, else those of the property."""
    try:
        chosen = user.person.unit_system  # type: ignore[union-attr]
    except (ObjectDoesNotExist, AttributeError):
        chosen = ""
    return UnitSystem(chosen or (of.unit_system if of else UnitSystem.METRIC))
