"""The drawing of the years ahead: what stands where, without a page around it."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.ahead.chart import BARS_BASE, HATCHES, LEFT, TOP, WIDTH, Column, chart_of
from repairs.ahead.price_hint import price_hint

money = st.integers(0, 10**13)


@st.composite
def columns(draw: st.DrawFn) -> list[Column]:
    years = draw(st.integers(1, 30))
    made = []
    for year in range(2026, 2026 + years):
        parts = tuple((kind, draw(money)) for kind in draw(st.permutations(list(HATCHES))))
        likely = sum(minor for _, minor in parts)
        low, high = draw(st.integers(0, likely)), likely + draw(money)
        made.append(Column(year, parts, low, high))
    return made


def test_nothing_to_pay_is_not_drawn():
    assert chart_of([Column(2026, (("look", 0),), 0, 0)], "GBP", 0, [(2026, 0)]) is None


def test_a_bar_is_stacked_by_kind_to_its_likely_cost():
    parts = (("access", 30_00), ("look", 10_00), ("repaint", 60_00))
    chart = chart_of([Column(2026, parts, 80_00, 200_00)], "GBP")
    (bar,) = chart.bars
    assert [part.hatch for part in bar.parts] == ["dots", "hatch", "lines"]
    tall = BARS_BASE - TOP
    heights = [tall * share for share in (0.05, 0.3, 0.15)]
    assert [part.height for part in bar.parts] == pytest.approx(heights, abs=0.11)
    assert [kind.words for kind in chart.kinds] == ["Looks", "Repaints", "Access"]


@given(columns(), money)
def test_all_stays_on_the_paper(made, level):
    chart = chart_of(made, "GBP", level, [(each.year, each.low) for each in made])
    if chart is None:
        assert not any(each.high for each in made)
        return
    for bar in chart.bars:
        assert bar.x >= LEFT
        assert bar.x + bar.width <= WIDTH
        for part in bar.parts:
            assert TOP - 0.1 <= part.y <= part.y + part.height <= BARS_BASE + 0.2
    for _, y in re.findall(r"M([\d.]+) ([\d.]+)", "".join(bar.whisker for bar in chart.bars)):
        assert TOP - 0.1 <= float(y) <= BARS_BASE + 0.1
    for _, y in chart.reserve_dots:
        assert chart.reserve_top - 0.1 <= y <= chart.reserve_base + 0.1
    assert chart.level is None or TOP - 0.1 <= chart.level <= BARS_BASE


@given(columns(), st.sampled_from(["GBP", "JPY", "BHD", "UYW"]))
def test_the_scale_is_round_rising_and_short(made, currency):
    chart = chart_of(made, currency)
    if chart is None:
        return
    assert 1 <= len(chart.money) <= 11
    assert chart.money[0].words == "0"
    assert all(one.at > other.at for one, other in pairwise(chart.money))
    assert all(len(tick.words) <= 11 for tick in chart.money)


@pytest.mark.parametrize(("years", "named"), [(1, 1), (10, 10), (11, 6), (20, 10), (30, 6)])
def test_years_are_named_as_far_as_there_is_room(years, named):
    made = [Column(2026 + n, (("look", 100),), 100, 100) for n in range(years)]
    assert len(chart_of(made, "GBP").years) == named


def test_where_low_and_high_are_one_there_is_no_whisker():
    chart = chart_of([Column(2026, (("look", 100),), 100, 100)], "GBP")
    assert chart.bars[0].whisker == ""
    assert not chart.has_whiskers


def test_the_words_name_the_dearest_year_and_the_level():
    made = [Column(2026, (("look", 100),), 0, 200), Column(2027, (("look", 300),), 0, 400)]
    words = chart_of(made, "GBP", 200).words
    assert "from 2026 to 2027" in words
    assert "The highest is 2027 with GBP 3.00." in words
    assert "GBP 2.00" in words


# How prices rose of late


def test_ten_years_of_three_percent_are_three_percent():
    index = {2015: Decimal(100), 2025: Decimal(100) * Decimal("1.03") ** 10}
    hint = price_hint("GBP", index)
    assert hint.rise_pct == Decimal("3.0")
    assert dict(hint.figure.inputs)["Index of 2015"] == "100"


@given(st.integers(-99, 499))
def test_a_steady_rise_is_found_again(tenths):
    rise = Decimal(tenths) / 1000
    index = {2000 + year: Decimal(100) * (1 + rise) ** year for year in range(11)}
    assert price_hint("GBP", index).rise_pct == Decimal(tenths) / 10


@pytest.mark.parametrize(
    "index",
    [
        {},
        {2025: Decimal(100)},
        {2016: Decimal(100), 2025: Decimal(120)},
        {2015: Decimal(1), 2025: Decimal(10) ** 6},
    ],
)
def test_without_both_years_or_out_of_reach_nothing_is_suggested(index):
    assert price_hint("GBP", index) is None
