"""Numbers as people write them: `38`, `1 1/2`, `1½`, `1,5`, `1-1/2`, each with its word."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

LONGEST = 60
MOST_DIGITS = 15
SAME_SIGN = str.maketrans(
    {
        "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-",  # noqa: RUF001
        "″": '"', "“": '"', "”": '"', "‟": '"', "′": "'", "’": "'", "‘": "'",
        "º": "°", "˚": "°", "⁄": "/", "∕": "/", "٫": ".", "٬": ",",  # noqa: RUF001
    }
)  # fmt: skip
NUMBER = r"(?:\d+ \d+/\d+|\d+/\d+|\d{1,3}(?: \d{3})+(?![\d/])(?:[.,]\d+)?|\d[\d.,]*\d|\d|[.,]\d+)"
# A point or comma belongs to the word ("fl. oz.") unless a digit follows it ("2 ft .5 in").
WORD = r"[^\d+\-.,]*(?:[.,](?!\d)[^\d+\-.,]*)*"
TERM = re.compile(rf"\s*({NUMBER})\s*({WORD})")


class QuantityError(ValueError):
    """A figure that cannot be taken as typed; `str(error)` says what to do."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True)
class Term:
    """A number and the word after it, in small letters; the word is empty if there was none."""

    number: Fraction
    word: str


def plain(text: str, example: str) -> str:
    """The text with one kind of quotation mark, dash, space, digit and fraction."""
    if len(text) > 10 * LONGEST or len(text.strip()) > LONGEST:
        raise QuantityError("too-long", f"That is too long for one figure. Type it like {example}.")
    written = []
    for sign in text.translate(SAME_SIGN):
        if unicodedata.decomposition(sign).startswith("<fraction>"):
            written.append(" " + unicodedata.normalize("NFKC", sign).replace("⁄", "/"))  # noqa: RUF001
        elif sign.isdecimal():
            written.append(str(unicodedata.decimal(sign)))
        elif sign in "²³":
            written.append(sign)
        else:
            written.append(unicodedata.normalize("NFKC", sign))
    joined = "".join(written).lower()
    joined = re.sub(r"(\d)\s*-\s*(\d+/\d)", r"\1 \2", joined)
    joined = re.sub(r"'\s*-\s*(?=\d)", "' ", joined)
    joined = re.sub(r"\s*/\s*", "/", joined)
    joined = " ".join(joined.split())
    if not joined:
        raise QuantityError("empty", f"Type a figure, such as {example}.")
    return joined


def read_number(written: str) -> Fraction:
    """The number in a piece of `plain` text that the `NUMBER` pattern matched."""
    if sum(sign.isdigit() for sign in written) > MOST_DIGITS:
        raise QuantityError(
            "too-many-digits", f"That number has more than {MOST_DIGITS} digits. Round it first."
        )
    whole, _, fraction = written.rpartition(" ")
    if "/" in fraction:
        above, below = (int(part) for part in fraction.split("/"))
        if below == 0:
            raise QuantityError(
                "zero-below",
                f"{fraction} has no size: there cannot be 0 under the line. Type it like 1/2.",
            )
        return Fraction(int(whole or 0)) + Fraction(above, below)
    return Fraction(_point_decimal(written.replace(" ", "")))


def _point_decimal(digits: str) -> str:
    """`1,5` as `1.5`, `1,234.5` and `1.234,5` as `1234.5`; what can be read two ways is refused."""
    points, commas = digits.count("."), digits.count(",")
    if points and commas:
        mark = max(".,", key=digits.rfind)
        other = "," if mark == "." else "."
        whole, _, part = digits.rpartition(mark)
        if mark not in whole and re.fullmatch(rf"\d{{1,3}}(?:\{other}\d{{3}})+", whole):
            return f"{whole.replace(other, '')}.{part}"
    elif points + commas == 1:
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits):
            one, thousands = digits.replace(",", "."), digits.replace(",", "")
            raise QuantityError(
                "ambiguous",
                f"{digits} can be read as {thousands} or as {one}. Type the one that you mean.",
            )
        return digits.replace(",", ".")
    elif re.fullmatch(r"\d+|\d{1,3}(?:,\d{3})+|\d{1,3}(?:\.\d{3})+", digits):
        return digits.replace(",", "").replace(".", "")
    raise QuantityError(
        "not-a-number", f"{digits} is not a number that can be read. Type it like 1234.5."
    )


def read_terms(written: str, example: str) -> list[Term]:
    """The numbers and words of a piece of `plain` text: `2' 6"` gives two terms."""
    terms, at = [], 0
    while at < len(written):
        found = TERM.match(written, at)
        if found is None:
            start = "Begin with a number" if at == 0 else f"“{written[at : at + 12]}” is not clear"
            raise QuantityError("not-a-number", f"{start}. Type it like {example}.")
        terms.append(Term(read_number(found[1]), _tidy(found[2])))
        at = found.end()
    return terms


def _tidy(word: str) -> str:
    return " ".join(word.replace(".", " ").replace(",", " ").split())
