"""Amounts of a batch as people say them: `100 g + 33 g`, `12 fl oz`, `a quarter of a kit`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from config.quantities import (
    Quantity,
    QuantityError,
    UnitSystem,
    WrongUnitError,
    parse,
    plain,
    read_terms,
    show,
)

EXAMPLE = "100 g + 33 g, 12 US fl oz or 1/2 kit"
MOST_KITS = 1000
KINDS = {"g": Quantity.MASS, "ml": Quantity.VOLUME}
COUNTS = {
    "a": 1, "an": 1, "one": 1, "the": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6,
    "seven": 7, "eight": 8, "nine": 9, "ten": 10,
}  # fmt: skip
PARTS = {
    "half": 2, "halves": 2, "third": 3, "quarter": 4, "fourth": 4, "fifth": 5, "sixth": 6,
    "eighth": 8, "tenth": 10, "sixteenth": 16,
}  # fmt: skip
WHOLE = re.compile(r"(all( of)? )?((a|one|the|the whole|a whole|whole) )?kit|all")


@dataclass(frozen=True)
class Measured:
    """So much by weight (g) or by volume (ml)."""

    value: Decimal
    unit: Literal["g", "ml"]


@dataclass(frozen=True)
class Amount:
    """Either one or two measured parts, A first, or a number of kits."""

    parts: tuple[Measured, ...] = ()
    kits: Fraction | None = None

    @property
    def kit_fraction(self) -> Decimal | None:
        """The number of kits to nine decimals; `kits` is exact."""
        if self.kits is None:
            return None
        return (Decimal(self.kits.numerator) / self.kits.denominator).quantize(Decimal("1e-9"))


def parse_amount(text: str, system: UnitSystem | str) -> Amount:
    """Raises QuantityError with a sentence; bare numbers are grams."""
    written = plain(text, EXAMPLE)
    if re.search(r"\bkits?\b|^all$", written):
        return Amount(kits=_kits(written))
    terms = [term.strip() for term in re.split(r"\+|&|\band\b", written)]
    if len(terms) > 2:
        raise QuantityError(
            "too-many",
            "Type A + B, two amounts at most. What came from a further lot goes on its own line.",
        )
    if not all(terms):
        raise QuantityError("half-typed", "An amount is missing beside the +. Type 100 g + 33 g.")
    parts = tuple(_measured(term, system) for term in terms)
    if len(parts) == 2:
        _check_pair(terms, parts)
    return Amount(parts=parts)


def _measured(term: str, system: UnitSystem | str) -> Measured:
    unit: Literal["g", "ml"] = "g"
    try:
        value = parse(term, Quantity.MASS, system)
    except WrongUnitError as error:
        if error.belongs_to is not Quantity.VOLUME:
            raise
        unit, value = "ml", parse(term, Quantity.VOLUME, system)
    if value == 0:
        raise QuantityError("nothing", "An amount of 0 was not mixed. Type what was, or clear it.")
    return Measured(value, unit)


def _check_pair(terms: list[str], parts: tuple[Measured, ...]) -> None:
    if len({part.unit for part in parts}) == 1:
        bare = [bool(re.fullmatch(r"[\d., /]+", term)) for term in terms]
        named = next((term for term, is_bare in zip(terms, bare, strict=True) if not is_bare), "")
        if not any(bare) or not named or re.search(r"\d ?g(rams?)?\.?$", named):
            return
        raise QuantityError(
            "unit-missing", "Say the unit of both parts, such as 6 oz + 2 oz or 100 g + 1.2 oz."
        )
    raise QuantityError(
        "mixed-units",
        "One part is by weight and the other by volume. Weigh both or measure both, "
        "such as 100 g + 33 g or 200 ml + 100 ml.",
    )


def _kits(written: str) -> Fraction:
    """The number of kits in words or figures: `1 1/4 kits`, `three quarters of a kit`."""
    if "+" in written or "&" in written:
        raise QuantityError(
            "kit-and-measure",
            "Type either a share of a kit or two amounts, not both: 1/2 kit, or 100 g + 33 g.",
        )
    if written.startswith("-"):
        raise QuantityError(
            "negative", "A share of a kit cannot be below zero. Type it like 1/2 kit."
        )
    kits = Fraction(1) if WHOLE.fullmatch(written) else None
    if kits is None:
        bare = re.sub(r"\s*\b(of )?((a|an|one|the) )?(whole )?kits?$", "", written).strip()
        kits = _figure(bare) if re.match(r"[\d.,]", bare) else _spoken(bare)
    if not 0 < kits <= MOST_KITS:
        raise QuantityError(
            "absurd", f"Type more than 0 and at most {MOST_KITS} kits, such as 1/2 kit."
        )
    return kits


def _figure(bare: str) -> Fraction:
    terms = read_terms(bare, "1/2 kit")
    if len(terms) == 1 and terms[0].word in ("", "%", "percent", "per cent"):
        return terms[0].number / (100 if terms[0].word else 1)
    raise _not_a_share()


def _spoken(bare: str) -> Fraction:
    """`half a`, `a quarter`, `three quarters`, `two and a half`."""
    total = Fraction(0)
    for phrase in bare.split(" and "):
        words = re.sub(r"^(half|quarter|third)( an?)?$", r"a \1", phrase).replace("-", " ").split()
        if len(words) == 2 and words[0] in COUNTS and words[1].removesuffix("s") in PARTS:
            total += Fraction(COUNTS[words[0]], PARTS[words[1].removesuffix("s")])
        elif len(words) == 2 and words[0] in COUNTS and words[1] in PARTS:
            total += Fraction(COUNTS[words[0]], PARTS[words[1]])
        elif len(words) == 1 and words[0] in COUNTS:
            total += COUNTS[words[0]]
        else:
            raise _not_a_share()
    return total


def _not_a_share() -> QuantityError:
    return QuantityError(
        "not-a-share",
        "That share of a kit is not clear. Type it like 1/2 kit, 0.25 kit or 50 % kit.",
    )


def show_amount(amount: Amount, system: UnitSystem | str) -> str:
    """`100 g + 33 g`, `1/2 kit`, `1 1/4 kits`."""
    if amount.kits is None:
        return " + ".join(show(part.value, KINDS[part.unit], system) for part in amount.parts)
    whole, rest = divmod(amount.kits, 1)
    if rest.denominator > 64:
        figure = f"{amount.kit_fraction:f}".rstrip("0").rstrip(".")
    else:
        figure = " ".join(str(each) for each in (whole, rest) if each)
    return f"{figure} kit" if amount.kits <= 1 else f"{figure} kits"
