"""Quantities as people type and read them, in metric or US units.

Kept in one unit per kind: length in mm, area in m², mass in g, volume in ml, temperature in °C,
density in g/ml, as Decimal; durations as timedelta. Factors come from Pint, whose inch, pound
and US gallon are the exact ones of NIST SP 811. Pint is loaded at first need (0.3 s)."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

from config.durations import EXAMPLE as DURATION_EXAMPLE
from config.durations import parse_duration, show_duration
from config.units import (
    KINDS,
    LARGE,
    MEASURE,
    NEXT_BELOW,
    US_OR_IMPERIAL,
    WORDS,
    Quantity,
    UnitSystem,
)
from config.written_numbers import QuantityError, Term, plain, read_terms

if TYPE_CHECKING:
    import pint

__all__ = [
    "Quantity", "QuantityError", "UnitSystem", "WrongUnitError", "example_of", "parse",
    "parse_duration", "plain", "read_terms", "show", "show_duration", "show_exactly", "usual_unit",
]  # fmt: skip


class WrongUnitError(QuantityError):
    """A unit of another kind was typed; `belongs_to` is that kind."""

    def __init__(self, sentence: str, belongs_to: Quantity) -> None:
        super().__init__("wrong-unit", sentence)
        self.belongs_to = belongs_to


@cache
def _registry() -> pint.UnitRegistry[Decimal]:
    import pint

    return pint.UnitRegistry(non_int_type=Decimal, cache_folder=None)


@cache
def _factor(unit: str, stored: str) -> Fraction:
    if unit == stored:
        return Fraction(1)
    return Fraction(Decimal(_registry().Quantity(Decimal(1), unit).to(stored).magnitude))


def _to_kept(value: Fraction, unit: str, kind: Quantity) -> Fraction:
    if unit == "degF":
        return (value - 32) * 5 / 9
    return value * _factor(unit, KINDS[kind].stored)


def _from_kept(value: Fraction, unit: str, kind: Quantity) -> Fraction:
    if unit == "degF":
        return value * 9 / 5 + 32
    return value / _factor(unit, KINDS[kind].stored)


def _decimal(value: Fraction, places: int) -> Decimal:
    """Rounded half up, away from zero, to a number of decimal places."""
    scaled = value * 10**places
    whole = (abs(scaled.numerator) * 2 + scaled.denominator) // (2 * scaled.denominator)
    return Decimal(whole if scaled >= 0 else -whole).scaleb(-places)


def usual_unit(kind: Quantity, system: UnitSystem | str) -> str:
    """The unit of a bare number, as written: `mm`."""
    return KINDS[kind].usual[_column(system)][1]


def example_of(kind: Quantity, system: UnitSystem | str) -> str:
    if kind is Quantity.DURATION:
        return DURATION_EXAMPLE
    return KINDS[kind].examples[_column(system)]


def _column(system: UnitSystem | str) -> int:
    return 1 if system == UnitSystem.US else 0


def parse(text: str, kind: Quantity, system: UnitSystem | str) -> Decimal:
    """What was typed, in the unit kept (to 10 decimals); raises QuantityError with a sentence.

    A bare number is in mm, m², g, ml, °C or g/ml; in the US system in inches, ft², g, fl oz, °F
    or g/ml: a bare mass is grams in both, because scales on site read grams."""
    example = example_of(kind, system)
    written = plain(text, example)
    if written.startswith("+"):
        written = written[1:].lstrip()
    negative = written.startswith("-")
    if negative and kind is not Quantity.TEMPERATURE:
        raise QuantityError(
            "negative",
            f"{_sentence(KINDS[kind].a_name)} cannot be below zero. Type it like {example}.",
        )
    if kind is Quantity.AREA:
        written = re.sub(r"(?<=[a-z])\^?2(?!\d)", "²", written)
    if kind in (Quantity.VOLUME, Quantity.DENSITY):
        written = re.sub(r"(?<=[a-z])\^?3(?!\d)", "³", written)
    terms = read_terms(written.removeprefix("-").lstrip(), example)
    units = _units_of(terms, kind, system)
    total = Fraction(0)
    for term, unit in zip(terms, units, strict=True):
        total += _to_kept(-term.number if negative else term.number, unit, kind)
    return _within_limits(_decimal(total, 10), kind)


def _units_of(terms: list[Term], kind: Quantity, system: UnitSystem | str) -> list[str]:
    if len(terms) > 1 and kind in (Quantity.TEMPERATURE, Quantity.DENSITY):
        raise QuantityError(
            "too-many", f"Type one figure here, such as {example_of(kind, system)}."
        )
    units: list[str] = []
    for term in terms:
        if term.word:
            units.append(_unit(term.word, kind, system))
        elif len(terms) == 1:
            units.append(KINDS[kind].usual[_column(system)][0])
        elif units and units[-1] in NEXT_BELOW:
            units.append(NEXT_BELOW[units[-1]])
        else:
            raise QuantityError(
                "unit-missing",
                f"Say the unit of each figure, or type one alone, such as "
                f"{example_of(kind, system)}.",
            )
    return units


def _unit(word: str, kind: Quantity, system: UnitSystem | str) -> str:
    """Pint's name of a typed unit."""
    measure, bare = "", word
    if prefixed := MEASURE.fullmatch(word):
        measure, bare = ("us" if prefixed[1].startswith("u s") else prefixed[1]), prefixed[2]
    unit = WORDS[kind].get(word) or WORDS[kind].get(bare)
    if unit is None:
        raise _not_a_unit(word, bare, kind, system)
    if unit not in US_OR_IMPERIAL:
        return unit
    if not measure and system != UnitSystem.US:
        short = US_OR_IMPERIAL[unit]
        raise QuantityError(
            "which-measure",
            f"{short} differs between the US and Britain. "
            f"Type “US {short}” or “imp {short}”, or use ml.",
        )
    return f"imperial_{unit}" if measure in ("imp", "imperial", "uk") else unit


