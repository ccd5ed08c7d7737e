"""How often to look and to repaint: the rules that the rule set begins with."""

import itertools
from datetime import date, timedelta
from itertools import islice, pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.models import Member
from repairs.due.end_uses import EN_927_STATUS, end_use, end_use_words
from repairs.due.intervals import DefaultRule, add_months
from repairs.due.repaint_rules import EXPOSURES, FINISHES, repaint_years
from repairs.due.rule_set import DEFAULT_RULES
from repairs.due.series import Standing, Steps, next_after
from tests.published import published

days = st.dates(date(1900, 1, 1), date(2200, 1, 1))
BY_CODE = {rule.code: rule for rule in DEFAULT_RULES}
OURS = {
    "water-repellent preservative": "water_repellent",
    "tinted clear finish": "tinted_clear",
    "semitransparent stain": "semitransparent_stain",
    "solid-color stain": "solid_stain",
    "paint": "paint",
}


def series(rule: DefaultRule) -> Steps:
    return Steps(rule.first_months, rule.then_months, rule.from_done)


def looks(code: str, done_on: date, count: int) -> list[date]:
    return [step.due_on for step in islice(series(BY_CODE[code]).days(done_on), count)]


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
        (date(2026, 5, 3), 0, date(2026, 5, 3)),
    ],
)
def test_month_ends_clamp(day: date, months: int, then: date) -> None:
    assert add_months(day, months) == then


def test_scenario_1_looks_after_1_6_and_12_months_then_yearly() -> None:
    assert looks("repair-look", date(2026, 5, 3), 5) == [
        date(2026, 6, 3), date(2026, 11, 3), date(2027, 5, 3), date(2028, 5, 3), date(2029, 5, 3),
    ]  # fmt: skip


def test_a_repair_of_31_august_is_looked_at_on_month_ends() -> None:
    assert looks("repair-look", date(2026, 8, 31), 3) == [
        date(2026, 9, 30), date(2027, 2, 28), date(2027, 8, 31),
    ]  # fmt: skip


def test_scenario_17_a_temporary_repair_is_looked_at_every_three_months() -> None:
    assert looks("temporary-repair-look", date(2026, 5, 3), 2) == [
        date(2026, 8, 3), date(2026, 11, 3),
    ]  # fmt: skip
    assert BY_CODE["temporary-repair-look"].temporary is True
    assert BY_CODE["repair-look"].temporary is False


def test_scenario_11_a_late_look_keeps_its_season_or_counts_from_the_day_done() -> None:
    late = Standing(date(2024, 4, 15), date(2025, 4, 15), 0, 14)
    done = date(2025, 6, 3)
    anchored = next_after(Steps((), 12), late, done)
    from_done = next_after(Steps((), 12, from_done=True), late, done)
    assert anchored.due_on == date(2026, 4, 15)
    assert from_done.due_on == date(2026, 6, 3)


@pytest.mark.parametrize(
    "row", published("repaint_years", "Service"), ids=lambda row: row["quantity"]
)
def test_a_sheltered_finish_lasts_as_the_wood_handbook_says(row: dict[str, str]) -> None:
    finish = OURS[row["quantity"].removeprefix("Service life, ")]
    years = repaint_years(finish, "sheltered")
    assert years is not None
    assert f"{years.low}-{years.high}" == row["value"]
    assert row["source"] in years.source
    assert row["status"] == "confirmed"


def test_severe_exposure_says_that_it_has_no_source() -> None:
    years = repaint_years("paint", "severe")
    assert years is not None
    assert (years.low, years.high) == (3, 8)
    assert "no source" in years.source


@pytest.mark.parametrize("finish", FINISHES)
def test_more_exposure_never_lasts_longer(finish: str) -> None:
    found = [repaint_years(finish, exposure) for exposure in EXPOSURES]
    lows = [years.low for years in found if years]
    highs = [years.high for years in found if years]
    assert lows == sorted(lows, reverse=True)
    assert highs[0] == max(highs)
    assert all(years.low <= years.high for years in found if years)


@pytest.mark.parametrize(
    ("finish", "exposure"), [("none", "severe"), ("paint", "unknown"), ("unknown", "sheltered")]
)
def test_what_is_not_known_is_not_guessed(finish: str, exposure: str) -> None:
    assert repaint_years(finish, exposure) is None


def test_a_repaint_is_planned_at_the_low_end_and_says_so() -> None:
    rule = BY_CODE["repaint-paint-sheltered"]
    assert (rule.then_months, rule.latest_months, rule.repaint_at) == (120, 240, 3)
    assert "10 to 20 years; planned at the low end" in rule.words


