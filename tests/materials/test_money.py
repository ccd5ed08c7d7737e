"""Money: digits, shares, currencies, and what is typed."""

import csv
from contextlib import suppress
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.money import (
    MINOR_DIGITS,
    CurrencyError,
    MoneyError,
    convert,
    from_minor,
    minor_digits,
    read_money,
    share_of_price,
    show_bare,
    show_money,
    split_minor,
    to_minor,
)

# ISO 4217; each row names its source and status.
REFERENCE = Path(__file__).parent.parent / "reference" / "currencies.csv"
amounts = st.integers(-(10**12), 10**12)
weights = st.lists(st.decimals(0, 1000, places=2), min_size=1, max_size=40).filter(any)


def published_digits() -> list[tuple[str, int]]:
    with REFERENCE.open(newline="") as rows:
        return [
            (code, int(row["digits"]))
            for row in csv.DictReader(rows)
            for code in row["currencies"].split()
        ]


@pytest.mark.parametrize(("currency", "digits"), published_digits())
def test_a_currency_has_its_published_digits(currency: str, digits: int) -> None:
    assert minor_digits(currency) == digits


@pytest.mark.parametrize("currency", ["XXX", "gbp", "", "POUNDS"])
def test_an_unknown_currency_is_refused(currency: str) -> None:
    with pytest.raises(CurrencyError, match="such as GBP, EUR or USD"):
        minor_digits(currency)


@given(amounts, st.sampled_from(sorted(MINOR_DIGITS)))
def test_minor_units_come_back(minor: int, currency: str) -> None:
    assert to_minor(from_minor(minor, currency), currency) == minor


@pytest.mark.parametrize(
    ("amount", "currency"), [("1.005", "GBP"), ("1.5", "JPY"), ("0.0001", "BHD")]
)
def test_money_is_not_rounded_on_the_way_in(amount: str, currency: str) -> None:
    with pytest.raises(MoneyError) as caught:
        to_minor(Decimal(amount), currency)
    assert caught.value.code == "too-many-digits"


@pytest.mark.parametrize(
    ("minor", "currency", "shown"),
    [
        (123450, "GBP", "GBP 1,234.50"), (-30000, "GBP", "GBP −300.00"), (0, "EUR", "EUR 0.00"),
        (1234, "JPY", "JPY 1,234"), (1234567, "BHD", "BHD 1,234.567"), (5, "USD", "USD 0.05"),
    ],
)  # fmt: skip
def test_money_is_shown_with_its_currency(minor: int, currency: str, shown: str) -> None:
    assert show_money(minor, currency) == shown
    assert show_bare(minor, currency) == shown.removeprefix(f"{currency} ")


@given(amounts, weights)
def test_shares_add_up_to_the_cent(total: int, shares: list[Decimal]) -> None:
    split = split_minor(total, shares)
    assert sum(split) == total
    exact = [total * share / sum(shares) for share in shares]
    assert all(abs(part - whole) <= 1 for part, whole in zip(split, exact, strict=True))


@given(amounts, weights)
def test_a_credit_mirrors_its_charge(total: int, shares: list[Decimal]) -> None:
    assert split_minor(-total, shares) == [-part for part in split_minor(total, shares)]


@given(st.integers(0, 10**9), weights)
def test_a_larger_weight_never_pays_less_and_nothing_pays_nothing(
    total: int, shares: list[Decimal]
) -> None:
    pairs = sorted(zip(shares, split_minor(total, shares), strict=True))
    for (light, small), (heavy, large) in pairwise(pairs):
        assert light == heavy or small <= large
    assert all(part == 0 for share, part in pairs if share == 0)


def test_the_remainder_falls_on_the_largest_share() -> None:
    assert split_minor(1000, [1, 1, 1]) == [334, 333, 333]
    assert split_minor(1001, [1, 3, 1]) == [200, 601, 200]


@pytest.mark.parametrize("shares", [[], [0, 0], [1, -1], [2, -1]])
def test_a_split_needs_shares(shares: list[int]) -> None:
    with pytest.raises(MoneyError, match="at least one share above zero"):
        split_minor(100, shares)


