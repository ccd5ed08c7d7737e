"""A forecast as people type or paste it."""

import json
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.forecast import ForecastHour, ReadForecast, as_air, from_rows, read_forecast, to_rows

LONDON, NEW_YORK = ZoneInfo("Europe/London"), ZoneInfo("America/New_York")
MAY = date(2026, 5, 4)
HOUR = timedelta(hours=1)


def read(*rows: str, day: date = MAY, zone: ZoneInfo = LONDON, f: bool = False) -> ReadForecast:
    return read_forecast("\n".join(rows), zone, day, fahrenheit=f)


def at(hour: int, minute: int = 0, day: int = 4) -> datetime:
    return datetime(2026, 5, day, hour, minute, tzinfo=LONDON)


def one(row: str, **how: object) -> ForecastHour:
    forecast = read(row, **how)  # type: ignore[arg-type]
    assert forecast.wrong == ()
    [hour] = forecast.hours
    return hour


def wrong(row: str, **how: object) -> str:
    forecast = read(row, **how)  # type: ignore[arg-type]
    assert forecast.hours == ()
    [sentence] = forecast.wrong
    return sentence


@pytest.mark.parametrize(
    ("row", "wanted"),
    [
        ("14:00 18", (18, None, None)),
        ("14:00 18 65", (18, 65, None)),
        ("14:00\t18.5\t65\t0.2", (18.5, 65, 0.2)),
        ("14:00;18,5;65;0,2", (18.5, 65, 0.2)),
        ("14:00 18,5 65 0,2", (18.5, 65, 0.2)),
        ("14:00, 18.5, 65, 0.2", (18.5, 65, 0.2)),
        ("14:00,18.5,65,0.2", (18.5, 65, 0.2)),
        ("2026-05-04 14:00, 18.5 °C, 65 %, 0.2", (18.5, 65, 0.2)),
        ("2026-05-04T14:00;18.5;;0.2", (18.5, None, 0.2)),
        ("2026-05-04T13:00Z 18 65", (18, 65, None)),
        ("2026-05-04T15:00+02:00 18 65", (18, 65, None)),
        ("2026-05-04 14:00:00 18°C 65% 0mm", (18, 65, 0)),
        ("4 May 14:00 18 65 -", (18, 65, None)),
        ("4 May 2026, 14:00 -2 65", (-2, 65, None)),
        ("4 may 2 pm −2,5 65", (-2.5, 65, None)),
        ("2:00 PM 18 - 1", (18, None, 1)),
        ("14h 18 65", (18, 65, None)),
        ("14h00 18 65", (18, 65, None)),
        ("14:00 64.4 °F 65", (18, 65, None)),
        ("14:00 18 65 1 in", (18, 65, 25.4)),
    ],
)
def test_a_row_is_read_as_people_write_it(row: str, wanted: tuple[float | None, ...]) -> None:
    hour = one(row)
    assert hour.at == at(14)
    assert (hour.air_c, hour.humidity_pct, hour.rain_mm) == pytest.approx(wanted)


def test_figures_without_a_unit_are_in_the_readers_own() -> None:
    american = one("14:00 50 65 0.1", f=True)
    assert american.air_c == pytest.approx(10)
    assert american.rain_mm == pytest.approx(2.54)
    assert one("14:00 10 °C 65 1 mm", f=True).rain_mm == 1


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("14:00", "no temperature"),
        ("14:00 -", "no temperature"),
        ("18 65 0", "no time could be read"),
        ("25:00 18", "25:00 is not a time"),
        ("24:30 18", "24:30 is not a time"),
        ("14:75 18", "14:75 is not a time"),
        ("13 pm 18", "13 pm is not a time"),
        ("14:00 warm 65", "“warm” is not a figure"),
        ("14:00 18 65 0 7", "more than temperature, humidity and rain"),
        ("14:00 18,65", "one figure or two"),
        ("14:00,18,5,65", "rain at 5 % humidity is not believed"),
        ("14:00 650", "650 °C of air is not believed: from −40 to 60 °C"),
        ("14:00 18 0", "0 % of humidity is not possible"),
        ("14:00 18 101", "101 % of humidity is not possible"),
        ("14:00 18 65 -1", "−1 mm of rain"),
        ("14:00 18 65 900", "900 mm of rain"),
        ("14:00 65% 18", "the order is temperature, humidity, rain"),
        ("2026-02-30 14:00 18", "2026-02-30 is not a day"),
        ("4 Mai 14:00 18", "4 mai is not a day"),
        ("2026-05-18 14:00 18", "18 May 2026 is not within 14 days from 4 May 2026"),
        ("2026-05-02 14:00 18", "2 May 2026 is not within 14 days"),
        ("0001-01-01 00:00 18", "is not within 14 days"),
        ("9999-12-31 24:00 18", "is not within 14 days"),
        ("2026-05-04 14:00+99:00 18", "no offset of a clock"),
        ("14:00 " + "18" * 200, "too long"),
    ],
)
def test_a_row_that_cannot_be_taken_says_what_to_do(row: str, says: str) -> None:
    sentence = wrong(row)
    assert sentence.startswith("Row 1: ")
    assert says in sentence
    assert sentence[-1] in ".?"


