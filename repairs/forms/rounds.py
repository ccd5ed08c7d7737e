"""Forms of a round: which looks to choose from, the round itself, and why something is left."""

from __future__ import annotations

from collections.abc import Set
from datetime import date
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError

from config.day_field import DayField
from properties.access import properties_for
from properties.models import Building, Elevation, Property
from repairs.access import rounds_for
from repairs.forms.days import refuse_absurd
from repairs.forms.inspections import PersonChoice, people
from repairs.models import DueDate, Round
from repairs.rounds.choose import LONGEST_NAME, MOST_CANDIDATES, Asked, Whose

if TYPE_CHECKING:
    from django.utils.datastructures import MultiValueDict

LONGEST_REASON = 300


def is_key(text: str) -> bool:
    """Whether it can be the key of a row."""
    return text.isascii() and text.isdecimal() and len(text) < 19


def _sensible(form: forms.Form, name: str, on: date) -> date | None:
    day: date | None = form.cleaned_data[name]
    if day is not None:
        refuse_absurd(day, on)
    return day


class ChooseForm(forms.Form):
    """Which looks are offered. What makes no sense is told, and then not asked."""

    property = forms.ModelChoiceField(
        label="Property", queryset=Property.objects.none(), required=False, empty_label="All"
    )
    place = forms.ChoiceField(label="Building or side", required=False)
    access = forms.ChoiceField(
        label="Access", required=False, choices=[("", "All"), *Elevation.Access.choices]
    )
    until = DayField(label="Can be looked at by", required=False)
    whose = forms.ChoiceField(label="Whose", required=False, choices=Whose.CHOICES)
    round = forms.ModelChoiceField(
        queryset=Round.objects.none(), required=False, widget=forms.HiddenInput
    )

    def __init__(self, *args: Any, by: User, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by, self.on = by, on
        self.fields["property"].queryset = properties_for(by)  # type: ignore[attr-defined]
        self.fields["round"].queryset = rounds_for(by).open()  # type: ignore[attr-defined]
        self.places: dict[str, Building | Elevation] = {}
        self._offer_places()

    def _offer_places(self) -> None:
        """Sides are offered once their property is chosen: of all properties they are too many."""
        chosen = self["property"].value()
        field = self.fields["place"]
        assert isinstance(field, forms.ChoiceField)
        if not str(chosen or "").isdecimal():
            del self.fields["place"]
            return
        seen = properties_for(self.by).filter(pk=str(chosen)[:18])
        buildings = Building.objects.standing().filter(property__in=seen)
        groups: list[Any] = [("", "All")]
        for building in buildings.prefetch_related("elevations"):
            self.places[f"b{building.pk}"] = building
            offered = [(f"b{building.pk}", f"All of {building.name}")]
            for elevation in building.elevations.all():
                self.places[f"e{elevation.pk}"] = elevation
                offered.append((f"e{elevation.pk}", elevation.name))
            groups.append((building.name, offered))
        field.choices = groups

    def clean_until(self) -> date | None:
        return _sensible(self, "until", self.on)

    def asked(self) -> Asked:
        self.is_valid()
        typed = self.cleaned_data
        place = self.places.get(typed.get("place") or "")
        return Asked(
            by=self.by,
            on=self.on,
            until=typed.get("until") or self.on,
            property=typed.get("property"),
            building=place if isinstance(place, Building) else None,
            elevation=place if isinstance(place, Elevation) else None,
            access=typed.get("access") or "",
            whose=typed.get("whose") or Whose.ANYBODY,
        )


class TickedInput(forms.MultipleHiddenInput):
    """The ticks stand in the list itself."""

    def value_from_datadict(self, data: Any, files: MultiValueDict[str, Any], name: str) -> Any:
        return data.getlist(name) if hasattr(data, "getlist") else data.get(name, [])


class TicksField(forms.Field):
    """The keys of ticked rows."""

    widget = TickedInput
    empty_values = (*forms.Field.empty_values, set())

    def to_python(self, value: Any) -> set[int]:
        ticks = [str(tick) for tick in value or ()]
        if not all(map(is_key, ticks)):
            raise ValidationError("What is ticked cannot be read; tick it again.", code="unread")
        return {int(tick) for tick in ticks}


class TickedDatesForm(forms.Form):
    """Which of the offered looks go into a round."""

    due = TicksField(
        label="Looks", error_messages={"required": "Tick at least one look for the round."}
    )

    def __init__(self, *args: Any, by: User, there: Set[int] = frozenset(), **kwargs: Any) -> None:
        """`there`: the looks that stand in the round already."""
        super().__init__(*args, **kwargs)
        self.by, self.there = by, there

    def clean_due(self) -> set[int]:
        ticked: set[int] = self.cleaned_data["due"]
        number = len(ticked | self.there)
        if number > MOST_CANDIDATES:
            raise ValidationError(
                f"{number} looks are more than one round can hold ({MOST_CANDIDATES}). "
                "Make two rounds of them.",
                code="too-many",
            )
        known = DueDate.objects.looks().within(properties_for(self.by)).filter(pk__in=ticked)
        if known.count() != len(ticked):
            raise ValidationError(
                "Some of these looks are not planned any more. Choose from those below.",
                code="unknown",
            )
        return ticked


class RoundForm(forms.Form):
    """What a round is called, when it is walked, and by whom."""

    name = forms.CharField(
        label="Name of the round", max_length=LONGEST_NAME, help_text="Such as 'Mill Row, tower'."
    )
    walk_on = DayField(label="Day")
    person = PersonChoice(
        label="Who walks it", queryset=User.objects.none(), required=False,
        empty_label="Nobody yet",
    )  # fmt: skip
    notes = forms.CharField(
        label="Notes",
        required=False,
        max_length=5000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What to bring, whom to ring. They stand at the head of the sheet.",
    )

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on
        self.fields["person"].queryset = people()  # type: ignore[attr-defined]

    def clean_walk_on(self) -> date | None:
        return _sensible(self, "walk_on", self.on)


class NewRoundForm(RoundForm, TickedDatesForm):
    key = forms.UUIDField(widget=forms.HiddenInput)

    field_order = ("key", "name", "walk_on", "person", "notes", "due")


class EndForm(forms.Form):
    reason = forms.CharField(
        label="Why it ends",
        max_length=LONGEST_REASON,
        help_text="Such as 'all done', or 'rain; the rest on another day'.",
        error_messages={"required": "Say why it ends, such as 'all done'."},
    )


class LeaveOutForm(forms.Form):
    left_out_because = forms.CharField(
        label="Why it is left out",
        max_length=LONGEST_REASON,
        help_text="Such as 'gate locked'. Its date stays as it is.",
        error_messages={"required": "Say why it is left out, such as 'gate locked'."},
    )


class RoundFilter(forms.Form):
    OPEN, ENDED = "", "ended"

    state = forms.ChoiceField(
        label="Show", required=False, choices=[(OPEN, "Open"), (ENDED, "Ended")]
    )
    person = PersonChoice(
        label="Who", queryset=User.objects.none(), required=False, empty_label="Anybody"
    )
    name = forms.CharField(
        label="Name",
        required=False,
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = people()  # type: ignore[attr-defined]

    def narrowed(self, rounds: Any) -> Any:
        self.is_valid()
        typed = self.cleaned_data
        rounds = rounds.filter(ended_on__isnull=typed.get("state") != self.ENDED)
        if person := typed.get("person"):
            rounds = rounds.filter(person=person)
        if name := typed.get("name"):
            rounds = rounds.filter(name__icontains=name)
        return rounds
