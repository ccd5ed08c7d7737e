"""When a layer has cured, through cold, clock changes and recoat windows."""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.curing import (
    Segment,
    cure_ready_at,
    equivalent_hours,
    rate,
    ready_after_segments,
    recoat_window,
)
from tests.published import published

LONDON, NEW_YORK = ZoneInfo("Europe/London"), ZoneInfo("America/New_York")
NOON = datetime(2026, 5, 3, 12, tzinfo=UTC)
DAY = timedelta(hours=24)
temperatures = st.integers(-20, 45)
spans = st.timedeltas(timedelta(minutes=10), timedelta(days=14))


def computed_rates(quantity: str) -> list[tuple[float, float]]:
    return [
        (float(re.findall(r"T = (-?\d+)", row["inputs"])[0]), float(row["value"]))
        for row in published("cure_rate", quantity)
    ]


@pytest.mark.parametrize(("celsius", "factor"), computed_rates("Rate factor, 10-degree rule"))
def test_the_rate_is_the_computed_one(celsius: float, factor: float) -> None:
    assert rate(celsius, 20) == pytest.approx(factor, abs=5e-5)


@pytest.mark.parametrize(("celsius", "factor"), computed_rates("Rate factor relative to 20 degC"))
def test_the_rule_of_thumb_is_near_published_activation_energies(
    celsius: float, factor: float
) -> None:
    """Activation energies of 50 to 60 kJ/mol were read; the factors are computed from them."""
    if 10 <= celsius <= 30:
        assert rate(celsius, 20) == pytest.approx(factor, rel=0.2)
    elif celsius < 10:
        assert rate(celsius, 20) > factor


def test_a_day_of_changing_temperatures_is_worth_its_computed_hours() -> None:
    row = published("cure_rate", "Equivalent age, mixed history")[0]
    segments = [
        Segment(float(hours), float(celsius))
        for hours, celsius in re.findall(r"(\d+) h@(\d+)", row["inputs"])
    ]
    [hours] = re.findall(r"10-degree rule: ([\d.]+)", row["value"])
    assert equivalent_hours(segments, 20) == pytest.approx(float(hours), abs=0.005)


def test_below_its_minimum_nothing_cures() -> None:
    assert rate(4.9, 20, 5) == 0
    assert rate(5, 20, 5) > 0
    assert equivalent_hours([Segment(100, 2)], 20, 5) == 0


def test_at_ten_degrees_a_24_hour_cure_takes_48() -> None:
    cure = cure_ready_at(NOON, DAY, 20, 10)
    assert cure.ready_at == NOON + 2 * DAY
    assert cure.factor == 0.5
    assert "48 h at 10 °C by the ten-degree rule" in cure.basis


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


def test_a_cold_night_lengthens_a_cure_and_a_warm_day_does_not_shorten_it() -> None:
    segments = [Segment(6, 20), Segment(12, 10), Segment(1, 30)]
    cure = ready_after_segments(NOON, DAY, 20, segments)
    assert cure.ready_at == NOON + timedelta(hours=30)


def test_a_night_below_the_minimum_counts_for_nothing() -> None:
    cure = ready_after_segments(NOON, DAY, 20, [Segment(6, 20), Segment(12, 4), Segment(1, 20)], 5)
    assert cure.ready_at == NOON + timedelta(hours=36)


def test_if_the_last_temperature_is_too_cold_it_stands_still() -> None:
    assert ready_after_segments(NOON, DAY, 20, [Segment(6, 20), Segment(1, 2)], 5).ready_at is None


def test_the_recoat_window_opens_later_in_the_cold_and_closes_no_later() -> None:
    window = recoat_window(
        NOON, timedelta(hours=2), timedelta(hours=24), reference_c=20, temperature_c=10
    )
    assert window.opens_at == NOON + timedelta(hours=4)
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
    with pytest.raises(ValueError, match="temperatures"):
        rate(2000, 20)


def test_a_cure_past_the_end_of_the_calendar_has_no_day() -> None:
    assert cure_ready_at(NOON, timedelta(days=999_999_999), 20, -20).ready_at is None


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


@given(spans, temperatures, temperatures)
def test_one_long_segment_is_one_temperature(
    cure_time: timedelta, reference: int, temperature: int
) -> None:
    one = cure_ready_at(NOON, cure_time, reference, temperature).ready_at
    several = ready_after_segments(NOON, cure_time, reference, [Segment(1, temperature)]).ready_at
    assert one is not None
    assert several is not None
    assert abs(one - several) < timedelta(seconds=1)
