"""The act of handing a property from one owner to the next."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from properties.models import Owner, Ownership, Property


@transaction.atomic
def change_owner(of: Property, to: Owner, on: date, note: str = "") -> Ownership:
    """End the current ownership on a day and begin the new one, or change nothing.

    What was spent before that day stays with the earlier owner, because costs have their own
    dates and ownerships have theirs."""
    Property.objects.select_for_update().get(pk=of.pk)
    current = of.ownerships.current().select_related("owner").first()
    if current is not None:
        _end(current, to, on)
    if to._state.adding:
        to.full_clean()
        to.save()
    begun = Ownership(property=of, owner=to, from_on=on, note=note)
    begun.full_clean()
    begun.save()
    return begun


def _end(current: Ownership, to: Owner, on: date) -> None:
    if current.owner == to:
        raise ValidationError({"owner": f"{to} holds it already."})
    if on <= current.from_on:
        raise ValidationError(
            {
                "on": f"{current.owner} has held it since {current.from_on:%-d %B} "
                f"{current.from_on.year}; the change lies after that day."
            }
        )
    current.to_on = on
    current.save(update_fields=["to_on"])
