"""Figures with units: what is read, what is shown, what is refused and how."""

import csv
from contextlib import suppress
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from config.quantities import (
    Quantity,
    QuantityError,
    UnitSystem,
    WrongUnitError,
    parse,
    parse_duration,
    show,
    show_duration,
    show_exactly,
)

METRIC, US = UnitSystem.METRIC, UnitSystem.US
LENGTH, AREA, MASS, VOLUME = Quantity.LENGTH, Quantity.AREA, Quantity.MASS, Quantity.VOLUME
TEMPERATURE, DENSITY = Quantity.TEMPERATURE, Quantity.DENSITY
# 16 CFR 500.19 and NIST SP 811; each row names its own source and status.
REFERENCE = Path(__file__).parent.parent / "reference" / "units.csv"


def published_factors() -> list[dict[str, str]]:
    with REFERENCE.open(newline="") as rows:
        return list(csv.DictReader(rows))


def refusal(text: str, kind: Quantity, system: UnitSystem = METRIC) -> QuantityError:
    with pytest.raises(QuantityError) as caught:
        parse(text, kind, system)
    return caught.value


@pytest.mark.parametrize("row", published_factors(), ids=lambda row: row["quantity"])
def test_units_have_their_published_size(row: dict[str, str]) -> None:
    published = Decimal(row["published"])
    found = parse(row["quantity"], Quantity(row["kind"]), METRIC)
    assert abs(found - published) <= published * Decimal(row["relative_tolerance"])


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1 1/2 in", "38.1"), ("1 1/2\"", "38.1"), ("1½ in", "38.1"), ("1-1/2 in", "38.1"),
        ('1.5"', "38.1"), ("1.5″", "38.1"), ("3/8in", "9.525"), ("1/2 in", "12.7"),
        ("2' 6\"", "762"), ("2’6”", "762"), ("2'-6 1/2\"", "774.7"), ("2 ft 6", "762"),
        ("2ft3in", "685.8"), ("2 ft .5 in", "622.3"), ("38mm", "38"), ("38 MM", "38"),
        ("1,5", "1.5"), ("0,125", "0.125"), ("1,234.5 mm", "1234.5"), ("1.234,5 mm", "1234.5"),
        ("1 000 mm", "1000"), ("2 m 30 cm", "2300"), ("5 mil", "0.127"), ("120 µm", "0.12"),
        ("٣٫٥ mm", "3.5"), ("+38", "38"),  # noqa: RUF001
    ],
)  # fmt: skip
def test_a_length_is_read_as_people_write_it(text: str, mm: str) -> None:
    assert parse(text, LENGTH, METRIC) == Decimal(mm)


@pytest.mark.parametrize(
    ("kind", "metric", "us"),
    [
        (LENGTH, "12", "304.8"), (MASS, "12", "12"), (TEMPERATURE, "12", "-11.1111111111"),
        (VOLUME, "12", "354.88235475"), (AREA, "12", "1.11483648"), (DENSITY, "12", "12"),
    ],
)  # fmt: skip
def test_a_bare_number_takes_the_usual_unit_and_a_mass_is_always_grams(
    kind: Quantity, metric: str, us: str
) -> None:
    assert parse("12", kind, METRIC) == Decimal(metric)
    assert parse("12", kind, US) == Decimal(us)


@pytest.mark.parametrize("text", ["68 F", "68°F", "68 ºF", "20 C", "20", "68 degrees F"])
def test_temperatures_are_read_in_both_scales(text: str) -> None:
    assert parse(text, TEMPERATURE, METRIC) == 20


@pytest.mark.parametrize("text", ["-5 C", "−5", "- 5", "23 F"])
def test_only_a_temperature_may_be_below_zero(text: str) -> None:
    assert parse(text, TEMPERATURE, METRIC) == -5
    assert refusal("-5", LENGTH).code == "negative"
    assert refusal("−5 g", MASS).code == "negative"


