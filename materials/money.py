"""Money in the smallest unit of its currency: 1234 is GBP 12.34, JPY 1,234 or BHD 1.234."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

# ISO 4217, list one (active) by digits of the minor unit; where no minor unit is in use, 0.
NO_DIGITS = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
THREE_DIGITS = "BHD IQD JOD KWD LYD OMR TND"
FOUR_DIGITS = "CLF UYW"
TWO_DIGITS = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF
CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD
GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL
MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR
PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP
TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG
"""
# Withdrawn since 2010 (ISO 4217, list three): lines of those years keep their currency.
WITHDRAWN = "ANG BGN CUC EEK HRK LTL LVL MRO SLL STD VEF ZMK ZWL"
MINOR_DIGITS = {
    **dict.fromkeys(TWO_DIGITS.split(), 2),
    **dict.fromkeys(WITHDRAWN.split(), 2),
    **dict.fromkeys(NO_DIGITS.split(), 0),
    **dict.fromkeys(THREE_DIGITS.split(), 3),
    **dict.fromkeys(FOUR_DIGITS.split(), 4),
    "BYR": 0,
}
SYMBOLS = {
    "£": {"GBP", "GIP", "FKP", "SHP"},
    "€": {"EUR"},
    "¥": {"JPY", "CNY"},
    "$": {
        code for code in MINOR_DIGITS
        if code in {"ARS", "CLP", "COP", "MXN", "UYU", "CUP", "DOP"} or code.endswith("D")
    },
}  # fmt: skip
MOST = Decimal(10) ** 12
LONGEST = 40