def _not_a_unit(word: str, bare: str, kind: Quantity, system: UnitSystem | str) -> QuantityError:
    example = example_of(kind, system)
    a_name = KINDS[kind].a_name
    for other, words in WORDS.items():
        if other is not kind and (word in words or bare in words):
            return WrongUnitError(
                f"{word} is {KINDS[other].a_name}, not {a_name}. Type it like {example}.", other
            )
    return QuantityError(
        "unknown-unit",
        f"“{word[:20]}” is not a unit of {a_name[2:].strip()} here. Type it like {example}.",
    )


def _within_limits(value: Decimal, kind: Quantity) -> Decimal:
    facts = KINDS[kind]
    if not facts.least <= value <= facts.most:
        raise QuantityError(
            "absurd",
            f"{_sentence(facts.a_name)} here lies between {facts.limits}. "
            "Check the figure and its unit.",
        )
    return value


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:]


def show(
    value: Decimal, kind: Quantity, system: UnitSystem | str, digits: int | None = None
) -> str:
    """The value kept, with its unit, to four figures or to `digits` decimals.

    US lengths are written in sixteenths where these are true to 0.15 mm or to half a per mille,
    otherwise in decimal inches, so that a thin film never reads as nothing."""
    exact = Fraction(value)
    if kind is Quantity.LENGTH and system == UnitSystem.US and digits is None:
        sixteenths = round(exact / _factor("inch", "millimeter") * 16)
        off = abs(sixteenths * _factor("inch", "millimeter") / 16 - exact)
        if off <= max(Fraction("0.15"), exact / 2000) and (sixteenths or not exact):
            return _feet_and_inches(sixteenths)
    unit, written = _shown_unit(exact, kind, system)
    figure = _figure(_from_kept(exact, unit, kind), digits)
    return f"{figure} {written}"


def _shown_unit(exact: Fraction, kind: Quantity, system: UnitSystem | str) -> tuple[str, str]:
    us = system == UnitSystem.US
    size = abs(exact)
    if kind is Quantity.MASS and us:
        return ("ounce", "oz") if size < 16 * _factor("ounce", "gram") else ("pound", "lb")
    if kind is Quantity.VOLUME and us and size >= _factor("gallon", "milliliter"):
        return "gallon", "gal"
    if not us and size >= 10_000 and kind in LARGE:
        return LARGE[kind]
    return KINDS[kind].usual[_column(system)]


def _figure(value: Fraction, digits: int | None) -> str:
    if digits is None:
        rough = Decimal(value.numerator) / Decimal(value.denominator)
        digits = max(1, 3 - rough.adjusted()) if rough else 0
    figure = f"{_decimal(value, digits):f}"
    figure = figure.rstrip("0").rstrip(".") if "." in figure else figure
    return "0" if figure == "-0" else figure.replace("-", "−")


def _feet_and_inches(sixteenths: int) -> str:
    feet, rest = divmod(sixteenths, 16 * 12) if sixteenths >= 16 * 24 else (0, sixteenths)
    whole, over = divmod(rest, 16)
    part = Fraction(over, 16)
    inches = " ".join(str(each) for each in (whole, part) if each)
    if feet:
        return f"{feet} ft {inches} in" if inches else f"{feet} ft"
    return f"{inches or 0} in"


def show_exactly(value: Decimal, kind: Quantity, system: UnitSystem | str, places: int) -> str:
    """As `show`, with as many figures as give the same value back to `places` decimals, so that
    a form that is opened and saved untouched changes nothing."""
    kept = _decimal(Fraction(value), places)
    first = (None,) if kind is Quantity.LENGTH else ()
    for digits in (*first, *range(places + 8)):
        shown = show(value, kind, system, digits)
        try:
            if _decimal(Fraction(parse(shown, kind, system)), places) == kept:
                return shown
        except QuantityError:
            break
    return show(value, kind, system)
