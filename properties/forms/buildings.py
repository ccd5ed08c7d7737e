"""Forms for buildings and their elevations."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django import forms

from config.day_field import DayField
from config.quantities import Quantity
from config.quantity_fields import QuantityField
from properties.models import Building, Elevation

from .records import RecordForm, not_after, year_not_after


class BuildingForm(RecordForm):
    given = ("property",)

    demolished_on = DayField(
        required=False,
        label="Demolished on",
        help_text="Leave it empty while it stands. Its history is kept.",
    )

    class Meta:
        model = Building
        fields = [
            "name",
            "year_built",
            "year_known",
            "storeys",
            "latitude",
            "longitude",
            "altitude_m",
            "demolished_on",
            "notes",
        ]
        labels = {
            "year_known": "The year is known",
            "altitude_m": "Height above the sea, m",
        }
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def clean_year_built(self) -> int | None:
        return year_not_after(self.cleaned_data["year_built"], self.on.year + 1)

    def clean_demolished_on(self) -> date | None:
        return not_after(self.cleaned_data["demolished_on"], self.on, "That day")

    def clean(self) -> None:
        super().clean()
        typed = self.cleaned_data
        if "year_built" not in typed or "year_known" not in typed:
            return
        year, unknown = typed["year_built"], typed["year_known"] == Building.YearKnown.UNKNOWN
        if year is not None and unknown:
            self.add_error(
                "year_known",
                f"Give the year and how it is known: say whether {year} is exact, about, or the "
                "latest that it can be.",
            )
        elif year is None and not unknown:
            self.add_error(
                "year_built", "Give the year and how it is known, or set that to 'not known'."
            )


class ElevationForm(RecordForm):
    given = ("building",)

    area_m2 = QuantityField(
        Quantity.AREA,
        required=False,
        label="Area",
        min_value=Decimal("0.01"),
        places=2,
        max_value=Decimal(1_000_000),
    )

    class Meta:
        model = Elevation
        fields = ["name", "bearing_deg", "access", "area_m2", "notes"]
        labels = {"bearing_deg": "Bearing, degrees", "access": "How it is reached"}
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}
