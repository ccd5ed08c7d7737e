"""Forms of the cost pages."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any, cast

from django import forms

from config.day_field import DayField
from materials.money import MINOR_DIGITS, to_minor
from materials.money_fields import MoneyField
from properties.forms.many import ManyOf
from properties.models import Building, Member, Property
from repairs.costs.reports import Period
from repairs.models import CostLine, Repair, SharedCost

EARLIEST = date(1800, 1, 1)
LATEST = date(2100, 12, 31)


def in_reach(day: date | None) -> date | None:
    """Refuses days that nobody can mean."""
    if day is not None and not EARLIEST <= day <= LATEST:
        raise forms.ValidationError(
            f"{day.year} is out of reach. Type a day between {EARLIEST.year} and {LATEST.year}.",
            code="out-of-reach",
        )
    return day


class PeriodForm(forms.Form):
    first = DayField(label="From", required=False)
    last = DayField(label="To", required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and first > last:
            self.add_error("last", "This is before the first day. Swap the two, or leave one out.")
        return cleaned

    def period(self) -> Period:
        """The period typed; the whole life where it is not sound."""
        if not self.is_valid():
            return Period()
        return Period(self.cleaned_data["first"], self.cleaned_data["last"])


class _MoneyForm(forms.Form):
    """What a single cost line and a shared cost ask alike, in the order of an invoice."""

    kind = forms.ChoiceField(choices=CostLine.Kind.choices)
    description = forms.CharField(max_length=200)
    currency = forms.CharField(
        max_length=3, min_length=3, help_text="Three letters, such as GBP (ISO 4217)."
    )
    amount = MoneyField(
        min_value=None,
        help_text="With tax. A credit is typed as a plain amount; it counts as money back.",
    )
    rate = forms.DecimalField(
        label="Rate of the day",
        required=False,
        min_value=Decimal("0.00000001"),
        max_digits=16,
        decimal_places=8,
        help_text="Only for a foreign currency: what one unit of it was worth that day.",
    )
    tax = MoneyField(label="Tax within it", required=False)
    worked_on = DayField(label="Day of the work")
    invoiced_on = DayField(label="Day of the invoice", required=False)
    paid_on = DayField(label="Day of payment", required=False)
    supplier = forms.CharField(max_length=200, required=False)
    invoice = forms.CharField(label="Invoice number", max_length=80, required=False)
    borne_by = forms.ChoiceField(choices=CostLine.Bearer.choices, initial=CostLine.Bearer.OWNER)
    money_class = forms.ChoiceField(
        label="Capital or revenue",
        choices=CostLine.MoneyClass.choices,
        required=False,
        help_text="Ask your accountant; the record only keeps what you say.",
    )

    def __init__(self, property: Property, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.home = property.currency
        self.fields["currency"].initial = self.home
        typed = str(self.data.get("currency") or self.home).strip().upper()
        for name in ("amount", "tax"):
            field = cast(MoneyField, self.fields[name])
            field.set_currency(typed if typed in MINOR_DIGITS else self.home)

    def clean_currency(self) -> str:
        currency = str(self.cleaned_data["currency"]).strip().upper()
        try:
            to_minor(Decimal(0), currency)
        except ValueError as error:
            raise forms.ValidationError(str(error), code="unknown-currency") from error
        return currency

    def clean_worked_on(self) -> date | None:
        return in_reach(self.cleaned_data["worked_on"])

    def clean_invoiced_on(self) -> date | None:
        return in_reach(self.cleaned_data["invoiced_on"])

    def clean_paid_on(self) -> date | None:
        return in_reach(self.cleaned_data["paid_on"])

    def clean_amount(self) -> Decimal:
        amount: Decimal = self.cleaned_data["amount"]
        if amount <= 0:
            raise forms.ValidationError(
                "Type an amount above zero; for money back choose the kind 'Credit'.",
                code="not-positive",
            )
        return amount

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        currency, tax, amount = (cleaned.get(name) for name in ("currency", "tax", "amount"))
        if currency and currency != self.home and not cleaned.get("rate"):
            self.add_error("rate", f"Type what 1 {currency} was worth in {self.home} on the day.")
        if tax is not None and amount is not None and not 0 <= tax <= amount:
            self.add_error("tax", "The tax lies within the amount: from nothing to all of it.")
        return cleaned

    def signed_minor(self) -> int:
        sign = -1 if self.cleaned_data["kind"] == CostLine.Kind.CREDIT else 1
        return sign * to_minor(self.cleaned_data["amount"], self.cleaned_data["currency"])

    def line(self) -> CostLine:
        """The line as typed, not yet tied to a building."""
        data = self.cleaned_data
        tax = data["tax"]
        sign = -1 if data["kind"] == CostLine.Kind.CREDIT else 1
        return CostLine(
            amount_minor=self.signed_minor(),
            tax_minor=None if tax is None else sign * to_minor(tax, data["currency"]),
            **{
                name: data[name]
                for name in (
                    "kind",
                    "description",
                    "currency",
                    "worked_on",
                    "invoiced_on",
                    "paid_on",
                    "supplier",
                    "invoice",
                    "borne_by",
                    "money_class",
                )
            },
        )


class CostLineForm(_MoneyForm):
    member = forms.ModelChoiceField(
        Member.objects.none(), required=False, help_text="Empty for the building as a whole."
    )
    repair = forms.ModelChoiceField(Repair.objects.none(), required=False)
    field_order = ["member", "repair"]

    def __init__(self, building: Building, *args: Any, **kwargs: Any) -> None:
        super().__init__(building.property, *args, **kwargs)
        self.building = building
        members = Member.objects.filter(building=building).select_related("elevation")
        cast(forms.ModelChoiceField, self.fields["member"]).queryset = members
        cast(forms.ModelChoiceField, self.fields["repair"]).queryset = (
            Repair.objects.standing().filter(member__building=building).select_related("member")
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        member, repair = cleaned.get("member"), cleaned.get("repair")
        if member and repair and repair.member_id != member.pk:
            self.add_error("repair", f"That repair is on {repair.member}, not on {member}.")
        return cleaned

    def line(self) -> CostLine:
        line = super().line()
        repair = self.cleaned_data["repair"]
        member = self.cleaned_data["member"] or (repair.member if repair else None)
        line.building, line.member, line.repair = self.building, member, repair
        if member:
            line.elevation_id = member.elevation_id
        if repair and (defect := repair.defects.first()):
            line.cause = defect.cause
        return line


class SharedCostForm(_MoneyForm):
    rule = forms.ChoiceField(choices=SharedCost.Rule.choices)
    members = ManyOf(
        Member.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick the members that share this cost."},
    )
    parts = forms.CharField(
        label="Hours or parts",
        required=False,
        max_length=500,
        help_text="For hours or stated parts: one figure per member ticked, in their order, "
        "such as 2, 3.5, 1.",
    )

    def __init__(self, building: Building, *args: Any, **kwargs: Any) -> None:
        super().__init__(building.property, *args, **kwargs)
        members = Member.objects.standing().filter(building=building)
        picked = cast(forms.ModelMultipleChoiceField, self.fields["members"])
        picked.queryset = members.with_place().order_by("mark")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("rule") in {SharedCost.Rule.HOURS, SharedCost.Rule.STATED}:
            members = cleaned.get("members")
            figures = str(cleaned.get("parts", "")).replace(";", ",").split(",")
            try:
                weights = [Decimal(figure.strip()) for figure in figures]
            except ArithmeticError:
                weights = []
            if members is not None and len(weights) != len(members):
                self.add_error(
                    "parts", f"Type {len(members)} figures with commas between, one per member."
                )
            elif any(not weight.is_finite() or weight < 0 for weight in weights):
                self.add_error("parts", "A share is a number from zero up.")
            elif members is not None:
                cleaned["stated"] = dict(zip(members, weights, strict=True))
        return cleaned

    def shared(self) -> SharedCost:
        data = self.cleaned_data
        return SharedCost(
            description=data["description"],
            rule=data["rule"],
            total_minor=self.signed_minor(),
            currency=data["currency"],
        )


class TakeBackForm(forms.Form):
    reason = forms.CharField(max_length=180, help_text="Such as 'entered twice'.")
    on = DayField(label="Day", help_text="The reversing line counts on this day.")

    def clean_on(self) -> date | None:
        return in_reach(self.cleaned_data["on"])


class CreditForm(forms.Form):
    """Money back on a shared cost, such as a scaffold that went down early."""

    amount = MoneyField(label="How much came back", min_value=None)
    tax = MoneyField(label="Tax within it", required=False)
    reason = forms.CharField(max_length=180, help_text="Such as 'taken down a week early'.")
    on = DayField(label="Day", help_text="The credit counts on this day.")
    invoice = forms.CharField(label="Credit note number", max_length=80, required=False)

    def __init__(self, currency: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("amount", "tax"):
            cast(MoneyField, self.fields[name]).set_currency(currency)

    def clean_amount(self) -> Decimal:
        amount: Decimal = self.cleaned_data["amount"]
        if amount <= 0:
            raise forms.ValidationError("Type how much came back, above zero.", code="not-positive")
        return amount

    def clean_on(self) -> date | None:
        return in_reach(self.cleaned_data["on"])
