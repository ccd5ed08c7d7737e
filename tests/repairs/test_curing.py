"""When a layer has cured, through cold, clock changes and recoat windows."""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.rates import ten_degree
from repairs.curing import cure_ready_at, recoat_window
from tests.published import published

LONDON, NEW_YORK = ZoneInfo("Europe/London"), ZoneInfo("America/New_York")
NOON = datetime(2026, 5, 3, 12, tzinfo=UTC)
DAY = timedelta(hours=24)
temperatures = st.integers(0, 45)
spans = st.timedeltas(timedelta(minutes=10), timedelta(days=14))


def numbers(row: dict[str, str]) -> list[float]:
    return [float(each) for each in re.findall(r"= (-?\d+)", row["inputs"])]


COMPUTED = [
    (*numbers(row), float(row["value"]))
    for row in published("cure_rate", "Rate factor relative to 20 degC")
]
TEN_DEGREES = [
    (*numbers(row), float(row["value"]))
    for row in published("cure_rate", "Rate factor, 10-degree rule")
]


def hours_taken(ready_at: datetime | None) -> float:
    assert ready_at is not None
    return (ready_at - NOON) / timedelta(hours=1)


@pytest.mark.parametrize(("energy", "celsius", "factor"), COMPUTED)
def test_a_cold_cure_takes_as_long_as_the_computed_factor_says(
    energy: float, celsius: float, factor: float
) -> None:
    """The factors are worked out from Arrhenius apart from our code; 50 to 60 kJ/mol were read
    in Thermochimica Acta 447 (2006) 167–177."""
    cure = cure_ready_at(NOON, DAY, 20, celsius, activation_kj_mol=energy)
    assert hours_taken(cure.ready_at) == pytest.approx(24 / min(factor, 1), rel=2.5e-4)


@pytest.mark.parametrize(("celsius", "factor"), TEN_DEGREES)
def test_the_plain_rule_stands_beside_it(celsius: float, factor: float) -> None:
    cure = cure_ready_at(NOON, DAY, 20, celsius)
    assert hours_taken(cure.by_ten_degrees) == pytest.approx(24 / min(factor, 1), rel=1.5e-4)


def test_at_ten_degrees_a_24_hour_cure_takes_48_by_the_plain_rule() -> None:
    """Trade arithmetic: ten degrees colder, twice as long; Arrhenius says a little more."""
    assert ten_degree(10, 20) == 0.5
    cure = cure_ready_at(NOON, DAY, 20, 10)
    assert cure.by_ten_degrees == NOON + 2 * DAY
    assert hours_taken(cure.ready_at) == pytest.approx(53.25, abs=0.01)
    assert cure.basis == (
        "24 h at 20 °C by the sheet, 53.2 h at 10 °C by Arrhenius with a typical 55 kJ/mol; 48 h "
        "by the ten-degree rule."
    )


def test_the_sheets_own_activation_energy_goes_before_the_typical_one() -> None:
    cure = cure_ready_at(NOON, DAY, 20, 10, activation_kj_mol=Decimal(70))
    assert cure.ready_at is not None
    assert cure.ready_at > (cure_ready_at(NOON, DAY, 20, 10).ready_at or NOON)
    assert "the sheet's 70 kJ/mol" in cure.basis


def test_warmth_does_not_shorten_it() -> None:
    cure = cure_ready_at(NOON, DAY, Decimal(20), Decimal(30))
    assert cure.ready_at == NOON + DAY
    assert "not shortened for 30 °C" in cure.basis


def test_below_the_minimum_it_stands_still() -> None:
    cure = cure_ready_at(NOON, DAY, 20, 4, 5)
    assert cure.ready_at is None
    assert cure.factor == 0
    assert not cure.ready(NOON + 100 * DAY)
    assert "Stands still at 4 °C" in cure.basis


def test_where_the_sheet_gives_no_minimum_it_stands_still_in_frost() -> None:
    """At 0 °C a structural epoxy hardly cures: Moussa, Vassilopoulos & Keller 2012 (confirmed)."""
    assert cure_ready_at(NOON, DAY, 20, Decimal("0.1")).ready_at is not None
    frost = cure_ready_at(NOON, DAY, 20, -1)
    assert frost.ready_at is None
    assert "Stands still at −1 °C" in frost.basis


def test_a_sheet_made_for_frost_goes_before_that() -> None:
    assert cure_ready_at(NOON, DAY, 20, -3, -5).ready_at is not None


def test_below_the_minimum_it_stands_still_whatever_the_sheet_leaves_out() -> None:
    assert cure_ready_at(NOON, DAY, None, 4, 5).ready_at is None


