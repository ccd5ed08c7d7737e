"""The weather that a plan reckons with, and how the crew mixes."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from config.quantities import Quantity, UnitSystem
from config.quantity_fields import QuantityField
from repairs.forecast import read_forecast, to_rows

from .log_base import BlockForm, percent

LONGEST_FORECAST = 40_000
MOST_WRONG = 6
EXAMPLE = {
    UnitSystem.METRIC: "2026-05-04 09:00; 14; 60; 0\n10:00; 15; 58; 0\n11:00; 17; 52; 0.2",
    UnitSystem.US: "2026-05-04 09:00; 57; 60; 0\n10:00; 59; 58; 0\n11:00; 63; 52; 0.01",
}


def warmth(label: str) -> QuantityField:
    return QuantityField(Quantity.TEMPERATURE, label=label, required=False, hint=False)


class WeatherForm(BlockForm):
    air_day = warmth("Warmest air of the day")
    air_night = warmth("Coldest air of the night")
    humidity = percent("Humidity at the warmest hour")
    wood_moisture = percent("Wood moisture")
    forecast = forms.CharField(
        label="Forecast, one hour a line", required=False, max_length=LONGEST_FORECAST,
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false", "autocomplete": "off"}),
    )  # fmt: skip

    def __init__(self, *args: Any, zone: ZoneInfo, first_day: date | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site_zone, self.first_day = zone, first_day
        us = self.system == UnitSystem.US
        field = self.fields["forecast"]
        field.widget.attrs["placeholder"] = EXAMPLE[UnitSystem.US if us else UnitSystem.METRIC]
        field.help_text = (
            f"Time; air in {'°F' if us else '°C'}; humidity in %; rain in "
            f"{'inches' if us else 'mm'}. Typed or pasted; it comes before the two figures above."
        )

    def is_open(self) -> bool:
        return self.needs_attention("forecast")

    def clean_forecast(self) -> list[list[str | float | None]]:
        text, first = self.cleaned_data["forecast"], self.first_day
        if not text.strip() or first is None:
            return []
        fahrenheit = self.system == UnitSystem.US
        read = read_forecast(text, self.site_zone, first, fahrenheit=fahrenheit)
        if read.wrong:
            more = len(read.wrong) - MOST_WRONG
            told = [*read.wrong[:MOST_WRONG], *([f"And {more} rows more."] if more > 0 else [])]
            raise ValidationError([ValidationError(one, code="row") for one in told])
        return to_rows(read.hours)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        day, night = cleaned.get("air_day"), cleaned.get("air_night")
        if day is not None and night is not None and night > day:
            message = "The night is warmer than the day. Put the warmer figure first."
            self.add_error("air_night", ValidationError(message, code="order"))
        return cleaned

    def figures(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        return {
            "air_day_c": cleaned["air_day"],
            "air_night_c": cleaned["air_night"],
            "humidity_pct": cleaned["humidity"],
            "wood_moisture_pct": cleaned["wood_moisture"],
            "forecast": cleaned["forecast"],
        }


class MixingForm(BlockForm):
    scale_step = QuantityField(
        Quantity.MASS, label="Smallest step of the scale", required=False, hint=False,
        min_value=Decimal("0.001"), max_value=Decimal(1000),
    )  # fmt: skip
    pace = QuantityField(
        Quantity.MASS, label="Laid in a minute", required=False, hint=False, places=1,
        min_value=Decimal("0.1"), max_value=Decimal(100_000),
        help_text="Empty if not known.",
    )  # fmt: skip
    loss = percent("Left in cup and on brush", 90)

    def figures(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        return {
            "scale_step_g": cleaned["scale_step"],
            "pace_g_min": cleaned["pace"],
            "loss_pct": cleaned["loss"],
        }
