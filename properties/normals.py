"""What the months of a property are like, as typed or as its weather file tells them."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.db import transaction

from properties.decay_hazard import DecayHazard, MonthNormals, decay_hazard, normals_from_hours
from properties.models import MonthlyNormal, Property, WeatherFile

if TYPE_CHECKING:
    from collections.abc import Mapping

TENTH = Decimal("0.1")


def normals_of(of: Property) -> list[MonthlyNormal]:
    """By month, in one query; fewer than twelve where not all are recorded."""
    return list(of.monthly_normals.order_by("month"))


def means_of(normals: Sequence[MonthlyNormal]) -> tuple[float, ...] | None:
    """The mean air of each month in °C; None unless all twelve are recorded."""
    return tuple(float(each.mean_c) for each in normals) if len(normals) == 12 else None


def hazard_of(normals: Sequence[MonthlyNormal]) -> DecayHazard | None:
    """The decay hazard of a place; None unless all twelve months are recorded."""
    means = means_of(normals)
    if means is None:
        return None
    return decay_hazard(means, [float(each.rain_days) for each in normals])


def file_of(of: Property) -> WeatherFile | None:
    return WeatherFile.objects.filter(property=of).first()


def months_of(file: WeatherFile) -> MonthNormals:
    """The twelve months of a weather file's year; ValueError where its air has gaps."""
    from properties.weather_file import unpack

    year = unpack(bytes(file.hours))
    rain = year.rain_mm if file.rain_is_known else None
    return normals_from_hours(year.air_c, rain, year.humidity_pct)


def from_file(file: WeatherFile) -> list[MonthlyNormal]:
    """The months of a file, not yet of any property; ValidationError with a sentence where its
    rain is not known well enough."""
    try:
        months = months_of(file)
        known = [float("nan") if days is None else days for days in months.rain_days]
        decay_hazard(months.mean_c, known)
    except ValueError as why:
        sentence = str(why)
        raise ValidationError(
            f"{sentence[:1].upper()}{sentence[1:]}. Type the months instead.", code="gaps"
        ) from why
    source = f"{file}, {file.file_name}: one typical year, not means over many"
    return [
        MonthlyNormal(
            month=month,
            mean_c=Decimal(repr(mean)).quantize(TENTH),
            rain_days=Decimal(repr(days)).quantize(TENTH),
            source=source[:300],
        )
        for month, (mean, days) in enumerate(zip(months.mean_c, known, strict=True), start=1)
    ]


def without_rain(months: Iterable[MonthlyNormal]) -> str:
    """The months with no day of rain, in words: true of a desert, else a gap told as 0."""
    dry = [month_name[each.month] for each in months if each.rain_days == 0]
    return " and ".join([", ".join(dry[:-1]), dry[-1]] if len(dry) > 1 else dry)


def keep_normals(of: Property, months: Iterable[MonthlyNormal]) -> None:
    """Write the months of a property over those it had, all of them or none."""
    with transaction.atomic():
        # Two who save at once come one after the other, and neither writes a month twice.
        Property.objects.select_for_update().get(pk=of.pk)
        kept: Mapping[int, MonthlyNormal] = {each.month: each for each in normals_of(of)}
        for new in months:
            row = kept.get(new.month, MonthlyNormal(property=of, month=new.month))
            row.mean_c, row.rain_days, row.source = new.mean_c, new.rain_days, new.source
            row.full_clean()
            row.save()
