"""The kinds of quantity, the unit each is kept in, and the words that people use for units."""

from __future__ import annotations

import enum
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


class UnitSystem(enum.StrEnum):
    METRIC = "metric"
    US = "us"


class Quantity(enum.StrEnum):
    LENGTH = "length"
    AREA = "area"
    MASS = "mass"
    VOLUME = "volume"
    TEMPERATURE = "temperature"
    DENSITY = "density"
    DURATION = "duration"


@dataclass(frozen=True)
class Kind:
    """How one kind of quantity is kept, typed and called."""

    a_name: str
    stored: str
    # What a bare number means, in metric and in US units: (Pint's name, as written).
    usual: tuple[tuple[str, str], tuple[str, str]]
    examples: tuple[str, str]
    least: Decimal
    most: Decimal
    limits: str


GRAM, MILLILITRE = ("gram", "g"), ("milliliter", "ml")
G_PER_ML = ("gram/milliliter", "g/ml")
KINDS: Mapping[Quantity, Kind] = {
    Quantity.LENGTH: Kind(
        "a length", "millimeter", (("millimeter", "mm"), ("inch", "in")),
        ("38 mm", "1 1/2 in"), Decimal(0), Decimal(1_000_000), "0 and 1 km"),
    Quantity.AREA: Kind(
        "an area", "meter**2", (("meter**2", "m²"), ("foot**2", "ft²")),
        ("2.5 m²", "27 ft²"), Decimal(0), Decimal(1_000_000), "0 and 1,000,000 m²"),
    # Scales on site read grams in both systems, so a bare mass is grams in both.
    Quantity.MASS: Kind(
        "a weight", "gram", (GRAM, GRAM),
        ("100 g", "100 g or 6 oz"), Decimal(0), Decimal(10_000_000), "0 and 10 t"),
    Quantity.VOLUME: Kind(
        "a volume", "milliliter", (MILLILITRE, ("fluid_ounce", "fl oz")),
        ("250 ml", "12 fl oz"), Decimal(0), Decimal(10_000_000), "0 and 10,000 l"),
    Quantity.TEMPERATURE: Kind(
        "a temperature", "degC", (("degC", "°C"), ("degF", "°F")),
        ("20 °C", "68 °F"), Decimal(-60), Decimal(200), "−60 °C and 200 °C (−76 °F and 392 °F)"),
    Quantity.DENSITY: Kind(
        "a density", "gram/milliliter", (G_PER_ML, G_PER_ML),
        ("1.12 g/ml", "1.12 g/ml or 9.3 lb/gal"), Decimal(0), Decimal(25), "0 and 25 g/ml"),
}  # fmt: skip


def _units(**words: str) -> dict[str, str]:
    return {word: unit for unit, all_words in words.items() for word in all_words.split(", ")}


WORDS: Mapping[Quantity, Mapping[str, str]] = {
    Quantity.LENGTH: _units(
        millimeter="mm, millimetre, millimetres, millimeter, millimeters",
        centimeter="cm, centimetre, centimetres, centimeter, centimeters",
        meter="m, metre, metres, meter, meters",
        kilometer="km",
        micrometer="µm, μm, um, micron, microns, micrometre, micrometres",
        # Of paint film: a thousandth of an inch, never the angle.
        thou="mil, mils, thou",
        inch='in, inch, inches, ", \'\'',
        foot="ft, foot, feet, '",
        yard="yd, yds, yard, yards",
    ),
    Quantity.AREA: {
        f"{before}{word}{after}": f"{unit}**2"
        for unit, words in {
            "millimeter": ("mm",), "centimeter": ("cm",),
            "meter": ("m", "metre", "metres", "meter", "meters"),
            "inch": ("in", "inch", "inches"), "foot": ("ft", "foot", "feet"),
            "yard": ("yd", "yard", "yards"),
        }.items()
        for word in words
        for before, after in (("", "²"), ("sq ", ""), ("square ", ""))
    },
    Quantity.MASS: _units(
        gram="g, gram, grams, gramme, grammes",
        kilogram="kg, kgs, kilo, kilos, kilogram, kilograms",
        milligram="mg",
        metric_ton="t, tonne, tonnes",
        ounce="oz, ounce, ounces",
        pound="lb, lbs, pound, pounds, #",
    ),
    Quantity.VOLUME: _units(
        milliliter="ml, millilitre, millilitres, milliliter, milliliters, cc, cm³",
        centiliter="cl",
        liter="l, ltr, litre, litres, liter, liters",
        fluid_ounce="fl oz, floz, fluid ounce, fluid ounces",
        pint="pt, pint, pints",
        quart="qt, quart, quarts",
        gallon="gal, gallon, gallons",
    ),
    Quantity.TEMPERATURE: _units(
        degC="°c, c, deg c, degrees c, celsius, degrees celsius",
        degF="°f, f, deg f, degrees f, fahrenheit, degrees fahrenheit",
    ),
    Quantity.DENSITY: _units(
        **{
            "gram/milliliter": "g/ml, g/cm³, g/cc, kg/l",
            "kilogram/meter**3": "kg/m³, g/l",
            "pound/gallon": "lb/gal, lbs/gal, lb/us gal",
        }
    ),
}  # fmt: skip
US_OR_IMPERIAL = {"fluid_ounce": "fl oz", "pint": "pt", "quart": "qt", "gallon": "gal"}
LARGE = {
    Quantity.LENGTH: ("meter", "m"),
    Quantity.MASS: ("kilogram", "kg"),
    Quantity.VOLUME: ("liter", "l"),
}
MEASURE = re.compile(r"(us|u s|imp|imperial|uk) (.+)")
# What a bare number after a unit means: 2' 6, 1 lb 4.
NEXT_BELOW = {"foot": "inch", "pound": "ounce"}
