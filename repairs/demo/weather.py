"""The example's usual weather and its price index, both made up."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from properties.models import MonthlyNormal, Property
from properties.normals import keep_normals
from repairs.models import PriceIndex, PriceIndexYear

INVENTED = "Invented for the example; no station measured it"
# Mean air in °C and days with rain, from January on.
MONTHS = (
    ("4.1", 14), ("4.4", 12), ("6.5", 12), ("8.9", 11), ("12.1", 11), ("15.2", 10),
    ("17.3", 10), ("17.0", 11), ("14.3", 11), ("10.8", 13), ("6.9", 14), ("4.5", 14),
)  # fmt: skip
# Prices of each year against those of eight years ago.
INDEX = ("100.0", "102.2", "104.1", "105.0", "108.6", "116.9", "123.8", "127.6", "131.3")


def enter_normals(of: Property) -> None:
    months = enumerate(MONTHS, start=1)
    keep_normals(
        of,
        [
            MonthlyNormal(
                month=month, mean_c=Decimal(mean), rain_days=Decimal(rain), source=INVENTED
            )
            for month, (mean, rain) in months
        ],
    )


def enter_price_index(today: date) -> None:
    index = PriceIndex.objects.create(
        currency="GBP",
        name="Consumer prices (invented)",
        source="Invented for the example; nobody publishes it",
    )
    first = today.year - len(INDEX) + 1
    for year, value in enumerate(INDEX, start=first):
        PriceIndexYear.objects.create(index=index, year=year, value=Decimal(value))
