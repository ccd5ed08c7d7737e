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
    """`kind` says how it is typed and shown: a quantity, or a plain number with a unit. One that
    belongs `of` another is typed by itself and read in the same line, `joined` to it."""

    name: str
    label: str
    kind: Quantity | None = None
    unit: str = ""
    two_parts_only: bool = False
    of: str = ""
    joined: str = ""
    heading: str = ""


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
            Figure(
                "weight_a",
                "Parts of A by weight",
                two_parts_only=True,
                heading="Mix ratio by weight",
            ),
            Figure(
                "weight_b",
                "Parts of B by weight",
                two_parts_only=True,
                of="weight_a",
                joined=" : {}",
            ),
            Figure(
                "volume_a",
                "Parts of A by volume",
                two_parts_only=True,
                heading="Mix ratio by volume",
            ),
            Figure(
                "volume_b",
                "Parts of B by volume",
                two_parts_only=True,
                of="volume_a",
                joined=" : {}",
            ),
            Figure("density_a_g_ml", "Density of A, or of a one-part product", DENSITY),
            Figure("density_b_g_ml", "Density of B", DENSITY, two_parts_only=True),
            Figure("density_mixed_g_ml", "Density once mixed", DENSITY, two_parts_only=True),
            Figure("ratio_tolerance_pct", "Ratio may be off by", unit="%", two_parts_only=True),
            Figure("batch_mass_max_g", "Largest batch", MASS, two_parts_only=True),
        ),
    ),
    Group(
        "Time to use it",
        (
            Figure("pot_life", "Pot life", TIME, two_parts_only=True),
            Figure(
                "pot_life_mass_g",
                "Mass of that pot life",
                MASS,
                two_parts_only=True,
                of="pot_life",
                joined=" in {}",
            ),
            Figure(
                "pot_life_at_c",
                "Temperature of that pot life",
                HEAT,
                two_parts_only=True,
                of="pot_life",
                joined=" at {}",
            ),
            Figure("pot_life_large", "Pot life of a larger mass", TIME, two_parts_only=True),
            Figure(
                "pot_life_large_mass_g",
                "That larger mass",
                MASS,
                two_parts_only=True,
                of="pot_life_large",
                joined=" in {}",
            ),
            Figure("working_time_thick", "Working time in a thick piece", TIME),
            Figure("working_time_thin", "Working time in a thin piece", TIME),
            Figure("working_time_at_c", "Temperature of that working time", HEAT),
        ),
    ),
    Group(
        "Cure and next coat",
        (
            Figure("cure_time", "Full cure", TIME),
            Figure("cure_at_c", "Temperature of that cure", HEAT, of="cure_time", joined=" at {}"),
            Figure(
                "activation_energy_kj_mol",
                "Activation energy of the cure",
                unit="kJ/mol",
                two_parts_only=True,
            ),
            Figure(
                "heat_of_reaction_j_g", "Heat set free in curing", unit="J/g", two_parts_only=True
            ),
            Figure("recoat_from", "Next coat from", TIME),
            Figure("recoat_to", "Next coat until, without washing and abrading", TIME),
        ),
    ),
    Group(
        "On the wood",
        (
            Figure("layer_min_mm", "Least layer", LENGTH),
            Figure("layer_max_mm", "Greatest layer at once", LENGTH),
            Figure("apply_min_c", "Lowest temperature to use it at", HEAT),
            Figure("apply_max_c", "Highest temperature to use it at", HEAT),
            Figure("wood_moisture_max_pct", "Wettest wood, of oven-dry mass", unit="%"),
            Figure("coverage_m2_per_l", "One litre covers", unit="m²"),
            Figure("coverage_end_grain_m2_per_l", "One litre covers of end grain", unit="m²"),
            Figure("heat_deflection_c", "Heat deflection temperature", HEAT),
            Figure(
                "heat_deflection_method", "By which method", of="heat_deflection_c", joined=", {}"
            ),
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
WITH_MORE = {figure.of for figure in FIGURES.values() if figure.of}


UNKNOWN_BESIDE = {Quantity.MASS: "a mass", Quantity.TEMPERATURE: "a temperature"}


def shown_groups(sheet: SheetRevision, system: UnitSystem | str) -> tuple[ShownGroup, ...]:
    """Every figure of a sheet in the reader's units, also those that it is silent about."""
    return tuple(
        ShownGroup(
            group.title,
            tuple(_shown(figure, sheet, system) for figure in group.figures if not figure.of),
        )
        for group in GROUPS
    )


def _shown(figure: Figure, sheet: SheetRevision, system: UnitSystem | str) -> ShownFigure:
    label = figure.heading or figure.label
    if figure.name in sheet.not_applicable:
        return ShownFigure(label, NOT_APPLICABLE, False)
    value = getattr(sheet, figure.name)
    beside = [each for each in FIGURES.values() if each.of == figure.name]
    if value is None or value == "":
        stray = [each for each in beside if getattr(sheet, each.name) not in (None, "")]
        words = "".join(_beside(each, sheet, system) for each in stray)
        return ShownFigure(label, NOT_RECORDED + words, bool(stray))
    words = in_words(figure, value, system)
    words += "".join(_beside(each, sheet, system) for each in beside)
    return ShownFigure(label, words, True, figure.name.endswith("_url"))


def _beside(figure: Figure, sheet: SheetRevision, system: UnitSystem | str) -> str:
    """What is read in the line of another figure: ` at 20 °C`."""
    value = getattr(sheet, figure.name)
    if figure.name in sheet.not_applicable:
        return ""
    if value is None or value == "":
        what = UNKNOWN_BESIDE.get(figure.kind) if figure.kind else "by a method"
        return figure.joined.format(f"{what} {NOT_RECORDED}")
    words = in_words(figure, value, system)
    return figure.joined.format(f"a mass of {words}" if figure.kind is MASS else words)


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
