"""The figures of a property's climate page, each of which opens."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from config.figures import Figure, figure
from config.quantities import Quantity, UnitSystem, show
from properties.decay_hazard import DECAY_HAZARD, MonthNormals
from properties.models import MonthlyNormal
from properties.normals import hazard_of
from properties.wood_water import EMC, beyond_table, emc_pct


@dataclass(frozen=True)
class MonthRow:
    """One month, each figure None where it is not known."""

    name: str
    mean_c: Decimal | None
    rain_days: Decimal | None
    humidity_pct: float | None
    wood: Figure | None

    @property
    def days_in_words(self) -> str:
        return "not recorded" if self.rain_days is None else f"{self.rain_days.normalize():f}"


def month_rows(
    normals: Sequence[MonthlyNormal], file: MonthNormals | None, system: UnitSystem | str
) -> list[MonthRow]:
    kept = {each.month: each for each in normals}
    rows = []
    for month in range(1, 13):
        normal = kept.get(month)
        air = file.mean_c[month - 1] if file else None
        humidity = file.humidity_pct[month - 1] if file else None
        rows.append(
            MonthRow(
                name=month_name[month],
                mean_c=normal.mean_c if normal else None,
                rain_days=normal.rain_days if normal else None,
                humidity_pct=humidity,
                wood=_wood(air, humidity, system) if air is not None and humidity else None,
            )
        )
    return rows


def _wood(air_c: float, humidity_pct: float, system: UnitSystem | str) -> Figure:
    air = Decimal(repr(air_c)).quantize(Decimal("0.1"))
    try:
        value = f"{emc_pct(air_c, humidity_pct):.1f} %"
        value += ", beyond the published table" if beyond_table(humidity_pct) else ""
    except ValueError as why:
        value = f"No figure: {why}"
    return figure(
        "How wet the air keeps wood out of the rain",
        value,
        EMC,
        ("Mean air of the weather file", show(air, Quantity.TEMPERATURE, system)),
        ("Mean relative humidity of the weather file", f"{humidity_pct:.0f} %"),
    )


def hazard_figure(normals: Sequence[MonthlyNormal], system: UnitSystem | str) -> Figure | None:
    """The index with its class in words; None unless all twelve months are recorded."""
    hazard = hazard_of(normals)
    if hazard is None:
        return None
    months = [
        (
            month_name[each.month],
            f"{show(each.mean_c, Quantity.TEMPERATURE, system)}, {_days(each.rain_days)}",
        )
        for each in normals
    ]
    return figure(
        "Decay hazard of the climate",
        f"{hazard.index:.1f}, {hazard.level}",
        DECAY_HAZARD,
        *months,
        ("Form of the index", hazard.form),
        ("Source of the months", normals[0].source or "not recorded"),
    )


def _days(rain_days: Decimal) -> str:
    return f"{rain_days.normalize():f} days with rain"


def missing_months(normals: Sequence[MonthlyNormal]) -> list[str]:
    kept = {each.month for each in normals}
    return [month_name[month] for month in range(1, 13) if month not in kept]
