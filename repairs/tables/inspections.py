"""The list of looks and repaints: what is to come, and what was done."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import django_tables2 as tables
from django import forms
from django.contrib.auth.models import User
from django.db.models import Q
from django.utils.html import format_html

from config.day_field import DayField
from properties.access import properties_for
from properties.models import Property
from repairs.due.words import state_of
from repairs.forms.days import refuse_absurd
from repairs.forms.inspections import PersonChoice, people
from repairs.models import DueDate, Inspection
from repairs.models.due_dates import DueDateQuerySet, DueKind
from repairs.models.inspections import InspectionQuerySet
from repairs.rounds.whose import of_person, who_looks, with_rounds

if TYPE_CHECKING:
    from properties.access import Visitor

A_YEAR = timedelta(days=366)
RESULT_SIGNS = {"sound": "sound", "watch": "watch", "redo": "redo", "not_reached": "unknown"}


def state_html(sign: str, words: str) -> str:
    return format_html('<span class="state state-{}">{}</span>', sign, words)


class PlaceColumn(tables.Column):
    """Building and property of a row's member."""

    def __init__(self, **kwargs: Any) -> None:
        place = "member__building__property__name", "member__building__name"
        super().__init__(accessor="member__building", order_by=place, **kwargs)


class DueTable(tables.Table):
    mark = tables.Column(
        "Member",
        accessor="member__mark",
        linkify=lambda record: record.get_absolute_url(),
        attrs={"td": {"class": "mark"}},
    )
    place = PlaceColumn(verbose_name="Where")
    kind = tables.Column("What")
    due_on = tables.DateColumn(verbose_name="Due", format="j M Y", attrs={"td": {"class": "date"}})
    state = tables.Column("State", accessor="due_on", orderable=False)
    person = tables.Column("Who", accessor="pk", order_by="person__last_name")
    set_because = tables.Column(
        "Set by", orderable=False, attrs={"td": {"class": "fine wide-only"}}
    )

    class Meta:
        order_by = ("due_on", "mark")
        empty_text = (
            "No date here. A date is set by itself when a repair is logged; others are set on a "
            "member's page."
        )

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on

    def render_state(self, record: DueDate) -> str:
        return state_html(*state_of(record, self.on))

    def value_state(self, record: DueDate) -> str:
        return state_of(record, self.on)[1]

    def render_person(self, record: DueDate) -> str:
        return who_looks(record) or "Nobody yet"

    def value_due_on(self, value: date) -> str:
        return value.isoformat()


class LookTable(tables.Table):
    mark = tables.Column(
        "Member",
        accessor="member__mark",
        linkify=lambda record: record.get_absolute_url(),
        attrs={"td": {"class": "mark"}},
    )
    place = PlaceColumn(verbose_name="Where")
    looked_on = tables.DateColumn(
        verbose_name="Looked", format="j M Y", attrs={"td": {"class": "date"}}
    )
    result = tables.Column("Result")
    occasion = tables.Column("Occasion")
    who = tables.Column("Who", accessor="looked_by_name", default="Not recorded")
    late = tables.Column("Late, days", accessor="due", orderable=False, default="",
                         attrs={"td": {"class": "num"}})  # fmt: skip

    class Meta:
        order_by = ("-looked_on",)
        empty_text = "No look has been recorded here. Record the first from a due date or a member."

    def render_result(self, record: Inspection) -> str:
        return state_html(RESULT_SIGNS[record.result], record.get_result_display())

    def value_result(self, record: Inspection) -> str:
        return record.get_result_display()

    def value_looked_on(self, value: date) -> str:
        return value.isoformat()

    def render_late(self, record: Inspection) -> str:
        if record.due is None or record.result == Inspection.Result.NOT_REACHED:
            return ""
        return str(record.due.days_late(record.looked_on))


class State:
    SOON, OVERDUE, NEXT, LATER, DONE, OFF = "", "overdue", "next", "later", "done", "off"
    CHOICES = (
        (SOON, "Overdue and next"),
        (OVERDUE, "Overdue"),
        (NEXT, "Next twelve months"),
        (LATER, "Later than that"),
        (DONE, "Looks done"),
        (OFF, "Called off"),
    )


