"""The form of one rule of the rule set."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import slugify

from properties.classes import CONDITION_CHOICES, USE_CLASS_CHOICES
from properties.models import Member
from repairs.due.fixed_days import as_typed, days_from
from repairs.due.rule_order import add_on_top
from repairs.due.rule_sense import refusals
from repairs.due.seasons import SEASONS
from repairs.models import DueRule, Repair

MOST_MONTHS = 600


class FirstMonthsField(forms.CharField):
    """Rising months such as '1, 6'; empty for none."""

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(str(month) for month in value) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value) or ""
        parts = [part for part in text.replace(",", " ").split() if part]
        if not all(part.isascii() and part.isdigit() and len(part) < 5 for part in parts):
            raise ValidationError("Type whole months such as 1, 6.", code="months")
        months = [int(part) for part in parts[:20]]
        if months != sorted(set(months)) or any(not 1 <= each <= MOST_MONTHS for each in months):
            raise ValidationError(
                f"Type rising months between 1 and {MOST_MONTHS}, such as 1, 6.", code="order"
            )
        return months


class FixedDaysField(forms.CharField):
    """Days of the year such as '15 April, 15 October'; empty for none."""

    def prepare_value(self, value: Any) -> Any:
        return as_typed(value) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        try:
            return days_from((super().to_python(value) or "")[:500])
        except ValueError as why:
            raise ValidationError(str(why), code="days") from why


def _any(choices: Any) -> list[tuple[Any, Any]]:
    return [("", "Any"), *choices]


def _one_of(label: str, choices: Any) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, required=False, choices=_any(choices))


class RuleForm(forms.ModelForm):
    temporary = forms.TypedChoiceField(
        label="Lasting or temporary",
        required=False,
        empty_value=None,
        coerce=lambda value: value == "True",
        choices=[("", "Any"), ("False", "Lasting repairs"), ("True", "Temporary repairs")],
    )
    repair_kind = _one_of("Kind of repair", Repair.Kind.choices)
    member_kind = _one_of("Kind of member", Member.Kind.choices)
    finish = _one_of("Finish", Member.Finish.choices)
    exposure = _one_of("Exposure", Member.Exposure.choices)
    use_class = _one_of("Use class", USE_CLASS_CHOICES)
    climate = _one_of("Climate of the place", DueRule.Climate.choices)
    worst_condition = _one_of("Condition at the last look, or worse", CONDITION_CHOICES)
    first_months = FirstMonthsField(
        label="First steps, months after the work",
        required=False,
        help_text="Such as 1, 6. Empty for none.",
    )
    fixed_days = FixedDaysField(
        label="Or on fixed days of each year",
        required=False,
        help_text="Such as 15 April, 15 October; at least 28 days apart. 29 February is kept on "
        "the 28th in other years.",
    )
    seasons = forms.MultipleChoiceField(
        label="Only in these seasons",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=[(name, name.capitalize()) for name in SEASONS],
        help_text="None ticked: all year. A day outside them is moved to the nearest in them. "
        "South of the equator they are turned by half a year.",
    )

    class Meta:
        model = DueRule
        fields = [
            "kind", "member_kind", "finish", "exposure", "use_class", "climate",
            "worst_condition", "age_from_years", "age_to_years", "temporary", "repair_kind",
            "then_months", "first_months", "from_done", "fixed_days", "seasons", "frost_free",
            "window_days", "repaint_at", "latest_months", "words", "source", "in_force",
        ]  # fmt: skip
        labels = {
            "kind": "What it sets", "then_months": "Every so many months",
            "age_from_years": "From an age of", "age_to_years": "Up to an age of, not including",
            "from_done": "Counts from the day it was done", "frost_free": "Not in frost",
            "window_days": "Days before its day in which it may be done",
            "repaint_at": "Repaint at class", "latest_months": "Months at the latest",
            "words": "In words", "in_force": "In force",
        }  # fmt: skip
        help_texts = {
            "age_from_years": "Whole years: of the repair, of the coating, or of the member.",
            "frost_free": "Months with a mean of 2 °C or less are left out; where none are "
            "recorded, the winter. Common practice, no source.",
            "window_days": "The day is the last of them. Up to 366.",
            "words": "Stands beside every date that this rule sets.",
            "source": "Where the interval comes from; 'common practice, no source' if nowhere.",
        }

        error_messages = {
            name: dict.fromkeys(("invalid", "min_value", "max_value"), sentence)
            for name, sentence in (
                ("then_months", f"Type whole months from 1 to {MOST_MONTHS}."),
                ("latest_months", f"Type whole months from 1 to {MOST_MONTHS}."),
                ("age_from_years", "Type whole years from 0 to 200."),
                ("age_to_years", "Type whole years from 1 to 200."),
                ("window_days", "Type whole days from 0 to 366."),
                ("repaint_at", "Type a class from 0.5 to 5."),
            )
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["then_months"].required = False
        # Dates are kept with the rule that set them: it cannot become one for something else.
        self.fields["kind"].disabled = self.instance.pk is not None

    def clean_then_months(self) -> int | None:
        months: int | None = self.cleaned_data["then_months"]
        if months is None and not self.data.get("fixed_days", "").strip():
            raise ValidationError(
                "Type after how many months it comes round, or fixed days of the year.",
                code="required",
            )
        return months

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        if typed.get("fixed_days"):
            # Kept beside the days for what reckons in months; the days say when.
            typed["then_months"] = max(12 // len(typed["fixed_days"]), 1)
        for name, sentence in refusals(typed):
            self.add_error(name, sentence)
        if not self.errors and self.instance.pk is None:
            self._refuse_twice(typed)
        return typed

    def _refuse_twice(self, typed: dict[str, Any]) -> None:
        """A form sent twice makes one rule."""
        alike = DueRule.objects.filter(kind=typed["kind"], words=typed["words"])
        for rule in alike:
            if all(getattr(rule, name) == typed[name] for name in self._meta.fields or ()):
                raise ValidationError(
                    "This very rule stands there already: it was saved before.", code="twice"
                )

    def save(self, commit: bool = True) -> DueRule:
        rule: DueRule = super().save(commit=False)
        is_new = not rule.code
        if is_new:
            rule.code = free_code(rule.words)
        if commit:
            add_on_top(rule) if is_new else rule.save()
        return rule


def free_code(words: str) -> str:
    """A code of its own for a new rule, so that a default rule never meets it."""
    base = f"own-{slugify(words)[:36] or 'rule'}"
    taken = set(DueRule.objects.filter(code__startswith=base).values_list("code", flat=True))
    numbered = (base if count == 1 else f"{base}-{count}" for count in range(1, len(taken) + 2))
    return next(code for code in numbered if code not in taken)
