"""The form that attaches a year of weather to a property."""

from __future__ import annotations

import hashlib
from decimal import Decimal
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from properties.models import Property, WeatherFile
from properties.weather_file import LARGEST_BYTES, WeatherFileError, WeatherYear, pack, read_weather


class WeatherForm(forms.Form):
    """A file judged whole before anything is written."""

    file = forms.FileField(
        label="The weather file",
        help_text="An EPW or a TMY3 file, not zipped, up to 6 MB.",
        error_messages={"empty": "The file is empty.", "required": "Choose a file."},
    )
    source_note = forms.CharField(
        label="Who publishes it, and under which terms",
        max_length=300,
        required=False,
        help_text="Such as the national weather service, free to use with its name.",
    )

    def clean_file(self) -> WeatherYear:
        sent: UploadedFile = self.cleaned_data["file"]
        data = sent.read(LARGEST_BYTES + 1)
        self.checksum = hashlib.sha256(data).hexdigest()
        self.file_name = str(sent.name or "weather file")[-200:]
        try:
            return read_weather(data, self.file_name)
        except WeatherFileError as why:
            raise forms.ValidationError(str(why), code="weather") from why

    def save(self, of: Property, by: Any) -> WeatherFile:
        """In place of the file that was attached, if there was one."""
        year: WeatherYear = self.cleaned_data["file"]
        file, _ = WeatherFile.objects.update_or_create(
            property=of,
            defaults={
                "kind": year.kind,
                "file_name": self.file_name,
                "checksum": self.checksum,
                "place": year.place,
                "latitude": _rounded(year.latitude, "0.00001"),
                "longitude": _rounded(year.longitude, "0.00001"),
                "altitude_m": _rounded(year.altitude_m, "0.1"),
                "utc_offset_h": _rounded(year.utc_offset_h, "0.01"),
                "rain_is_known": year.rain_is_known,
                "hours": pack(year),
                "source_note": self.cleaned_data["source_note"],
                "attached_by": by,
            },
        )
        return file


def _rounded(value: float, step: str) -> Decimal:
    return Decimal(repr(value)).quantize(Decimal(step))