class ScheduleFilter(forms.Form):
    """What the list shows. Words that make no sense are told, and the list then shows all."""

    state = forms.ChoiceField(label="Show", choices=State.CHOICES, required=False)
    property = forms.ModelChoiceField(
        label="Property", queryset=Property.objects.none(), required=False, empty_label="All"
    )
    mark = forms.CharField(
        label="Mark or building",
        required=False,
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    kind = forms.ChoiceField(label="What", choices=[("", "All"), *DueKind.choices], required=False)
    person = PersonChoice(
        label="Who", queryset=User.objects.none(), required=False, empty_label="Anybody"
    )
    first = DayField(label="From", required=False)
    until = DayField(label="Until", required=False)

    def __init__(self, *args: Any, user: Visitor, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user, self.on = user, on
        self.fields["property"].queryset = properties_for(user)  # type: ignore[attr-defined]
        self.fields["person"].queryset = people()  # type: ignore[attr-defined]

    def for_a_year(self) -> ScheduleFilter:
        """Without what the calendar settles itself: which states, and until when."""
        del self.fields["state"], self.fields["until"]
        return self

    def clean_first(self) -> date | None:
        return self._sensible("first")

    def clean_until(self) -> date | None:
        until = self._sensible("until")
        first = self.cleaned_data.get("first")
        if first and until and until < first:
            raise forms.ValidationError("'Until' is before 'From'; exchange them.", code="order")
        return until

    def _sensible(self, name: str) -> date | None:
        day: date | None = self.cleaned_data[name]
        if day is not None:
            refuse_absurd(day, self.on)
        return day

    def asked(self, name: str) -> Any:
        return self.cleaned_data.get(name) if self.is_valid() else None

    def shows_looks(self) -> bool:
        return bool(self.asked("state") == State.DONE)

    def looks(self) -> InspectionQuerySet:
        found = Inspection.objects.within(properties_for(self.user)).with_place()
        if person := self.asked("person"):
            found = found.filter(looked_by=person)
        return self._narrowed(found, "looked_on").filter(self._kind_of_look())

    def _kind_of_look(self) -> Q:
        kind = self.asked("kind")
        return Q(due__kind=kind) if kind else Q()

    def outstanding(self, every_day: bool = False) -> DueDateQuerySet:
        """What is outstanding by all but the state: the ground of the opening sentence."""
        return self._dates(DueDate.objects.reminding(self.on), every_day)

    def dates(self) -> DueDateQuerySet:
        state = self.asked("state")
        if state == State.OFF:
            called_off = DueDate.objects.filter(cancelled_on__isnull=False)
            return with_rounds(self._dates(called_off).with_place())
        found = with_rounds(self.outstanding().with_place())
        until = self.on + A_YEAR
        if state == State.OVERDUE:
            return found.overdue(self.on)
        if state == State.NEXT:
            return found.coming(self.on, until)
        if state == State.LATER:
            return found.filter(due_on__gt=until)
        return found if self.asked("until") else found.filter(due_on__lte=until)

    def _dates(self, dates: DueDateQuerySet, every_day: bool = False) -> DueDateQuerySet:
        seen = dates.within(properties_for(self.user))
        found = self._narrowed(seen, "due_on", every_day).filter(self._whose())
        kind = self.asked("kind")
        return found.filter(kind=kind) if kind else found

    def _whose(self) -> Q:
        person = self.asked("person")
        return of_person(person) if person else Q()

    def _narrowed(self, found: Any, day: str, every_day: bool = False) -> Any:
        asked = {
            "member__building__property": self.asked("property"),
            f"{day}__gte": None if every_day else self.asked("first"),
            f"{day}__lte": None if every_day else self.asked("until"),
        }
        found = found.filter(**{name: value for name, value in asked.items() if value})
        if mark := self.asked("mark"):
            found = found.filter(
                Q(member__mark__icontains=mark) | Q(member__building__name__icontains=mark)
            )
        return found