def test_each_wrong_row_is_named_and_the_others_are_kept() -> None:
    forecast = read("14:00 18 65", "", "15:00 warm", "16:00 17 70")
    assert [hour.at for hour in forecast.hours] == [at(14), at(15), at(16)]
    assert [sentence[:7] for sentence in forecast.wrong] == ["Row 3: "]


def test_a_head_line_is_passed_over_and_only_the_first() -> None:
    forecast = read("time;temperature_2m (°C);humidity", "14:00;18;65")
    assert len(forecast.hours) == 1
    assert forecast.wrong == ()
    assert wrong("tomorrow 18 65").startswith("Row 1: no time")


def test_nothing_typed_is_no_forecast() -> None:
    assert read("", "  ") == ReadForecast((), ())


def test_the_day_rolls_over_after_midnight() -> None:
    hours = read("22:00 12", "23:00 11", "0:00 10", "1:00 9").hours
    assert [hour.at for hour in hours] == [at(22), at(23), at(0, day=5), at(1, day=5)]


def test_twenty_four_hours_is_midnight_too() -> None:
    hours = read("23:00 11", "24:00 10", "1:00 9").hours
    assert [hour.at for hour in hours] == [at(23), at(0, day=5), at(1, day=5)]


def test_an_hour_given_twice_is_kept_once() -> None:
    forecast = read("14:00 18", "14:00 19", "15:00 17")
    assert [hour.air_c for hour in forecast.hours] == [18, 17]
    assert forecast.wrong == ("Row 2: 4 May 2026, 14:00 was given before; the first is kept.",)


def test_rows_with_their_days_are_put_in_order() -> None:
    hours = read("2026-05-05 09:00 12", "2026-05-05 08:00 11").hours
    assert [hour.air_c for hour in hours] == [11, 12]


def test_holes_of_up_to_six_hours_are_filled_evenly_and_said() -> None:
    forecast = read("12:00 10 80 0", "15:00 16 50 1", "21:00 10 80")
    filled = {hour.at.hour: hour for hour in forecast.hours}
    assert filled[13].air_c == pytest.approx(12)
    assert filled[14].humidity_pct == pytest.approx(60)
    assert filled[13].rain_mm == 1  # the wetter of the two rows
    assert filled[18].rain_mm is None
    assert len(forecast.hours) == 10
    assert forecast.notes == (
        "7 hours between rows filled in evenly; the wetter row's rain is taken.",
    )


def test_a_longer_hole_is_left_open_and_said() -> None:
    forecast = read("12:00 10", "19:00 16")
    assert len(forecast.hours) == 2
    [note] = forecast.notes
    assert note == (
        "Nothing is known from 4 May 2026, 12:00 to 4 May 2026, 19:00; a cure is reckoned with the "
        "colder of those two rows."
    )


def test_humidity_as_a_share_of_one_is_not_taken_for_dry_air() -> None:
    forecast = read("14:00 18 0.65")
    assert not forecast.hours
    assert "give it in percent, such as 65" in forecast.wrong[0]


def test_a_night_left_out_is_not_taken_as_warm_as_the_evening() -> None:
    series = as_air(read("18:00 18", "5 May 8:00 6", "5 May 9:00 8").hours)
    assert series is not None
    assert series.celsius == (18, *(6,) * 14, 8)


def test_half_hours_stay_as_they_are() -> None:
    assert [hour.at for hour in read("12:00 10", "12:30 11", "13:00 12").hours] == [
        at(12), at(12, 30), at(13)
    ]  # fmt: skip


def test_more_rows_than_can_be_read_are_said() -> None:
    rows = [f"2026-05-04 {n // 60:02}:{n % 60:02} 10" for n in range(401)]
    forecast = read(*rows)
    assert len(forecast.hours) == 400
    assert forecast.wrong == ("Only the first 400 rows are read; 401 were given.",)


