"""What is to be done, and the cavity: the first blocks of the page of a plan."""

from __future__ import annotations

from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from config.quantities import Quantity
from config.quantity_fields import QuantityField
from properties.models.members import Zone
from repairs.models import Plan, PlanShape, Repair

from .log_base import BlockForm, day, note, time_of_day
from .log_times import AGAIN_CHOICES, instant

MOST_YEARS_AHEAD = 20
TINY = Decimal("0.01")
# A thousand square metres, and as long as any timber.
MOST_M2, MOST_MM = Decimal(1000), Decimal(30_000)
SIZES = {"box", "wedge"}


def size(label: str, most: Decimal = MOST_MM, **kwargs: Any) -> QuantityField:
    kwargs = {"required": False, "hint": False, "min_value": TINY, "max_value": most, **kwargs}
    return QuantityField(Quantity.LENGTH, label=label, **kwargs)


def area(label: str, help_text: str = "", **kwargs: Any) -> QuantityField:
    return QuantityField(
        Quantity.AREA, label=label, required=False, hint=False, help_text=help_text,
        min_value=Decimal(0), max_value=MOST_M2, **kwargs,
    )  # fmt: skip


class WorkForm(BlockForm):
    kind = forms.ChoiceField(label="What is to be done", choices=Repair.Kind.choices)
    zone = forms.ChoiceField(
        label="Where on it", choices=Zone.choices,
        help_text="Left and right as seen from outside, facing the wall.",
    )  # fmt: skip
    on = day("Day")
    at = time_of_day("Work can start at")
    again = forms.ChoiceField(
        label="Which of the two times?", choices=AGAIN_CHOICES, required=False
    )

    def __init__(self, *args: Any, today: date, zone: ZoneInfo, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today, self.site_zone = today, zone

    def asks_which_time(self) -> bool:
        return bool(self.typed("again")) or self.has_error("at", "which-time")

    def clean_on(self) -> date:
        on: date | None = self.cleaned_data["on"]
        if on is None:
            raise ValidationError("Type the day on which the work can start.", code="required")
        if abs(on.year - self.today.year) > MOST_YEARS_AHEAD:
            raise ValidationError(f"{on.year} is too far away. Check the year.", code="far")
        return on

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        on, at = cleaned.get("on"), cleaned.get("at") or time(9)
        if on is not None and "at" not in self.errors:
            try:
                cleaned["starts_at"] = instant(on, at, self.site_zone, cleaned.get("again", ""))
            except ValidationError as error:
                self.add_error("at", error)
        return cleaned

    def starts_at(self) -> datetime:
        at: datetime = self.cleaned_data["starts_at"]
        return at


class CavityForm(BlockForm):
    measured = forms.ChoiceField(
        label="How the cavity is measured", choices=Plan.Measured.choices, widget=forms.RadioSelect
    )
    poured = QuantityField(
        Quantity.VOLUME, label="What it took", required=False, places=1, hint=False,
        min_value=Decimal("0.1"), help_text="Water or dry sand poured in, and its amount measured.",
    )  # fmt: skip
    filling = forms.ChoiceField(
        label="How it is filled", choices=Plan.Filling.choices, widget=forms.RadioSelect
    )
    shell = size("Thickness of the lining", Decimal(500))
    end_grain = area(
        "End grain to seal", "Empty: the walls of the cavity. Such as 120 cm².", places=6
    )
    side_grain = area("Side grain to seal", "Empty: the walls of the cavity.", places=6)
    paint = area("Area to paint")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        needs = (
            ("poured", cleaned.get("measured") == Plan.Measured.POURED,
             "Type how much the cavity took, such as 250 ml."),
            ("shell", cleaned.get("filling") not in (None, Plan.Filling.SOLID),
             "Type how thick the lining is, or choose a solid filling."),
        )  # fmt: skip
        for name, needed, sentence in needs:
            if needed and cleaned.get(name) is None and name not in self.errors:
                self.add_error(name, ValidationError(sentence, code="required"))
        return cleaned

    def areas_open(self) -> bool:
        return self.needs_attention("end_grain", "side_grain")

    def figures(self) -> dict[str, Any]:
        """As the columns of a plan hold them."""
        cleaned = self.cleaned_data
        return {
            "measured": cleaned["measured"],
            "poured_ml": cleaned["poured"],
            "filling": cleaned["filling"],
            "shell_mm": cleaned["shell"],
            "end_grain_mm2": _mm2(cleaned["end_grain"]),
            "side_grain_mm2": _mm2(cleaned["side_grain"]),
            "paint_m2": cleaned["paint"],
        }


def _mm2(m2: Decimal | None) -> Decimal | None:
    return None if m2 is None else (m2 * 1_000_000).quantize(Decimal("0.1"))


class RowForm(BlockForm):
    """One numbered row of a list: a shape, a place along the member, a stage."""

    what = ""

    def __init__(self, *args: Any, number: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.number = number

    def place_in_words(self) -> str:
        return f"{self.what} {self.number}, "


class ShapeForm(RowForm):
    what = "Shape"
    silent = ("shape", "off")

    shape = forms.ChoiceField(label="Shape", choices=PlanShape.Shape.choices)
    length = size("Length")
    width = size("Width or diameter")
    depth = size("Depth")
    off = forms.BooleanField(label="Take this off the others", required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        names = ["length", "width", *(["depth"] if cleaned.get("shape") in SIZES else [])]
        for name in names:
            if cleaned.get(name) is None and name not in self.errors:
                message = f"Type the {name}, such as 38 mm, or leave this shape out."
                self.add_error(name, ValidationError(message, code="required"))
        return cleaned

    def row(self, plan: Plan) -> PlanShape:
        cleaned = self.cleaned_data
        return PlanShape(
            plan=plan, position=self.number, shape=cleaned["shape"], taken_off=cleaned["off"],
            length_mm=cleaned["length"], width_mm=cleaned["width"], depth_mm=cleaned["depth"],
        )  # fmt: skip


class StationForm(RowForm):
    what = "Place"

    at = size("Along the member", min_value=Decimal(0))
    width = size("Width there", min_value=Decimal(0))
    depth = size("Depth there", min_value=Decimal(0))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for name in ("at", "width", "depth"):
            if cleaned.get(name) is None and name not in self.errors:
                message = "Type this figure too, such as 38 mm; 0 where the cavity ends."
                self.add_error(name, ValidationError(message, code="required"))
        return cleaned

    def station(self) -> list[float]:
        return [float(self.cleaned_data[name]) for name in ("at", "width", "depth")]


class NotesForm(BlockForm):
    notes = note("Notes for the crew", rows=3)