def test_a_kit_is_split_over_two_buildings_waste_and_stock() -> None:
    """Acceptance scenario 10."""
    eighths = [share_of_price(6000, Decimal(part), Decimal(8)) for part in (2, 4, 1, 1)]
    assert eighths == [1500, 3000, 750, 750]
    assert sum(eighths) == 6000
    assert split_minor(750, [Decimal("0.25"), Decimal("0.5")]) == [250, 500]


@pytest.mark.parametrize(("price", "rounded"), [(1, 1), (3, 2), (-1, -1), (-3, -2)])
def test_a_half_cent_is_rounded_away_from_zero(price: int, rounded: int) -> None:
    assert share_of_price(price, Decimal(1), Decimal(2)) == rounded


def test_a_share_of_nothing_is_refused() -> None:
    with pytest.raises(MoneyError, match="more than nothing"):
        share_of_price(100, Decimal(1), Decimal(0))


def test_another_currency_needs_a_rate_and_keeps_its_own_digits() -> None:
    assert convert(1000, "GBP", "GBP", None) == 1000
    assert convert(1000, "USD", "GBP", Decimal("0.8")) == 800
    assert convert(1000, "JPY", "GBP", Decimal("0.0052")) == 520
    assert convert(1000, "GBP", "BHD", Decimal("0.5")) == 5000
    for rate in (None, Decimal(0), Decimal("NaN")):
        with pytest.raises(CurrencyError, match="without a rate"):
            convert(1000, "USD", "GBP", rate)


@pytest.mark.parametrize(
    ("text", "currency", "amount"),
    [
        ("1,234.50", "GBP", "1234.50"), ("1234.5", "GBP", "1234.5"), ("1.234,50", "EUR", "1234.50"),
        ("GBP 20", "GBP", "20"), ("20 gbp", "GBP", "20"), ("£20", "GBP", "20"),
        ("20 €", "EUR", "20"),
        ("$1,000", "USD", "1000"), ("1,234", "GBP", "1234"), ("1,234", "JPY", "1234"),
        ("12,5", "EUR", "12.5"), ("1 234,50", "EUR", "1234.50"), ("1'234.50", "CHF", "1234.50"),
        ("1.234.567", "EUR", "1234567"), ("-300", "GBP", "-300"), ("−£300", "GBP", "-300"),
        ("1.234", "BHD", "1.234"), (".50", "GBP", "0.50"),
    ],
)  # fmt: skip
def test_money_is_read_as_people_write_it(text: str, currency: str, amount: str) -> None:
    assert read_money(text, currency) == Decimal(amount)


@pytest.mark.parametrize(
    ("text", "currency", "code"),
    [
        ("", "GBP", "not-a-number"), ("free", "GBP", "not-a-number"),
        ("1.234", "GBP", "too-many-digits"),
        ("1.5", "JPY", "too-many-digits"), ("1,234", "BHD", "ambiguous"),
        ("€20", "GBP", "other-currency"),
        ("USD 20", "GBP", "other-currency"), ("QQQ 20", "GBP", "unknown-currency"),
        ("1e5", "GBP", "not-a-number"), ("nan", "GBP", "not-a-number"), ("9" * 30, "GBP", "absurd"),
        ("9" * 9000, "GBP", "too-long"), ("1,23,4", "GBP", "not-a-number"),
        ("--5", "GBP", "not-a-number"),
    ],
)  # fmt: skip
def test_unclear_money_is_refused_with_a_sentence(text: str, currency: str, code: str) -> None:
    with pytest.raises(MoneyError) as caught:
        read_money(text, currency)
    assert caught.value.code == code
    assert str(caught.value).endswith(".")


@given(st.integers(0, 10**12), st.sampled_from(["GBP", "JPY", "BHD", "EUR"]))
def test_money_shown_can_be_typed_again(minor: int, currency: str) -> None:
    shown = show_money(minor, currency)
    assert to_minor(read_money(shown, currency), currency) == minor


@given(st.text(max_size=50), st.sampled_from(["GBP", "JPY", "BHD"]))
def test_any_text_is_money_or_refused(text: str, currency: str) -> None:
    with suppress(MoneyError):
        assert read_money(text, currency).is_finite()
