"""Forms for members: one, several alike, and the one that follows a member taken out."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.quantities import Quantity
from config.quantity_fields import QuantityField
from properties.marks import marks_from
from properties.models import Elevation, Member

from .records import RecordForm, year_not_after

# What can have no meaning on a member, as distinct from what nobody has recorded.
CAN_BE_NOT_APPLICABLE = {
    "species": "Species: it is not timber, or no one species",
    "width_mm": "Section",
    "length_mm": "Length",
    "finish_colour": "Colour",
    "oldest_paint_year": "Paint: it was never painted",
}
LARGEST_SECTION, LONGEST = Decimal(5_000), Decimal(100_000)
MOST_AT_ONCE = 60


def section(label: str) -> QuantityField:
    return QuantityField(
        Quantity.LENGTH,
        label=label,
        required=False,
        hint=False,
        min_value=Decimal("0.01"),
        max_value=LARGEST_SECTION,
    )


class ElevationChoice(forms.ModelChoiceField):
    """Names the elevations of one building, without the building."""

    def label_from_instance(self, obj: Elevation) -> str:
        return obj.name


class MemberForm(RecordForm):
    given: tuple[str, ...] = ("building", "removed_on")

    width_mm = section("Section, across the face")
    depth_mm = section("Section, into the wall")
    length_mm = QuantityField(
        Quantity.LENGTH,
        label="Length",
        required=False,
        min_value=Decimal("0.01"),
        max_value=LONGEST,
    )
    expected_surface_c = QuantityField(
        Quantity.TEMPERATURE,
        label="Expected surface temperature on a hot day",
        required=False,
        min_value=Decimal(-20),
        max_value=Decimal(120),
        help_text="Leave it empty for the usual figure of its colour and face.",
    )
    not_applicable = forms.MultipleChoiceField(
        choices=list(CAN_BE_NOT_APPLICABLE.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Does not apply to this member",
    )

    class Meta:
        model = Member
        fields = [
            "mark",
            "kind",
            "elevation",
            "position",
            "width_mm",
            "depth_mm",
            "length_mm",
            "species",
            "installed_year",
            "exposure",
            "ground_contact",
            "load_bearing",
            "use_class",
            "finish",
            "finish_colour",
            "finish_tone",
            "oldest_paint_year",
            "tilt_deg",
            "expected_surface_c",
            "not_applicable",
            "notes",
        ]
        labels = {
            "load_bearing": "Does it carry load?",
            "ground_contact": "Does it touch the ground?",
            "finish_colour": "Colour",
            "tilt_deg": "Tilt of its face, in degrees",
            "finish_tone": "How dark the colour is",
            "oldest_paint_year": "Year of the oldest paint on it",
            "installed_year": "Year it was put in",
        }
        widgets = {
            "notes": forms.Textarea(attrs={"rows": 3}),
            "load_bearing": forms.RadioSelect,
            "ground_contact": forms.RadioSelect,
            "mark": forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off"}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["elevation"] = ElevationChoice(
            self.instance.building.elevations.all(),
            required=False,
            empty_label="None, or not known",
        )

    def clean_mark(self) -> str:
        return " ".join(str(self.cleaned_data["mark"]).split())

    def clean_installed_year(self) -> int | None:
        return year_not_after(self.cleaned_data["installed_year"], self.on.year + 1)

    def clean_oldest_paint_year(self) -> int | None:
        return year_not_after(self.cleaned_data["oldest_paint_year"], self.on.year)

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        for name in cleaned.get("not_applicable", []):
            if cleaned.get(name):
                self.add_error(
                    name,
                    ValidationError(
                        "You gave a value and also said that it does not apply. Keep one of them.",
                        code="both-given-and-not-applicable",
                    ),
                )
        return cleaned


class NewMemberForm(MemberForm):
    """Several alike are entered at once, their marks counted on from the first."""

    count = forms.IntegerField(
        label="How many like this",
        min_value=1,
        max_value=MOST_AT_ONCE,
        initial=1,
        help_text="Their marks count on: S-SILL-01, S-SILL-02, …",
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("mark") and cleaned.get("count", 1) > 1:
            self._refuse_taken_marks()
        return cleaned

    def _refuse_taken_marks(self) -> None:
        marks = self.marks()
        if any(len(mark) > 40 for mark in marks):
            raise ValidationError(
                {"mark": ValidationError("A mark has at most 40 letters.", code="too-long")}
            )
        here = self.instance.building.members.in_place().filter(mark__in=marks[1:])
        if taken := list(here.values_list("mark", flat=True)):
            words = ", ".join(taken[:5]) + (" and others" if len(taken) > 5 else "")
            raise ValidationError(
                {
                    "count": ValidationError(
                        f"{words} stand here already. Enter fewer, or begin at a later mark.",
                        code="marks-taken",
                    )
                }
            )

    def marks(self) -> list[str]:
        return marks_from(self.cleaned_data["mark"], self.cleaned_data["count"])

    def members(self) -> list[Member]:
        """The members to be added, not saved yet."""
        facts = {
            field.attname: getattr(self.instance, field.attname)
            for field in Member._meta.concrete_fields
            if field.attname not in {"id", "mark"}
        }
        return [Member(mark=mark, **facts) for mark in self.marks()]


class SuccessorForm(MemberForm):
    """The member that takes another's place; it may carry the same mark on."""

    # Its mark is judged below: the old member is still in place while this form is read.
    given = ()

    def __init__(self, *args: Any, replaced: Member, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.replaced = replaced

    def clean_mark(self) -> str:
        mark = super().clean_mark()
        others = self.replaced.building.members.in_place().exclude(pk=self.replaced.pk)
        if others.filter(mark=mark).exists():
            raise ValidationError(
                "This building already has a member with that mark.", code="mark-taken"
            )
        return mark
