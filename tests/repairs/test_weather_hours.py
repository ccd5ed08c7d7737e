"""The hours of a forecast in which the work may be done."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.forecast import ForecastHour, read_forecast
from repairs.remarks import DEFAULT_LIMITS, stage_remarks
from repairs.weather_hours import Allowed, Span, WorkLimits, allowed, limits_for
from tests.published import published

from .rule_facts import PAINT, PUTTY, RESIN, stage

D = Decimal
HOUR = timedelta(hours=1)
LONDON = ZoneInfo("Europe/London")
SEVEN = datetime(2026, 5, 4, 7, tzinfo=LONDON)
BARE_PAINT = replace(PAINT, apply_min_c=None, recoat_from=None)


def day(
    *, air: Sequence[float] = (20,) * 12, humidity: float | None = 40, rain: float | None = 0
) -> list[ForecastHour]:
    """Fine hours from seven in the morning on."""
    return [ForecastHour(SEVEN + n * HOUR, air_c, humidity, rain) for n, air_c in enumerate(air)]


def with_rain(hours: list[ForecastHour], at: int, mm: float = 1) -> list[ForecastHour]:
    return [replace(hour, rain_mm=mm) if hour.at.hour == at else hour for hour in hours]


def good(hours: Sequence[ForecastHour], limits: WorkLimits) -> list[int]:
    """The hours on the clock that are allowed."""
    spans = allowed(hours, limits).spans
    return [hour.at.hour for hour in hours if any(s.begins <= hour.at < s.ends for s in spans)]


def why(hours: Sequence[ForecastHour], limits: WorkLimits) -> dict[str, int]:
    return dict(allowed(hours, limits).refused)


def test_a_fine_day_is_one_span_from_seven_to_seven() -> None:
    for kind, sheet in (("seal", RESIN), ("fill", PUTTY), ("paint", PAINT)):
        result = allowed(day(), limits_for(kind, sheet))
        assert result.spans == (Span(SEVEN, SEVEN + 12 * HOUR),)
        assert result.first == SEVEN
        assert result.refused == {}


def test_no_forecast_allows_nothing() -> None:
    assert allowed((), limits_for("paint", PAINT)) == Allowed((), None, {})


def test_published_limits_are_those_that_are_used() -> None:
    """Copied with their sources in tests/reference/weather_limits.csv."""

    def value(quantity: str) -> Decimal:
        return D(published("weather_limits", quantity)[0]["value"])

    limits = limits_for("paint", BARE_PAINT)
    assert limits.humidity_max_pct == value("Coating rule: relative humidity")
    assert limits.dew_margin_k == value("Coating rule: surface above dew point")
    assert limits.night_low_c == value("Latex paint minimum temperature")
    assert limits.min_c == value("Oil-alkyd minimum temperature")
    assert limits.dew_free_h == value("Stop painting before dew")


def test_the_strictest_sheet_rules() -> None:
    limits = limits_for("seal", RESIN, replace(RESIN, apply_min_c=D(15), apply_max_c=D(25)))
    assert (limits.min_c, limits.max_c) == (15, 25)
    assert limits.humidity_max_pct is None
    assert limits.night_low_c is None


def test_the_sheets_temperatures_bound_the_hours() -> None:
    hours = day(air=(8, 9, 10, 15, 30, 31, 30, 20, 12, 10, 9, 8), humidity=20)
    limits = limits_for("seal", RESIN)
    assert good(hours, limits) == [9, 10, 11, 13, 14, 15, 16]
    assert why(hours, limits) == {"too cold": 4, "too hot": 1}


def test_dew_is_kept_clear_of_for_two_hours_after() -> None:
    """With the surface as warm as the air, 3 K above the dew point is some 82 % at 15 °C. The
    dew comes at 13:00, so that the last hour to work in ends at 11:00."""
    hours = day(air=(15,) * 12, humidity=60)
    hours[6:] = [replace(hour, humidity_pct=90) for hour in hours[6:]]
    limits = limits_for("fill", PUTTY)
    assert good(hours, limits) == [7, 8, 9, 10]
    assert why(hours, limits) == {"too near the dew point": 6, "dew before it has set": 2}


def test_a_face_colder_than_the_air_meets_the_dew_sooner() -> None:
    hours = day(air=(15,) * 12, humidity=75)
    limits = limits_for("fill", PUTTY)
    assert allowed(hours, limits).first == SEVEN
    assert allowed(hours, replace(limits, surface_below_air_k=3)).first is None


def test_rain_is_kept_clear_of_before_and_until_it_is_dry() -> None:
    """PAINT may be recoated after 4 h; 4 h dry before are common practice, no source."""
    hours = with_rain(day(), 12)
    limits = limits_for("paint", PAINT)
    assert limits.dry_after_h == 4
    assert good(hours, limits) == [7, 17, 18]
    assert why(hours, limits) == {
        "wet from rain before": 4, "rain before it is dry": 4, "rain": 1,
    }  # fmt: skip


def test_a_slower_product_wants_a_longer_dry_time() -> None:
    slow = replace(PAINT, recoat_from=None, cure_time=7 * HOUR)
    assert limits_for("paint", slow).dry_after_h == 7
    assert limits_for("paint", replace(slow, cure_time=9 * 24 * HOUR)).dry_after_h == 24
    assert limits_for("paint", BARE_PAINT).dry_after_h == 4


def test_paint_of_a_silent_sheet_waits_for_a_warm_day_and_night() -> None:
    hours = read_forecast(
        "\n".join(
            f"{4 + n // 24} May {n % 24}:00 {9 if n == 27 else 14} 40 0" for n in range(7, 72)
        ),
        LONDON,
        date(2026, 5, 4),
        fahrenheit=False,
    ).hours
    limits = limits_for("paint", BARE_PAINT)
    assert allowed(hours, limits).first == datetime(2026, 5, 5, 7, tzinfo=LONDON)
    assert why(hours, limits)["too cold a night after it"] == 21
    assert allowed(hours, limits_for("seal", RESIN)).first == SEVEN


def test_damp_air_stops_paint_and_not_resin() -> None:
    """On a face that the sun holds 3 K above the air, so that dew is out of the question."""
    hours = day(air=(20,) * 12, humidity=86)
    paint, resin = (
        replace(limits_for(kind, sheet), surface_below_air_k=-3)
        for kind, sheet in (("paint", PAINT), ("seal", RESIN))
    )
    assert good(hours, paint) == []
    assert len(good(hours, resin)) == 12


def test_nobody_works_at_night() -> None:
    hours = [ForecastHour(SEVEN - 7 * HOUR + n * HOUR, 20, 40, 0) for n in range(24)]
    assert good(hours, limits_for("shape")) == list(range(7, 19))
    assert why(hours, limits_for("shape")) == {"outside of 7:00 to 19:00": 12}


def test_where_nothing_is_laid_on_the_weather_does_not_count() -> None:
    hours = day(air=(-5,) * 12, humidity=100, rain=5)
    assert len(good(hours, limits_for("open_up"))) == 12


def test_what_is_not_told_is_not_judged_and_said() -> None:
    result = allowed(day(humidity=None, rain=None), limits_for("paint", PAINT))
    assert result.first == SEVEN
    assert "dew is not judged" in result.notes[0]
    assert "rain is not given" in result.notes[1]
    assert any("surface is taken as warm as the air" in note for note in result.notes)


def test_rain_beyond_a_hole_is_far_away() -> None:
    hours = with_rain(day(), 18)
    del hours[3:8]
    assert good(hours, limits_for("paint", PAINT)) == [7, 8, 9]


def test_a_hole_in_the_forecast_ends_a_span() -> None:
    hours = day()
    del hours[3:8]
    spans = allowed(hours, limits_for("seal", RESIN)).spans
    assert [(span.begins.hour, span.ends.hour) for span in spans] == [(7, 10), (15, 19)]


def test_half_hours_make_spans_of_their_own_length() -> None:
    hours = [ForecastHour(SEVEN + n * HOUR / 2, 20, 40, 0) for n in range(3)]
    [span] = allowed(hours, limits_for("seal", RESIN)).spans
    assert span.ends - span.begins == 2 * HOUR


def test_the_night_of_the_clocks_is_counted_in_elapsed_hours() -> None:
    start = datetime(2026, 10, 24, 23, tzinfo=UTC)
    hours = [
        ForecastHour((start + n * HOUR).astimezone(LONDON), 20, 40, 1 if n == 0 else 0)
        for n in range(8)
    ]
    limits = replace(limits_for("seal", RESIN), works_from=0, works_to=24)
    first = allowed(hours, limits).first
    assert first is not None
    assert first.astimezone(UTC) == start + 5 * HOUR


forecasts = st.lists(
    st.tuples(st.integers(-10, 40), st.integers(5, 100), st.sampled_from([0, 0, 0, 0, 2])),
    min_size=1,
    max_size=40,
).map(
    lambda rows: [
        ForecastHour((SEVEN.astimezone(UTC) + n * HOUR).astimezone(LONDON), air, wet, rain)
        for n, (air, wet, rain) in enumerate(rows)
    ]
)
works = st.sampled_from([("seal", RESIN), ("fill", PUTTY), ("paint", PAINT), ("prime", BARE_PAINT)])


@given(forecasts, works)
def test_an_hour_is_allowed_only_if_a_logged_stage_would_have_no_remark(
    hours: list[ForecastHour], work: tuple[str, object]
) -> None:
    """The plan and the judging of a logged repair go by the same functions."""
    kind, sheet = work
    weather = {"too-cold", "too-hot", "too-humid", "near-dew-point", "cold-night"}
    spans = allowed(hours, limits_for(kind, sheet)).spans  # type: ignore[arg-type]
    for index, hour in enumerate(hours):
        if not any(span.begins <= hour.at < span.ends for span in spans):
            continue
        logged = stage(
            kind,
            sheet,  # type: ignore[arg-type]
            began_at=hour.at,
            air_c=D(str(hour.air_c)),
            surface_c=D(str(hour.air_c)),
            humidity_pct=D(str(hour.humidity_pct)),
            night_low_c=D(str(min(each.air_c for each in hours[index : index + 24]))),
        )
        assert weather.isdisjoint(remark.code for remark in stage_remarks(logged))


@given(forecasts, works)
def test_spans_are_apart_in_order_and_every_other_hour_has_its_reason(
    hours: list[ForecastHour], work: tuple[str, object]
) -> None:
    kind, sheet = work
    result = allowed(hours, limits_for(kind, sheet))  # type: ignore[arg-type]
    for before, after in zip(result.spans, result.spans[1:], strict=False):
        assert before.begins < before.ends < after.begins
    held = sum((span.ends - span.begins) / HOUR for span in result.spans)
    assert held + sum(result.refused.values()) >= len(hours)
    assert held <= len(hours)
    assert result.first == (result.spans[0].begins if result.spans else None)


@pytest.mark.parametrize("name", ["coating_humidity_max_pct", "dry_before_h", "dry_after_h"])
def test_each_usual_limit_names_its_source(name: str) -> None:
    assert DEFAULT_LIMITS[name].source
