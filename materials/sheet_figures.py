"""The figures of a data sheet: their names, their order, and how they are shown."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from config.quantities import Quantity, UnitSystem, show, show_duration
from materials.mixing import plain
from materials.models import SheetRevision

NOT_RECORDED, NOT_APPLICABLE = "not recorded", "not applicable"


@dataclass(frozen=True)
class Figure:
    """`kind` says how it is typed and shown: a quantity, or a plain number with a unit."""

    name: str
    label: str
    kind: Quantity | None = None
    unit: str = ""
    two_parts_only: bool = False


@dataclass(frozen=True)
class Group:
    title: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class ShownFigure:
    label: str
    words: str
    known: bool
    url: bool = False


@dataclass(frozen=True)
class ShownGroup:
    title: str
    figures: tuple[ShownFigure, ...]


MASS, LENGTH, TIME = Quantity.MASS, Quantity.LENGTH, Quantity.DURATION
HEAT, DENSITY = Quantity.TEMPERATURE, Quantity.DENSITY
GROUPS = (
    Group(
        "Mixing",
        (
            Figure("weight_a", "Parts of A by weight", two_parts_only=True),
            Figure("weight_b", "Parts of B by weight", two_parts_only=True),
            Figure("volume_a", "Parts of A by volume", two_parts_only=True),
            Figure("volume_b", "Parts of B by volume", two_parts_only=True),
            Figure("density_a_g_ml", "Density of A, or of a one-part product", DENSITY),
            Figure("density_b_g_ml", "Density of B", DENSITY, two_parts_only=True),
            Figure("ratio_tolerance_pct", "Ratio may be off by", unit="%", two_parts_only=True),
            Figure("batch_mass_max_g", "Largest batch", MASS, two_parts_only=True),
        ),
    ),
    Group(
        "Time to use it",
        (
            Figure("pot_life", "Pot life", TIME, two_parts_only=True),
            Figure("pot_life_mass_g", "Mass of that pot life", MASS, two_parts_only=True),
            Figure("pot_life_at_c", "Temperature of that pot life", HEAT, two_parts_only=True),
            Figure("working_time_thick", "Working time in a thick piece", TIME),
            Figure("working_time_thin", "Working time in a thin piece", TIME),
            Figure("working_time_at_c", "Temperature of that working time", HEAT),
        ),
    ),
    Group(
        "Cure and next coat",
        (
            Figure("cure_time", "Full cure", TIME),
            Figure("cure_at_c", "Temperature of that cure", HEAT),
            Figure("recoat_from", "Next coat from", TIME),
            Figure("recoat_to", "Next coat until", TIME),
        ),
    ),
    Group(
        "On the wood",
        (
            Figure("layer_min_mm", "Least layer", LENGTH),
            Figure("layer_max_mm", "Greatest layer at once", LENGTH),
            Figure("apply_min_c", "Lowest temperature to use it at", HEAT),
            Figure("apply_max_c", "Highest temperature to use it at", HEAT),
            Figure("wood_moisture_max_pct", "Wettest wood", unit="%"),
            Figure("coverage_m2_per_l", "One litre covers", unit="m²"),
            Figure("heat_deflection_c", "Heat deflection temperature", HEAT),
            Figure("heat_deflection_method", "By which method"),
        ),
    ),
    Group(
        "Keeping and safety",
        (
            Figure("shelf_life_unopened_months", "Shelf life unopened", unit="months"),
            Figure("shelf_life_opened_months", "Shelf life once opened", unit="months"),
            Figure("hazards", "Hazards"),
            Figure("safety_sheet_url", "Safety data sheet"),
            Figure("source_note", "Where these figures were read"),
        ),
    ),
)
FIGURES = {figure.name: figure for group in GROUPS for figure in group.figures}
TWO_PARTS_ONLY = tuple(name for name, figure in FIGURES.items() if figure.two_parts_only)


def shown_groups(sheet: SheetRevision, system: UnitSystem | str) -> tuple[ShownGroup, ...]:
    """Every figure of a sheet in the reader's units, also those that it is silent about."""
    return tuple(
        ShownGroup(group.title, tuple(_shown(figure, sheet, system) for figure in group.figures))
        for group in GROUPS
    )


def _shown(figure: Figure, sheet: SheetRevision, system: UnitSystem | str) -> ShownFigure:
    if figure.name in sheet.not_applicable:
        return ShownFigure(figure.label, NOT_APPLICABLE, False)
    value = getattr(sheet, figure.name)
    if value is None or value == "":
        return ShownFigure(figure.label, NOT_RECORDED, False)
    return ShownFigure(
        figure.label, in_words(figure, value, system), True, figure.name.endswith("_url")
    )


def in_words(
    figure: Figure, value: Decimal | timedelta | int | str, system: UnitSystem | str
) -> str:
    if isinstance(value, timedelta):
        return show_duration(value)
    if isinstance(value, str):
        return value
    if figure.kind is not None:
        return show(Decimal(value), figure.kind, system)
    number = plain(Decimal(value))
    return f"{number} {figure.unit}".strip()


def in_one_line(sheet: SheetRevision) -> str:
    """What a list says of a sheet: `100 : 33 by weight, pot life 60 min, full cure 24 h`."""
    ratio = sheet.weight_ratio() or sheet.volume_ratio()
    said = [
        str(ratio) if ratio else "",
        f"pot life {show_duration(sheet.pot_life)}" if sheet.pot_life else "",
        f"full cure {show_duration(sheet.cure_time)}" if sheet.cure_time else "",
    ]
    return ", ".join(words for words in said if words) or NOT_RECORDED