def test_a_fluid_ounce_is_never_a_weight() -> None:
    error = refusal("12 fl oz", MASS, US)
    assert isinstance(error, WrongUnitError)
    assert error.belongs_to is VOLUME
    assert str(error) == "fl oz is a volume, not a weight. Type it like 100 g or 6 oz."
    assert str(refusal("12 oz", VOLUME, US)).startswith("oz is a weight, not a volume.")


def test_a_fluid_ounce_outside_the_us_asks_which() -> None:
    assert parse("12 fl. oz.", VOLUME, US) == Decimal("354.88235475")
    assert parse("12 US fl oz", VOLUME, METRIC) == Decimal("354.88235475")
    assert parse("12 imp fl oz", VOLUME, US) == Decimal("340.95675")
    assert "“US fl oz” or “imp fl oz”" in str(refusal("12 fl oz", VOLUME))


@pytest.mark.parametrize(
    ("text", "kind", "code"),
    [
        ("", LENGTH, "empty"), ("   ", LENGTH, "empty"), ("1/0", LENGTH, "zero-below"),
        ("nan", LENGTH, "not-a-number"), ("inf", MASS, "not-a-number"),
        ("1e999", MASS, "unknown-unit"), ("9" * 40, MASS, "too-many-digits"),
        ("x" * 10_000, MASS, "too-long"), ("1 " * 5_000, MASS, "too-long"),
        ("1,000 g", MASS, "ambiguous"), ("1,00,0 g", MASS, "not-a-number"),
        ("5 x 3", LENGTH, "unknown-unit"), ("12 3 in", LENGTH, "unit-missing"),
        ("5 km", LENGTH, "absurd"), ("11 t", MASS, "absurd"), ("300 C", TEMPERATURE, "absurd"),
        ("-61 C", TEMPERATURE, "absurd"), ("20 C 5 C", TEMPERATURE, "too-many"),
        ("38 mm", MASS, "wrong-unit"), ("5 <b>", MASS, "unknown-unit"),
        ("\0", MASS, "not-a-number"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_a_sentence(
    text: str, kind: Quantity, code: str
) -> None:
    error = refusal(text, kind)
    assert error.code == code
    assert str(error).endswith(".")
    assert len(str(error)) < 160


@given(st.text(max_size=80), st.sampled_from([*Quantity][:-1]), st.sampled_from(UnitSystem))
def test_any_text_is_read_or_refused(text: str, kind: Quantity, system: UnitSystem) -> None:
    with suppress(QuantityError):
        assert parse(text, kind, system).is_finite()


@given(st.text("0123456789.,/-+'\" ½ftinozlbkgmC²", max_size=20), st.sampled_from([*Quantity][:-1]))
def test_near_figures_are_read_or_refused(text: str, kind: Quantity) -> None:
    with suppress(QuantityError):
        assert parse(text, kind, US).is_finite()


@pytest.mark.parametrize(
    ("value", "kind", "metric", "us"),
    [
        ("12.7", LENGTH, "12.7 mm", "1/2 in"), ("38.1", LENGTH, "38.1 mm", "1 1/2 in"),
        ("762", LENGTH, "762 mm", "2 ft 6 in"), ("13", LENGTH, "13 mm", "0.5118 in"),
        ("0.1", LENGTH, "0.1 mm", "0.003937 in"), ("0", LENGTH, "0 mm", "0 in"),
        ("3000", LENGTH, "3000 mm", "9 ft 10 1/8 in"), ("25400", LENGTH, "25.4 m", "83 ft 4 in"),
        ("73", MASS, "73 g", "2.575 oz"), ("33.333", MASS, "33.33 g", "1.176 oz"),
        ("1234.5", MASS, "1234.5 g", "2.722 lb"), ("250000", MASS, "250 kg", "551.2 lb"),
        ("5000", VOLUME, "5000 ml", "1.321 gal"), ("0.0014", MASS, "0.0014 g", "0.00004938 oz"),
        ("-3", TEMPERATURE, "−3 °C", "26.6 °F"), ("1.1", DENSITY, "1.1 g/ml", "1.1 g/ml"),
    ],
)  # fmt: skip
def test_figures_are_shown_with_their_unit(
    value: str, kind: Quantity, metric: str, us: str
) -> None:
    assert show(Decimal(value), kind, METRIC) == metric
    assert show(Decimal(value), kind, US) == us


def test_the_number_of_decimals_can_be_set() -> None:
    assert show(Decimal("38.1"), LENGTH, US, digits=3) == "1.5 in"
    assert show(Decimal("38.16"), LENGTH, METRIC, digits=1) == "38.2 mm"


sizes = st.decimals("0", "900000", places=3)


@given(sizes, st.sampled_from([LENGTH, AREA, MASS, VOLUME]), st.sampled_from(UnitSystem))
def test_what_is_shown_can_be_read_again(
    value: Decimal, kind: Quantity, system: UnitSystem
) -> None:
    again = parse(show(value, kind, system), kind, system)
    slack = max(Decimal("0.15") if kind is LENGTH else Decimal(0), value * Decimal("0.00052"))
    assert abs(again - value) <= slack


@given(st.decimals("-60", "200", places=1), st.sampled_from(UnitSystem))
def test_a_temperature_shown_can_be_read_again(value: Decimal, system: UnitSystem) -> None:
    again = parse(show(value, TEMPERATURE, system), TEMPERATURE, system)
    assert abs(again - value) < Decimal("0.1")


@given(sizes, st.sampled_from([LENGTH, AREA, MASS, VOLUME]), st.sampled_from(UnitSystem))
def test_a_figure_shown_to_be_edited_comes_back_unchanged(
    value: Decimal, kind: Quantity, system: UnitSystem
) -> None:
    again = parse(show_exactly(value, kind, system, places=3), kind, system)
    assert again.quantize(Decimal("0.001"), ROUND_HALF_UP) == value


@given(st.integers(0, 500), st.integers(0, 500))
def test_ounces_add_up(one: int, other: int) -> None:
    apart = parse(f"{one} oz", MASS, US) + parse(f"{other} oz", MASS, US)
    assert parse(f"{one + other} oz", MASS, US) == apart
    assert parse(f"{one} lb {other} oz", MASS, US) == parse(f"{16 * one + other} oz", MASS, US)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("90 min", 90), ("1 h 30", 90), ("1 h 30 min", 90), ("1.5 h", 90), ("1,5 h", 90),
        ("1 1/2 hours", 90), ("1½ h", 90), ("1:30", 90), ("1h30m", 90), ("24 h", 1440),
        ("3 days", 4320), ("2 weeks", 20160), ("0 min", 0), ("30 s", 0.5),
    ],
)  # fmt: skip
def test_a_duration_is_read_as_people_write_it(text: str, minutes: float) -> None:
    assert parse_duration(text) == timedelta(minutes=minutes)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("60", "unit-missing"), ("2 months", "unknown-unit"), ("-3 h", "negative"),
        ("soon", "not-a-number"), ("999999 days", "absurd"), ("1:75", "unknown-unit"),
    ],
)  # fmt: skip
def test_an_unclear_duration_is_refused(text: str, code: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_duration(text)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("minutes", "shown"),
    [
        (90, "1 h 30 min"), (45, "45 min"), (1440, "24 h"), (2880, "48 h"), (4320, "3 days"),
        (0, "0 min"),
    ],
)  # fmt: skip
def test_a_duration_is_shown_in_the_units_of_the_trade(minutes: int, shown: str) -> None:
    assert show_duration(timedelta(minutes=minutes)) == shown


@given(st.integers(0, 3650 * 24 * 3600))
def test_a_duration_shown_is_read_back(seconds: int) -> None:
    assert parse_duration(show_duration(timedelta(seconds=seconds))) == timedelta(seconds=seconds)


def test_a_round_figure_comes_back_round():
    assert show_exactly(Decimal("0.557"), Quantity.AREA, UnitSystem.US, 3) == "6 ft²"
