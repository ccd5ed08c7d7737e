"""Forms of the rule set."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import slugify

from properties.models import Member
from repairs.models import DueRule

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


def _any(choices: Any) -> list[tuple[Any, Any]]:
    return [("", "Any"), *choices]


class RuleForm(forms.ModelForm):
    temporary = forms.TypedChoiceField(
        label="Which repairs",
        required=False,
        empty_value=None,
        coerce=lambda value: value == "True",
        choices=[("", "Any"), ("False", "Lasting repairs"), ("True", "Temporary repairs")],
    )
    member_kind = forms.ChoiceField(
        label="Which members", required=False, choices=_any(Member.Kind.choices)
    )
    finish = forms.ChoiceField(
        label="Which finish", required=False, choices=_any(Member.Finish.choices)
    )
    exposure = forms.ChoiceField(
        label="Which exposure", required=False, choices=_any(Member.Exposure.choices)
    )
    first_months = FirstMonthsField(
        label="First steps, months after the work",
        required=False,
        help_text="Such as 1, 6. Empty for none.",
    )

    class Meta:
        model = DueRule
        fields = [
            "kind", "temporary", "member_kind", "finish", "exposure", "first_months",
            "then_months", "from_done", "window_days", "words", "source", "in_force",
        ]  # fmt: skip
        labels = {
            "kind": "What it sets", "then_months": "Then every so many months",
            "window_days": "Days before its day that a date shows as due",
            "words": "In words", "in_force": "In force",
        }  # fmt: skip
        help_texts = {
            "words": "Stands beside every date that this rule sets.",
            "source": "Where the interval comes from; 'common practice, no source' if nowhere.",
        }

    def clean(self) -> dict[str, Any] | None:
        typed = super().clean()
        first, then = self.cleaned_data.get("first_months"), self.cleaned_data.get("then_months")
        if first and then and first[0] > MOST_MONTHS - then:
            self.add_error("first_months", "The first step is too far ahead.")
        return typed

    def save(self, commit: bool = True) -> DueRule:
        rule = super().save(commit=False)
        if not rule.code:
            rule.code = free_code(rule.words)
        if commit:
            rule.save()
        return rule


def free_code(words: str) -> str:
    """A code of its own for a new rule, so that a default rule never meets it."""
    base = f"own-{slugify(words)[:36] or 'rule'}"
    taken = set(DueRule.objects.filter(code__startswith=base).values_list("code", flat=True))
    numbered = (base if count == 1 else f"{base}-{count}" for count in range(1, len(taken) + 2))
    return next(code for code in numbered if code not in taken)