@pytest.mark.parametrize(
    ("of", "code"),
    [
        ("windows and shutters", "repaint-paint-sash-partly"),
        ("windows and shutters", "repaint-paint-window-frame-sheltered"),
        ("historic woodwork", "repaint-paint-historic"),
    ],
)
def test_a_repaint_comes_as_often_as_the_briefs_say(of: str, code: str) -> None:
    [row] = published("repaint_years", f"Repaint interval, {of}")
    rule = BY_CODE[code]
    assert f"{rule.then_months // 12}-{(rule.latest_months or 0) // 12}" == row["value"]
    assert rule.source.startswith(row["source"].partition(" (")[0].partition(",")[0])
    assert row["status"] == "confirmed"


def test_of_two_sources_that_disagree_one_is_kept_out_of_force() -> None:
    assert [rule.code for rule in DEFAULT_RULES if not rule.in_force] == ["repaint-paint-historic"]


def test_ends_that_hold_water_are_painted_within_the_years_of_the_brief() -> None:
    [row] = published("repaint_years", "Treatment interval, ends of porch floorboards")
    low, high = (int(year) for year in row["value"].split("-"))
    for kind in ("sill", "threshold", "handrail"):
        rule = BY_CODE[f"repaint-paint-{kind}-severe"]
        assert low * 12 <= rule.then_months <= high * 12
        assert "no source" in rule.source


def test_a_repaint_keeps_to_the_painting_seasons_and_out_of_frost() -> None:
    for rule in DEFAULT_RULES:
        if rule.kind == "repaint":
            assert rule.seasons == ("spring", "summer", "autumn")
            assert rule.frost_free
            assert rule.latest_months is not None
            assert rule.latest_months >= rule.then_months


def test_every_finish_has_a_rule_for_each_exposure_and_for_one_not_recorded() -> None:
    for finish in FINISHES:
        found = {rule.exposure for rule in DEFAULT_RULES if rule.finish == finish}
        assert found == {*EXPOSURES, ""}


@pytest.mark.parametrize(
    ("of", "code"),
    [
        ("Windows", "member-look"), ("Exterior walls and porches", "coating-look"),
        ("Doors", "door-look"), ("Entryways", "threshold-look"),
    ],
)  # fmt: skip
def test_looks_come_as_often_and_in_the_season_that_the_national_park_service_says(
    of: str, code: str
) -> None:
    [row] = [row for row in published("inspection_intervals") if row["inputs"] == of]
    rule, season = BY_CODE[code], row["note"].partition(".")[0]
    assert rule.then_months == int(row["value"].split()[0])
    assert set(rule.seasons) == {
        ours for ours, theirs in (("spring", "spring"), ("autumn", "and fall")) if theirs in season
    }
    assert row["source"].startswith(rule.source.partition(",")[0])
    assert row["status"] == "confirmed"


def test_the_particular_stands_above_the_general() -> None:
    """A rule that asks nothing ends its kind; one that asks no more than a later one hides it."""
    for kind in {rule.kind for rule in DEFAULT_RULES}:
        rules = [rule for rule in DEFAULT_RULES if rule.kind == kind and rule.in_force]
        for above, below in itertools.combinations(rules, 2):
            assert not asked(above).items() <= asked(below).items(), (above.code, below.code)


def asked(rule: DefaultRule) -> dict[str, Any]:
    names = (
        "member_kind", "finish", "exposure", "use_class", "climate", "worst_condition",
        "temporary", "age_from_years",
    )  # fmt: skip
    return {name: getattr(rule, name) for name in names if getattr(rule, name) not in ("", None)}


def test_every_rule_has_its_own_code_words_and_a_source() -> None:
    assert len(BY_CODE) == len(DEFAULT_RULES)
    for rule in DEFAULT_RULES:
        assert 0 < len(rule.code) <= 50
        assert 0 < len(rule.words) <= 300
        assert 0 < len(rule.source) <= 300
        assert 1 <= rule.then_months <= 600
        assert 0 < rule.window_days < 30 * min(*rule.first_months, rule.then_months, 600) + 1


@given(days, st.sampled_from(DEFAULT_RULES))
def test_the_days_of_a_series_come_one_after_the_other(start: date, rule: DefaultRule) -> None:
    found = [step.due_on for step in islice(series(rule).days(start), 12)]
    assert all(one < next_one for one, next_one in pairwise([start, *found]))
    assert all(day.day <= start.day for day in found)


@given(days, st.integers(-240, 240))
def test_adding_months_lands_in_the_right_month(start: date, months: int) -> None:
    then = add_months(start, months)
    assert (then.year - start.year) * 12 + then.month - start.month == months
    assert then.day == start.day or (then + timedelta(days=1)).day == 1


def test_every_kind_of_member_but_the_open_ones_has_an_end_use_of_its_coating() -> None:
    without = {kind for kind in Member.Kind.values if end_use(kind) is None}
    assert without == {"other"}
    assert end_use_words("sash").startswith("stable: joinery")
    assert end_use_words("cladding").startswith("semi-stable")
    assert end_use_words("other") == ""
    assert "from memory" in EN_927_STATUS
