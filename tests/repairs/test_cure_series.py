"""A cure over hours that are not equally warm."""

import math
import re
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from materials.rates import GAS_CONSTANT, arrhenius
from repairs.cure_series import (
    UNCERTAINTY_K,
    AirSeries,
    CureBand,
    cure_over,
    daily_cycle,
    equivalent_age_h,
    window_over,
)
from repairs.curing import cure_ready_at, recoat_window
from tests.published import published

NOON = datetime(2026, 5, 3, 12, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(hours=24)
LONDON = ZoneInfo("Europe/London")
Q_5000_K = 5000 * GAS_CONSTANT / 1000

temperatures = st.floats(0, 45, allow_nan=False)
series = st.lists(temperatures, min_size=1, max_size=60).map(
    lambda figures: AirSeries(NOON, tuple(figures))
)
spans = st.timedeltas(timedelta(minutes=10), timedelta(days=4))
starts = st.timedeltas(timedelta(0), timedelta(hours=50)).map(lambda late: NOON + late)


def air(*steps: tuple[int, float]) -> AirSeries:
    """Hours at a temperature, one after the other, from noon."""
    return AirSeries(NOON, tuple(celsius for hours, celsius in steps for _ in range(hours)))


def taken_h(ready_at: datetime | None, start: datetime = NOON) -> float:
    assert ready_at is not None
    return (ready_at.astimezone(UTC) - start.astimezone(UTC)) / HOUR


def age(history: AirSeries, hours: float, reference_c: float = 20, **how: object) -> float:
    return equivalent_age_h(NOON, NOON + hours * HOUR, reference_c, history, **how)  # type: ignore[arg-type]


# Equivalent age


def test_a_day_of_changing_temperatures_is_worth_its_computed_hours() -> None:
    """Computed apart from our code (reference values): no published worked example was found."""
    row = published("equivalent_age", "Equivalent age, mixed history")[0]
    steps = [(int(h), float(c)) for h, c in re.findall(r"(\d+) h@(\d+)", row["inputs"])]
    wanted = dict(re.findall(r"(Q 5000 K|E 55 kJ/mol|10-degree rule): ([\d.]+)", row["value"]))
    history = air(*steps)
    found = {
        "Q 5000 K": age(history, 30, activation_kj_mol=Q_5000_K),
        "E 55 kJ/mol": age(history, 30),
        "10-degree rule": age(history, 30, by_ten_degrees=True),
    }
    for how, hours in wanted.items():
        assert found[how] == pytest.approx(float(hours), abs=0.005), how


def test_a_constant_day_is_worth_the_computed_hours() -> None:
    rows = [row for row in published("equivalent_age") if row["quantity"] == "Equivalent age"]
    for row in rows:
        hours, celsius, reference = map(
            float, re.findall(r"(\d+) h at (\d+) degC.*Ts (\d+)", row["inputs"])[0]
        )
        found = age(air((24, celsius)), hours, reference, activation_kj_mol=Q_5000_K)
        assert found == pytest.approx(float(row["value"]), abs=0.005)


@given(temperatures, st.floats(0, 200), st.floats(30, 100))
def test_limit_case_a_constant_temperature_is_the_closed_form(
    celsius: float, hours: float, energy: float
) -> None:
    found = age(air((1, celsius)), hours, activation_kj_mol=energy)
    assert found == pytest.approx(hours * arrhenius(celsius, 20, energy), abs=1e-8)


@given(st.lists(st.tuples(st.integers(1, 9), temperatures), min_size=1, max_size=6))
def test_limit_case_steps_are_the_sum_by_hand(steps: list[tuple[int, float]]) -> None:
    by_hand = math.fsum(hours * arrhenius(celsius, 20, 55) for hours, celsius in steps)
    assert age(air(*steps), sum(hours for hours, _ in steps)) == pytest.approx(by_hand)


def test_a_finer_step_comes_nearer_to_the_integral_of_a_swing() -> None:
    """An independent integral (scipy) of the same swing. A swing twice as slow is one with twice
    as many steps, and the error of steps at their middle falls to a quarter."""

    def error(period_h: int) -> float:
        def celsius(t: float) -> float:
            return 14 + 8 * math.sin(2 * math.pi * t / period_h + 1)

        # A quarter of the swing, since the errors of a whole one cancel.
        lasts = period_h // 4
        stepped = age(air(*((1, celsius(hour + 0.5)) for hour in range(lasts))), lasts)
        exact, _ = quad(lambda t: arrhenius(celsius(t), 20, 55), 0, lasts, epsabs=1e-10)
        return abs(stepped / exact - 1)

    errors = [error(period) for period in (24, 48, 96, 192)]
    assert errors[0] < 0.01
    for coarse, fine in pairwise(errors):
        assert fine == pytest.approx(coarse / 4, rel=0.1)


@given(series, starts, st.floats(0, 40), st.floats(0, 40))
def test_ages_add_up(history: AirSeries, start: datetime, one: float, more: float) -> None:
    between, end = start + one * HOUR, start + one * HOUR + more * HOUR
    parts = equivalent_age_h(start, between, 20, history) + equivalent_age_h(
        between, end, 20, history
    )
    assert parts == pytest.approx(equivalent_age_h(start, end, 20, history), abs=1e-6)


def test_an_age_is_not_capped_in_warmth_and_nothing_below_the_minimum() -> None:
    assert age(air((24, 30)), 24) > 24
    assert age(air((24, 4)), 24, minimum_c=5) == 0
    assert age(air((24, -1)), 24) == 0


@pytest.mark.parametrize("hours", [-1, 20_000])
def test_an_age_before_its_start_or_endless_is_refused(hours: int) -> None:
    with pytest.raises(ValueError, match="10,000 hours"):
        age(air((1, 20)), hours)


# When it is ready


def ready(history: AirSeries, cure_time: timedelta = DAY, **how: float) -> CureBand:
    return cure_over(NOON, cure_time, 20, history, **how)


@given(temperatures, spans, st.none() | st.integers(5, 15), st.none() | st.integers(45, 75))
def test_one_temperature_gives_what_the_judged_repair_is_told(
    celsius: float, cure_time: timedelta, minimum: int | None, energy: int | None
) -> None:
    alone = cure_ready_at(NOON, cure_time, 20, celsius, minimum, energy)
    over = cure_over(
        NOON, cure_time, 20, air((1, celsius)), minimum_c=minimum, activation_kj_mol=energy
    )
    if alone.ready_at is None:
        assert over.ready_at is None
    else:
        assert taken_h(over.ready_at) == pytest.approx(taken_h(alone.ready_at), abs=1e-3)
        assert taken_h(over.by_ten_degrees) == pytest.approx(
            taken_h(alone.by_ten_degrees), abs=1e-3
        )


def test_a_cold_night_lengthens_a_cure_and_a_warm_day_does_not_shorten_it() -> None:
    """6 h and then 18 h of the sheet's 24: twelve cold hours at 0.4507, and the rest in full."""
    cure = ready(air((6, 20), (12, 10), (24, 30)))
    assert taken_h(cure.ready_at) == pytest.approx(6 + 12 + (18 - 12 * 0.4507), abs=0.01)
    assert cure.equivalent_h > 24


def test_a_night_below_the_minimum_counts_for_nothing() -> None:
    cure = ready(air((6, 20), (12, 4), (18, 20)), minimum_c=5)
    assert taken_h(cure.ready_at) == pytest.approx(36)
    assert cure.stalled_h == 12
    assert "12 h below 5 °C do not count" in cure.basis


def test_beyond_what_is_known_the_last_day_repeats() -> None:
    cure = ready(air((12, 20), (12, 4)), minimum_c=5)
    assert taken_h(cure.ready_at) == pytest.approx(36)
    assert "beyond the 24 h known, the last 24 h known are repeated" in cure.basis


def test_beyond_less_than_a_day_the_coldest_hour_is_held() -> None:
    cure = ready(air((6, 20), (2, 10)))
    assert taken_h(cure.ready_at) == pytest.approx(6 + 18 / 0.4507, abs=0.02)
    assert "the coldest of the hours known is held" in cure.basis


def test_it_stands_still_when_every_hour_is_too_cold() -> None:
    cure = ready(air((48, 3)), minimum_c=10)
    assert (cure.ready_at, cure.earliest, cure.latest, cure.by_ten_degrees) == (None,) * 4
    assert cure.equivalent_h == 0
    assert "it stands still" in cure.basis


def test_a_start_off_the_hour_counts_the_rest_of_that_hour() -> None:
    history = air((1, 20), (1, 4), (30, 20))
    start = NOON + timedelta(minutes=40)
    cure = cure_over(start, 2 * HOUR, 20, history, minimum_c=5)
    assert cure.ready_at is not None
    assert abs(cure.ready_at - (start + 3 * HOUR)) < timedelta(milliseconds=1)


def test_a_cure_begun_before_the_first_hour_known_takes_that_days_hours() -> None:
    history = air((12, 20), (12, 4))
    cure = cure_over(NOON - 12 * HOUR, 12 * HOUR, 20, history, minimum_c=5)
    assert taken_h(cure.ready_at, NOON - 12 * HOUR) == pytest.approx(24)


def test_no_time_at_all_is_over_at_once() -> None:
    assert ready(air((1, 20)), timedelta(0)).ready_at == NOON


@given(series, spans, starts)
def test_never_before_the_sheet_and_inside_its_band(
    history: AirSeries, cure_time: timedelta, start: datetime
) -> None:
    cure = cure_over(start, cure_time, 20, history, minimum_c=8)
    in_turn = [at for at in (cure.earliest, cure.ready_at, cure.latest) if at is not None]
    slack = timedelta(milliseconds=1)
    assert all(at >= start + cure_time - slack for at in in_turn)
    assert all(one <= other + slack for one, other in pairwise(in_turn))
    if cure.latest is not None:
        assert None not in (cure.ready_at, cure.earliest)


@given(series, spans, st.floats(0, 10))
def test_warmer_is_never_later(history: AirSeries, cure_time: timedelta, more: float) -> None:
    warmer = AirSeries(NOON, tuple(celsius + more for celsius in history.celsius))
    cold, warm = ready(history, cure_time, minimum_c=5), ready(warmer, cure_time, minimum_c=5)
    if cold.ready_at is not None:
        assert warm.ready_at is not None
        assert warm.ready_at <= cold.ready_at + timedelta(milliseconds=1)


def test_the_band_is_that_of_the_energy_and_of_two_degrees() -> None:
    """Limit case: at one temperature each end has a closed form."""
    cure = ready(air((1, 10)))
    assert taken_h(cure.earliest) == pytest.approx(24 / arrhenius(10 + UNCERTAINTY_K, 20, 50))
    assert taken_h(cure.latest) == pytest.approx(24 / arrhenius(10 - UNCERTAINTY_K, 20, 60))


def test_the_night_of_the_clocks_is_as_long_as_its_hours() -> None:
    start = datetime(2026, 3, 28, 22, 30, tzinfo=LONDON)
    history = AirSeries(start, (20.0,) * 12)
    cure = cure_over(start, 12 * HOUR, 20, history)
    assert f"{cure.ready_at:%d %H:%M %Z}" == "29 11:30 BST"
    back = datetime(2026, 10, 24, 20, tzinfo=LONDON)
    cure = cure_over(back, 12 * HOUR, 20, AirSeries(back, (20.0,) * 12))
    assert f"{cure.ready_at:%d %H:%M %Z}" == "25 07:00 GMT"


# The recoat window


def test_the_window_opens_later_in_the_cold_and_closes_no_later() -> None:
    window = window_over(NOON, 2 * HOUR, 24 * HOUR, 20, air((1, 10)))
    assert taken_h(window.opens_at) == pytest.approx(2 / 0.4507, abs=0.001)
    assert window.closes_at == NOON + 24 * HOUR


def test_the_window_closes_sooner_in_warmth_and_never_before_it_opens() -> None:
    """Limit cases: at one temperature it closes after latest/k; k by Arrhenius at 55 kJ/mol."""
    faster = math.exp(55_000 / 8.314462618 * (1 / 293.15 - 1 / 303.15))
    window = window_over(NOON, 2 * HOUR, 24 * HOUR, 20, air((48, 30)))
    assert window.opens_at == NOON + 2 * HOUR
    assert taken_h(window.closes_at) == pytest.approx(24 / faster)
    step = window_over(NOON, 2 * HOUR, 24 * HOUR, 20, air((3, 30), (45, 20)))
    assert taken_h(step.closes_at) == pytest.approx(24 - 3 * (faster - 1))
    cold_first = window_over(NOON, 2 * HOUR, 24 * HOUR, 20, air((23, 5), (48, 30)))
    assert cold_first.closes_at == NOON + 24 * HOUR
    short = window_over(NOON, 20 * HOUR, 24 * HOUR, 20, air((48, 30)))
    assert short.closes_at == short.opens_at == NOON + 20 * HOUR


def test_a_window_that_the_sheet_does_not_give_has_no_ends() -> None:
    window = window_over(NOON, None, None, 20, air((1, 10)))
    assert (window.opens_at, window.closes_at, window.basis) == (None, None, "")


@given(temperatures, spans, spans)
def test_the_window_is_the_one_of_a_judged_repair_but_in_warmth(
    celsius: float, opens: timedelta, closes: timedelta
) -> None:
    over = window_over(NOON, opens, closes, 20, air((1, celsius)))
    alone = recoat_window(NOON, opens, closes, reference_c=20, temperature_c=celsius)
    assert taken_h(over.opens_at) == pytest.approx(taken_h(alone.opens_at), abs=1e-3)
    assert over.closes_at is not None
    assert alone.closes_at is not None
    if celsius <= 20:
        assert over.closes_at == alone.closes_at
    else:
        assert over.closes_at <= alone.closes_at


# Air for want of a forecast


def test_a_daily_swing_is_warmest_at_three_and_coldest_twelve_hours_later() -> None:
    start = datetime(2026, 5, 3, 0, tzinfo=LONDON)
    swing = daily_cycle(start, 18, 8, 48).celsius
    assert max(swing) == pytest.approx(18, abs=0.05)
    assert min(swing) == pytest.approx(8, abs=0.05)
    assert swing[14] == pytest.approx(swing[15]) == max(swing)
    assert swing[2] == pytest.approx(swing[3]) == min(swing)
    assert sum(swing[:24]) / 24 == pytest.approx(13)


def test_the_swing_goes_by_the_clock_on_the_wall() -> None:
    start = datetime(2026, 3, 29, 0, tzinfo=LONDON)
    swing = daily_cycle(start, 18, 8, 23).celsius
    assert swing[13] == max(swing)  # 14:00 to 15:00 BST, an hour sooner after midnight


@given(temperatures, st.floats(0, 20), st.integers(1, 300))
def test_a_swing_stays_between_night_and_day(night: float, more: float, hours: int) -> None:
    swing = daily_cycle(NOON, min(night + more, 99), night, hours).celsius
    assert len(swing) == hours
    assert all(night - 1e-9 <= celsius <= night + more + 1e-9 for celsius in swing)


# What is refused


@pytest.mark.parametrize("celsius", [(), (math.nan,), (math.inf,), (-41.0,), (101.0,)])
def test_air_that_is_none_is_refused(celsius: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="temperatures"):
        AirSeries(NOON, celsius)


def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        AirSeries(NOON.replace(tzinfo=None), (20.0,))
    with pytest.raises(ValueError, match="time zone"):
        cure_over(NOON.replace(tzinfo=None), DAY, 20, air((1, 20)))
    with pytest.raises(ValueError, match="not negative"):
        cure_over(NOON, -DAY, 20, air((1, 20)))
    with pytest.raises(ValueError, match="not negative"):
        window_over(NOON, None, -DAY, 20, air((1, 20)))
    with pytest.raises(ValueError, match="not warmer"):
        daily_cycle(NOON, 5, 10, 24)
    with pytest.raises(ValueError, match="10 to 200"):
        ready(air((1, 20)), activation_kj_mol=500)


def test_a_cure_of_centuries_is_given_up() -> None:
    assert ready(air((1, 20)), timedelta(days=99_999)).ready_at is None
