"""Making a calendar address, and choosing which mails to get."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError

from properties.access import properties_for
from properties.models import Person
from properties.models.people import MailsTell, Weekday
from repairs.forms.log_known import LONGEST_NUMBER
from repairs.mails.choices import MailChoices
from repairs.models import CalendarFeed

Shows = CalendarFeed.Shows


class PropertyChoice(forms.ModelChoiceField):
    """A number too large for any database is no choice; SQLite would break off."""

    def to_python(self, value: Any) -> Any:
        if len(str(value)) > LONGEST_NUMBER:
            raise ValidationError(
                self.error_messages["invalid_choice"], code="invalid_choice",
                params={"value": str(value)[:LONGEST_NUMBER]},
            )  # fmt: skip
        return super().to_python(value)


class FeedForm(forms.Form):
    shows = forms.ChoiceField(
        label="What it shows", choices=Shows.choices, widget=forms.RadioSelect, initial=Shows.OWN
    )
    property = PropertyChoice(
        label="Which property", queryset=None, required=False, empty_label="None",
        help_text="Only for the calendar of one property.",
    )  # fmt: skip
    over_window = forms.BooleanField(
        label="Show each from its first to its last good day",
        required=False,
        help_text="Without the tick it stands on its day alone.",
    )

    def __init__(self, *args: Any, user: User, of: str | None, **kwargs: Any) -> None:
        if of:
            kwargs["initial"] = {"shows": Shows.PROPERTY, "property": of[:LONGEST_NUMBER]}
        super().__init__(*args, **kwargs)
        self.user = user
        self.fields["property"].queryset = properties_for(user)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        if typed.get("shows") != Shows.PROPERTY:
            typed["property"] = None
        elif typed.get("property") is None and "property" not in self.errors:
            self.add_error("property", "Choose the property that the calendar is to show.")
        return typed

    def save(self) -> bool:
        """Whether an address was made; asked for what one shows already, that one is changed."""
        typed = self.cleaned_data
        _, made = CalendarFeed.objects.update_or_create(
            user=self.user,
            shows=typed["shows"],
            property=typed["property"],
            defaults={"over_window": typed["over_window"]},
        )
        return made


TOLD = {MailsTell.OWN.value: "what I am to look at", MailsTell.EVERY.value: "everything I may see"}
YES_NO = [("", "As is usual"), ("yes", "Yes"), ("no", "No")]


class YesNo(forms.TypedChoiceField):
    """Yes, no, or not chosen."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            choices=YES_NO, coerce={"yes": True, "no": False}.get, empty_value=None,
            required=False, widget=forms.RadioSelect, **kwargs,
        )  # fmt: skip

    def prepare_value(self, value: Any) -> Any:
        return {True: "yes", False: "no", None: ""}.get(value, value)


class MailForm(forms.ModelForm):
    weekly_mail = YesNo(
        label="A mail each week",
        help_text="What is overdue, and what falls in the seven days to come. If there is "
        "nothing to say, no mail comes.",
    )
    weekly_mail_day = forms.TypedChoiceField(
        label="On which day", choices=Weekday.choices, coerce=int,
        help_text="It goes out in the first round of mails on or after this day.",
    )  # fmt: skip
    day_before_mail = YesNo(
        label="A mail on the day before", help_text="What falls on the next day."
    )
    mails_tell = forms.ChoiceField(
        label="What they tell of",
        choices=[YES_NO[0], *MailsTell.choices],
        required=False,
        widget=forms.RadioSelect,
    )

    class Meta:
        model = Person
        fields = ("weekly_mail", "weekly_mail_day", "day_before_mail", "mails_tell")

    def __init__(self, *args: Any, usual: MailChoices, **kwargs: Any) -> None:
        """With the first choice of each saying what is usual for this person."""
        super().__init__(*args, **kwargs)
        for name, words in (
            ("weekly_mail", "yes" if usual.weekly else "no"),
            ("day_before_mail", "yes" if usual.day_before else "no"),
            ("mails_tell", TOLD[usual.tell]),
        ):
            chosen = self.fields[name]
            chosen.choices = [("", f"As usual for me: {words}"), *chosen.choices[1:]]  # type: ignore[attr-defined]
