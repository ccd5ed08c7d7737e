"""What the forms of this app share: the days they take, and constraints that name their field."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import UniqueConstraint
from django.db.models.fields import BLANK_CHOICE_DASH

from config.quantities import UnitSystem
from config.quantity_fields import apply_units

FIGURE_MESSAGES = {
    "invalid": "Type a figure, such as 2.",
    "min_value": "Type %(limit_value)s or more.",
    "max_value": "Type %(limit_value)s or less.",
}


class RecordForm(forms.ModelForm):
    """A model form that knows the day (`on`) and the reader's units, and whose view may give
    part of the row, such as the building of a new member.

    Django checks only the constraints whose every field is in the form; here the given fields
    count too, so that a mark typed twice is an error on the mark and never a failed save."""

    given: tuple[str, ...] = ()

    def __init__(
        self, *args: Any, on: date, units: UnitSystem | str = UnitSystem.METRIC, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.on = on
        apply_units(self, units)
        for field in self.fields.values():
            if isinstance(field, forms.IntegerField):
                field.error_messages.update(FIGURE_MESSAGES)
            if isinstance(field, forms.TypedChoiceField):
                _name_the_empty_choice(field)

    def _get_validation_exclusions(self) -> set[str]:
        excluded: set[str] = super()._get_validation_exclusions()  # type: ignore[misc]
        return excluded - set(self.given)

    def _update_errors(self, errors: ValidationError) -> None:
        if hasattr(errors, "error_dict"):
            found = errors.error_dict
            for error in list(found.get(NON_FIELD_ERRORS, [])):
                if field := self._field_of(error.messages[0]):
                    found[NON_FIELD_ERRORS].remove(error)
                    found.setdefault(field, []).append(error)
            if not found.get(NON_FIELD_ERRORS, True):
                del found[NON_FIELD_ERRORS]
        super()._update_errors(errors)  # type: ignore[misc]

    def _field_of(self, message: str) -> str | None:
        """The one field of this form that a broken unique constraint is about."""
        for constraint in self._meta.model._meta.constraints:
            if isinstance(constraint, UniqueConstraint) and (
                constraint.get_violation_error_message() == message
            ):
                here = [name for name in constraint.fields if name in self.fields]
                return here[0] if len(here) == 1 else None
        return None


def _name_the_empty_choice(field: forms.TypedChoiceField) -> None:
    """Say in words what Django draws as a row of dashes."""
    shown: Any = field.choices
    choices = list(shown)
    if choices and choices[0] == BLANK_CHOICE_DASH[0]:
        words = "Choose one" if field.required else "Not recorded"
        field.choices = [("", words), *choices[1:]]


def not_after(day: date | None, last: date, what: str) -> date | None:
    """Refuse a day after the last that it can be."""
    if day is not None and day > last:
        raise ValidationError(
            f"{what} lies after {last:%-d %B %Y}; check the year.", code="in-the-future"
        )
    return day


def year_not_after(year: int | None, last: int) -> int | None:
    if year is not None and year > last:
        raise ValidationError(f"{year} is yet to come; the latest here is {last}.", code="too-late")
    return year
