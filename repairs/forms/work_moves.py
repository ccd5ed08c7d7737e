"""Moving work of some years to another year: of one elevation, or of one member."""

from __future__ import annotations

from datetime import date
from typing import Any, cast

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError

from properties.models import Elevation, Member, Property
from repairs.ahead.figures import MOST_YEARS
from repairs.models import WorkMove

YEARS = ("first_year", "last_year", "to_year")
NUMBER = {"inputmode": "numeric", "autocomplete": "off"}
Kind = WorkMove.Kind


class MarkField(forms.CharField):
    """Cleans to the one member of a property in place that bears the mark; where two buildings
    have it, the building stands before it: `Granary: N-SILL-03`."""

    property: Property

    def prepare_value(self, value: Any) -> Any:
        """A link fills it with a member's number; what a person typed stays as it is."""
        return value.mark if isinstance(value, Member) else value

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        super().run_validators(text)
        members = Member.objects.standing().filter(building__property=self.property)
        building, colon, mark = text.rpartition(":")
        found = list(members.filter(mark__iexact=text).select_related("building")[:9])
        if not found and colon:
            narrowed = members.filter(building__name__iexact=building.strip())
            found = list(narrowed.filter(mark__iexact=mark.strip())[:9])
        if not found:
            raise ValidationError(
                "No member in place here has this mark. Type it as it stands on site.",
                code="unknown",
            )
        if len(found) > 1:
            named = " or ".join(f"{member.building.name}: {member.mark}" for member in found)
            raise ValidationError(f"Several have this mark. Type {named}.", code="several")
        return found[0]

    def run_validators(self, value: Any) -> None:
        """Those of text have looked at it before it was a member."""


class ElevationField(forms.ModelChoiceField):
    """Named by building first, since all are of one property."""

    def label_from_instance(self, elevation: Elevation) -> str:
        return f"{elevation.building.name}, {elevation.name} elevation"


class WorkMoveForm(forms.ModelForm):
    member = MarkField(
        label="Or one member, by its mark", required=False, max_length=300,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )  # fmt: skip

    elevation = ElevationField(
        Elevation.objects.none(), label="Everything on one elevation", required=False,
        empty_label="None", error_messages={"invalid_choice": "Choose one of these elevations."},
    )  # fmt: skip

    class Meta:
        model = WorkMove
        fields = ["elevation", "member", "kind", *YEARS, "reason"]
        labels = {
            "kind": "Which work",
            "first_year": "From year", "last_year": "To year",
            "to_year": "Done in the year", "reason": "Why",
        }  # fmt: skip
        help_texts = {"reason": "Such as 'one scaffold for all of it'."}
        widgets = {
            **{name: forms.TextInput(attrs=NUMBER) for name in YEARS},
            "kind": forms.RadioSelect,
            "reason": forms.TextInput,
        }
        error_messages = {
            **{
                name: dict.fromkeys(
                    ("invalid", "min_value", "max_value"), "Type a year such as 2031."
                )
                for name in YEARS
            },
            "reason": {"required": "Say why it is moved."},
        }

    def __init__(self, of: Property, on: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.property, self.on = of, on
        self.earlier: WorkMove | None = None
        self.instance.property = of
        cast(MarkField, self.fields["member"]).property = of
        elevations = cast(forms.ModelChoiceField, self.fields["elevation"])
        standing = Elevation.objects.filter(building__property=of, building__demolished_on=None)
        elevations.queryset = standing.select_related("building__property").order_by(
            "building__name", "name"
        )
        cast(forms.ChoiceField, self.fields["kind"]).choices = Kind.choices

    def is_sent_again(self, by: User) -> bool:
        """Whether the same person saved the very same before, as by two taps on one button."""
        earlier, typed = self.earlier, self.cleaned_data if self.is_bound else {}
        return (
            earlier is not None
            and earlier.made_by == by
            and all(getattr(earlier, name) == typed.get(name) for name in self._meta.fields or ())
        )

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or self.cleaned_data
        self._judge_place(typed)
        self._judge_years(typed)
        if not self.errors:
            self._judge_others(typed)
        return typed

    def _judge_place(self, typed: dict[str, Any]) -> None:
        if self.errors.keys() & {"elevation", "member"}:
            return
        elevation, member = typed.get("elevation"), typed.get("member")
        if elevation is None and member is None:
            self.add_error("elevation", "Choose an elevation, or type the mark of one member.")
        if elevation is not None and member is not None:
            self.add_error("member", "An elevation or a member, one of the two. Empty one.")

    def _judge_years(self, typed: dict[str, Any]) -> None:
        earliest, latest = self.on.year, self.on.year + MOST_YEARS
        for name in YEARS:
            year = typed.get(name)
            if year is not None and not earliest <= year <= latest:
                self.add_error(name, f"Type a year from {earliest} to {latest}.")
        first, last = typed.get("first_year"), typed.get("last_year")
        if first is not None and last is not None and last < first:
            self.add_error("last_year", "The last year is not before the first.")
        if first is not None and first == last == typed.get("to_year"):
            self.add_error("to_year", "That is the year in which it falls already.")

    def _judge_others(self, typed: dict[str, Any]) -> None:
        """One job is moved once: a second move of it would say two years."""
        kinds = {typed["kind"], Kind.BOTH} if typed["kind"] != Kind.BOTH else set(Kind)
        place = {name: typed[name] for name in ("elevation", "member") if typed[name]}
        self.earlier = other = WorkMove.objects.filter(
            **place, kind__in=kinds, first_year__lte=typed["last_year"],
            last_year__gte=typed["first_year"],
        ).first()  # fmt: skip
        if other is not None:
            raise ValidationError(
                f"These years are moved already: {other}. Drop that move first.", code="twice"
            )