def test_without_a_temperature_the_sheets_time_stands_alone() -> None:
    cure = cure_ready_at(NOON, DAY, 20, None)
    assert cure.ready_at == NOON + DAY
    assert cure.factor is None
    assert "no temperature" in cure.basis


def test_a_sheet_without_cure_time_gives_no_day() -> None:
    assert cure_ready_at(NOON, None, 20, 20).ready_at is None


def test_ready_means_that_instant_or_later() -> None:
    cure = cure_ready_at(NOON, DAY, 20, 20)
    assert not cure.ready(NOON + DAY - timedelta(seconds=1))
    assert cure.ready(NOON + DAY)


@pytest.mark.parametrize(
    ("start", "ready"),
    [
        (datetime(2026, 3, 28, 22, 30, tzinfo=LONDON), "29 11:30 BST"),
        (datetime(2026, 10, 24, 20, tzinfo=LONDON), "25 07:00 GMT"),
        (datetime(2026, 3, 7, 22, 30, tzinfo=NEW_YORK), "08 11:30 EDT"),
        (datetime(2026, 10, 31, 20, tzinfo=NEW_YORK), "01 07:00 EST"),
    ],
)
def test_scenario_14_twelve_hours_through_a_change_of_clocks(start: datetime, ready: str) -> None:
    cure = cure_ready_at(start, timedelta(hours=12), 20, 20)
    assert cure.ready_at is not None
    assert f"{cure.ready_at:%d %H:%M %Z}" == ready


def test_scenario_14_fits_the_computed_changes_of_the_clocks() -> None:
    for row in published("clock_changes"):
        zone = LONDON if "London" in row["quantity"] else NEW_YORK
        for text in re.findall(r"\d{4}-\d\d-\d\d \d\d:\d\dZ", row["value"]):
            change = datetime.strptime(text, "%Y-%m-%d %H:%MZ").replace(tzinfo=UTC)
            before = (change - timedelta(minutes=1)).astimezone(zone)
            assert before.utcoffset() != change.astimezone(zone).utcoffset()


def test_the_second_half_past_one_is_an_hour_after_the_first() -> None:
    first = datetime(2026, 10, 25, 1, 30, tzinfo=LONDON)
    second = first.replace(fold=1)
    ready = [cure_ready_at(start, DAY, 20, 20).ready_at for start in (first, second)]
    assert ready[0] is not None
    assert ready[1] is not None
    assert ready[1].astimezone(UTC) - ready[0].astimezone(UTC) == timedelta(hours=1)


def test_the_recoat_window_opens_later_in_the_cold_and_closes_no_later() -> None:
    window = recoat_window(
        NOON, timedelta(hours=2), timedelta(hours=24), reference_c=20, temperature_c=10
    )
    assert hours_taken(window.opens_at) == pytest.approx(2 / 0.4507, rel=2e-4)
    assert window.closes_at == NOON + timedelta(hours=24)


def test_a_window_that_the_sheet_does_not_give_has_no_ends() -> None:
    window = recoat_window(NOON, None, None)
    assert (window.opens_at, window.closes_at) == (None, None)


def test_an_instant_without_its_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        cure_ready_at(NOON.replace(tzinfo=None), DAY, 20, 20)


def test_a_negative_time_is_refused() -> None:
    with pytest.raises(ValueError, match="not negative"):
        cure_ready_at(NOON, -DAY, 20, 20)


def test_absurd_temperatures_are_refused() -> None:
    with pytest.raises(ValueError, match="−40 to 100 °C"):
        cure_ready_at(NOON, DAY, 20, 2000)


def test_a_cure_past_the_end_of_the_calendar_has_no_day() -> None:
    assert cure_ready_at(NOON, timedelta(days=999_999_999), 20, 1).ready_at is None


@given(spans, temperatures, temperatures)
def test_a_cure_is_never_sooner_than_the_sheets_own_time(
    cure_time: timedelta, reference: int, temperature: int
) -> None:
    ready_at = cure_ready_at(NOON, cure_time, reference, temperature).ready_at
    assert ready_at is not None
    assert ready_at >= NOON + cure_time


@given(spans, temperatures, temperatures, temperatures)
def test_colder_is_never_sooner(cure_time: timedelta, reference: int, one: int, other: int) -> None:
    colder, warmer = sorted([one, other])
    late, early = (cure_ready_at(NOON, cure_time, reference, t).ready_at for t in (colder, warmer))
    assert late is not None
    assert early is not None
    assert late >= early
