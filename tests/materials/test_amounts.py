"""What a batch took, as people say it."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from config.quantities import QuantityError, UnitSystem
from materials.amounts import Amount, Measured, parse_amount, show_amount

METRIC, US = UnitSystem.METRIC, UnitSystem.US


def grams(*values: str) -> tuple[Measured, ...]:
    return tuple(Measured(Decimal(value), "g") for value in values)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("100 g + 33 g", grams("100", "33")), ("100+33", grams("100", "33")),
        ("100 + 33 g", grams("100", "33")), ("100 g and 33 g", grams("100", "33")),
        ("100 g + 1.2 oz", grams("100", "34.01942775")),
        ("6 oz + 73 g", grams("170.09713875", "73")),
        ("0.5 kg + 165 g", grams("500", "165")), ("100 g", grams("100")), ("¼ kg", grams("250")),
    ],
)  # fmt: skip
def test_two_parts_are_read_by_weight(text: str, parts: tuple[Measured, ...]) -> None:
    assert parse_amount(text, METRIC) == Amount(parts=parts)


def test_parts_are_read_by_volume() -> None:
    assert parse_amount("12 fl oz", US).parts == (Measured(Decimal("354.88235475"), "ml"),)
    a, b = parse_amount("200 ml + 10 cl", METRIC).parts
    assert (a, b) == (Measured(Decimal(200), "ml"), Measured(Decimal(100), "ml"))


@pytest.mark.parametrize(
    ("text", "kits"),
    [
        ("0.5 kit", "1/2"), ("1/2 kit", "1/2"), ("half a kit", "1/2"), ("half of the kit", "1/2"),
        ("a quarter of a kit", "1/4"), ("¼ kit", "1/4"), ("three quarters of a kit", "3/4"),
        ("three-quarters of a kit", "3/4"), ("a third of a kit", "1/3"), ("all of a kit", "1"),
        ("1 1/4 kits", "5/4"), ("whole kit", "1"), ("A kit", "1"), ("two kits", "2"),
        ("one and a half kits", "3/2"), ("an eighth of a kit", "1/8"), ("50 % of a kit", "1/2"),
    ],
)  # fmt: skip
def test_a_share_of_a_kit_is_read_exactly(text: str, kits: str) -> None:
    assert parse_amount(text, METRIC) == Amount(kits=Fraction(kits))


def test_a_third_of_a_kit_is_kept_exact_and_given_in_decimals() -> None:
    amount = parse_amount("a third of a kit", METRIC)
    assert amount.kits == Fraction(1, 3)
    assert amount.kit_fraction == Decimal("0.333333333")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty"), ("100 g + 33 ml", "mixed-units"), ("100 + 33 ml", "mixed-units"),
        ("6 oz + 2", "unit-missing"), ("+ 33 g", "half-typed"), ("100 g +", "half-typed"),
        ("1 + 2 + 3", "too-many"), ("0 g + 33 g", "nothing"), ("-100 g + 33 g", "negative"),
        ("1/2 kit + 20 g", "kit-and-measure"), ("some kit", "not-a-share"), ("0 kit", "absurd"),
        ("-1 kit", "negative"), ("1/0 kit", "zero-below"), ("1001 kits", "absurd"),
        ("38 mm", "wrong-unit"), ("12 fl oz", "which-measure"), ("k" * 10_000, "too-long"),
    ],
)  # fmt: skip
def test_what_cannot_be_mixed_is_refused_with_a_sentence(text: str, code: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_amount(text, METRIC)
    assert caught.value.code == code
    assert str(caught.value).endswith(".")


def test_weight_beside_volume_says_what_to_do() -> None:
    with pytest.raises(QuantityError, match="Weigh both or measure both"):
        parse_amount("100 g + 33 ml", METRIC)


def test_ounces_are_taken_as_weight_beside_grams() -> None:
    """Acceptance scenario 3: 6 oz A and 73 g B are 100 : 42.9; 73 oz of B are 2.07 kg."""
    a, b = parse_amount("6 oz + 73 g", US).parts
    assert round(100 * b.value / a.value, 1) == Decimal("42.9")
    assert round(parse_amount("73 oz", US).parts[0].value / 1000, 2) == Decimal("2.07")


@pytest.mark.parametrize("text", ["100 g + 33 g", "354.9 ml", "1/2 kit", "1 1/4 kits", "1 kit"])
def test_an_amount_is_shown_as_it_would_be_typed(text: str) -> None:
    assert show_amount(parse_amount(text, METRIC), METRIC) == text


@given(st.fractions(Fraction(1, 64), 20, max_denominator=64))
def test_a_share_shown_is_read_back(kits: Fraction) -> None:
    assert parse_amount(show_amount(Amount(kits=kits), METRIC), METRIC).kits == kits


@given(st.text("0123456789 ./+kitshalfonedqurg½", max_size=30))
def test_any_text_is_an_amount_or_refused(text: str) -> None:
    try:
        amount = parse_amount(text, METRIC)
    except QuantityError:
        return
    assert bool(amount.parts) != (amount.kits is not None)