class MoneyError(ValueError):
    """An amount of money that cannot be taken; `str(error)` says what to do."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


class CurrencyError(MoneyError):
    """An unknown currency, or two currencies where only one can stand."""


def minor_digits(currency: str) -> int:
    """How many digits of the currency stand after the point, by ISO 4217."""
    try:
        return MINOR_DIGITS[currency]
    except KeyError:
        raise CurrencyError(
            "unknown-currency",
            f"“{currency[:10]}” is not a currency code. Use the three letters of ISO 4217, "
            "such as GBP, EUR or USD.",
        ) from None


def to_minor(amount: Decimal, currency: str) -> int:
    """Refuses more digits than the currency has: money is never rounded on the way in."""
    digits = minor_digits(currency)
    if not amount.is_finite() or abs(amount) > MOST:
        raise MoneyError("absurd", "That is too much money to be right. Check the amount.")
    scaled = amount.scaleb(digits)
    if scaled != scaled.to_integral_value():
        raise MoneyError("too-many-digits", _too_many_digits(currency, digits))
    return int(scaled)


def minor_if_any(amount: Decimal | None, currency: str) -> int | None:
    """None where no amount was typed."""
    return None if amount is None else to_minor(amount, currency)


def _too_many_digits(currency: str, digits: int) -> str:
    if digits == 0:
        return f"{currency} has no digits after the point. Type a whole amount, such as 1234."
    number = {1: "one digit", 2: "two digits", 3: "three digits"}.get(digits, f"{digits} digits")
    return f"{currency} has {number} after the point. Type it like {Decimal(1234).scaleb(-digits)}."


def from_minor(minor: int, currency: str) -> Decimal:
    return Decimal(minor).scaleb(-minor_digits(currency))


def show_money(minor: int, currency: str) -> str:
    """`GBP 1,234.50`; a credit has a true minus before its figure."""
    sign = "−" if minor < 0 else ""
    return f"{currency} {sign}{abs(from_minor(minor, currency)):,f}"


def show_bare(minor: int, currency: str) -> str:
    """`1,234.50`, where the head of its column names the currency."""
    return f"{from_minor(minor, currency):,f}".replace("-", "−")


def round_minor(exact: Fraction) -> int:
    """The one rounding of money: to the nearest minor unit, a half away from zero."""
    whole = (2 * abs(exact.numerator) + exact.denominator) // (2 * exact.denominator)
    return whole if exact >= 0 else -whole


def share_of_price(price_minor: int, used: Decimal, whole: Decimal) -> int:
    """What a part of something bought cost, by its share of the whole."""
    if whole <= 0:
        raise MoneyError("nothing-to-share", "The whole must be more than nothing to be shared.")
    return round_minor(Fraction(price_minor) * Fraction(used) / Fraction(whole))


def split_minor(total_minor: int, weights: Sequence[Decimal | int | Fraction]) -> list[int]:
    """Shares in proportion to the weights that add up to the total to the minor unit.

    Each share is first cut down to a whole unit; what remains goes, a unit each, to the largest
    weights. A share of weight 0 gets nothing; a negative total is the mirror of the positive."""
    parts = [Fraction(weight) for weight in weights]
    if any(part < 0 for part in parts) or not sum(parts):
        raise MoneyError(
            "no-weights", "To split a cost, give at least one share above zero and none below."
        )
    whole = sum(parts)
    shares = [int(abs(total_minor) * part / whole) for part in parts]
    largest_first = sorted(range(len(parts)), key=lambda place: -parts[place])
    for place in largest_first[: abs(total_minor) - sum(shares)]:
        shares[place] += 1
    return [-share for share in shares] if total_minor < 0 else shares


def convert(minor: int, source: str, target: str, rate: Decimal | None) -> int:
    """An amount in another currency; `rate` is what one unit of `source` was worth in `target`."""
    if source == target:
        return minor
    if rate is None or not rate.is_finite() or rate <= 0:
        raise CurrencyError(
            "no-rate",
            f"{source} and {target} cannot be added without a rate. "
            f"Give what 1 {source} was worth in {target} on the day.",
        )
    scale = Fraction(10) ** (minor_digits(target) - minor_digits(source))
    return round_minor(minor * Fraction(rate) * scale)


def read_money(text: str, currency: str) -> Decimal:
    """`1,234.50`, `1234.5`, `1.234,50`, `GBP 20`, `£20` as an exact amount of the currency."""
    digits = minor_digits(currency)
    example = f"{Decimal(123450).scaleb(-min(digits, 2)):,f}"
    if len(text) > LONGEST:
        raise MoneyError("too-long", f"That is too long for an amount. Type it like {example}.")
    written = " ".join(text.replace("−", "-").split())
    negative = written.startswith("-")
    bare = _without_currency(written.removeprefix("-").lstrip(), currency)
    if not negative and bare.startswith("-"):
        negative, bare = True, bare[1:].lstrip()
    if not re.fullmatch(r"\d[\d., '’]*|[.,]\d+", bare, re.ASCII):
        raise MoneyError("not-a-number", f"That is not an amount of money. Type it like {example}.")
    amount = Decimal(_point_decimal(bare, digits))
    to_minor(amount, currency)
    return -amount if negative else amount


def _without_currency(written: str, currency: str) -> str:
    mark_pattern = r"([A-Za-z]{3}|[£€¥$])?"
    named = re.fullmatch(rf"{mark_pattern}\s*([^A-Za-z£€¥$]+?)\s*{mark_pattern}", written)
    if named is None or (named[1] and named[3]):
        return written
    mark = (named[1] or named[3] or currency).upper()
    if currency != mark and currency not in SYMBOLS.get(mark, set()):
        known = mark in MINOR_DIGITS or mark in SYMBOLS
        raise CurrencyError(
            "other-currency" if known else "unknown-currency",
            f"This amount is in {currency}, not in {mark}. Type the figure in {currency}."
            if known else f"“{mark}” is not a currency. Type the figure alone, in {currency}.",
        )  # fmt: skip
    return named[2]


def _point_decimal(bare: str, digits: int) -> str:
    """With a point before the minor units and no sign between the thousands."""
    closed = re.sub(r"(?<=\d)[ '’](?=\d{3}(?!\d))", "", bare)
    mark = max(".,", key=closed.rfind)
    other = "," if mark == "." else "."
    whole, _, part = closed.rpartition(mark)
    if re.fullmatch(r"\d+", closed):
        return closed
    if re.fullmatch(rf"\d{{1,3}}(\{mark}\d{{3}}){{2,}}", closed):
        return closed.replace(mark, "")
    if re.fullmatch(rf"\d{{1,3}}(\{other}\d{{3}})+\{mark}\d+", closed):
        return f"{whole.replace(other, '')}.{part}"
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", closed):
        # Thousands, unless the currency itself has three digits after the point.
        if digits != 3:
            return whole + part
        raise MoneyError(
            "ambiguous",
            f"{bare} can be read as {whole}{part} or as {whole}.{part}. Type the one you mean.",
        )
    if re.fullmatch(rf"\d*\{mark}\d+", closed):
        return f"{whole or 0}.{part}"
    raise MoneyError("not-a-number", f"{bare} is not an amount that can be read. Type 1234.50.")