# The clocks


def test_a_time_that_the_clocks_leap_over_is_refused() -> None:
    spring = date(2026, 3, 29)
    forecast = read("0:00 5", "1:00 5", "2:00 5", day=spring)
    assert forecast.wrong == (
        "Row 2: 01:00 does not exist on 29 March 2026: the clocks go forward.",
    )
    first, second = forecast.hours
    assert second.at.astimezone(UTC) - first.at.astimezone(UTC) == HOUR


def test_a_time_that_comes_twice_is_an_hour_later_the_second_time() -> None:
    hours = read("0:00 5", "1:00 5", "1:00 4", "2:00 4", day=date(2026, 10, 25)).hours
    elapsed = [(hour.at.astimezone(UTC) - hours[0].at.astimezone(UTC)) / HOUR for hour in hours]
    assert elapsed == [0, 1, 2, 3]
    assert [f"{hour.at:%H:%M %Z}" for hour in hours][1:3] == ["01:00 BST", "01:00 GMT"]


def test_half_hours_that_come_twice_do_not_begin_a_new_day() -> None:
    hours = read(
        "1:00 5", "1:30 5", "1:00 4", "1:30 4", "2:00 4", day=date(2026, 11, 1), zone=NEW_YORK
    ).hours
    elapsed = [(hour.at.astimezone(UTC) - hours[0].at.astimezone(UTC)) / HOUR for hour in hours]
    assert elapsed == [0, 0.5, 1, 1.5, 2]


def test_the_hour_that_comes_twice_given_once_is_filled_in() -> None:
    forecast = read("0:00 6", "1:00 5", "2:00 4", day=date(2026, 10, 25))
    assert [f"{hour.at:%H:%M %Z}" for hour in forecast.hours][2:] == ["01:00 GMT", "02:00 GMT"]
    assert forecast.notes[0].startswith("1 hour between rows")


# Kept, and as air


hours = st.lists(
    st.tuples(
        st.integers(0, 300),
        st.floats(-40, 60),
        st.none() | st.floats(1, 100),
        st.none() | st.floats(0, 50),
    ),
    min_size=1,
    max_size=30,
    unique_by=lambda row: row[0],
).map(
    lambda rows: tuple(
        ForecastHour((at(0).astimezone(UTC) + n * HOUR).astimezone(LONDON), air, wet, rain)
        for n, air, wet, rain in sorted(rows, key=lambda row: row[0])
    )
)


@given(hours)
def test_what_is_kept_comes_back(forecast: tuple[ForecastHour, ...]) -> None:
    kept = json.loads(json.dumps(to_rows(forecast)))
    assert from_rows(kept, LONDON) == forecast


@pytest.mark.parametrize("row", [[], ["soon", 1, 2, 3], ["2026-05-04T12:00Z", None, 1, 1], 7])
def test_rows_of_another_make_are_refused(row: object) -> None:
    with pytest.raises(ValueError, match="rows of four"):
        from_rows([row], LONDON)  # type: ignore[list-item]


@given(hours)
def test_air_runs_hour_by_hour_through_every_row(forecast: tuple[ForecastHour, ...]) -> None:
    series = as_air(forecast)
    assert series is not None
    assert series.start == forecast[0].at
    for hour in forecast:
        index = (hour.at.astimezone(UTC) - series.start.astimezone(UTC)) // HOUR
        assert series.celsius[index] == pytest.approx(hour.air_c)
    airs = [hour.air_c for hour in forecast]
    assert all(min(airs) - 1e-9 <= celsius <= max(airs) + 1e-9 for celsius in series.celsius)


def test_without_a_row_there_is_no_air() -> None:
    assert as_air([]) is None


@given(st.text(max_size=300))
def test_whatever_is_pasted_is_read_or_refused(text: str) -> None:
    forecast = read_forecast(text, LONDON, MAY, fahrenheit=False)
    assert all(sentence.startswith(("Row ", "Only ")) for sentence in forecast.wrong)


@given(st.lists(st.text(alphabet="0123456789:.,;- \t°CF%mpaTZh+", max_size=25), max_size=5))
def test_whatever_looks_like_a_row_is_read_or_refused(rows: list[str]) -> None:
    forecast = read(*rows)
    instants = [hour.at.astimezone(UTC) for hour in forecast.hours]
    assert instants == sorted(set(instants))
    assert all(-40 <= hour.air_c <= 60 for hour in forecast.hours)
