"""Old money in today's, and the file that an index is loaded from."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.life_cycle.price_index import YearMissing, in_todays_money, todays_minor
from repairs.life_cycle.price_rows import read_years
from tests.published import published

D = Decimal
CPI_U = {int(row["inputs"]): D(row["value"]) for row in published("price_index", "CPI-U")}
figures = st.decimals(D("0.0001"), D("99999999"), places=4)
indexes = st.dictionaries(st.integers(1800, 2200), figures, min_size=1)


@pytest.mark.parametrize(
    "row", published("price_index", "CPI adjustment"), ids=lambda row: row["inputs"]
)
def test_dollars_of_one_year_in_the_money_of_another(row: dict[str, str]) -> None:
    """Computed, from figures of the published series (read from a package that carries it)."""
    amount, then, now = (int(each) for each in re.findall(r"\d+", row["inputs"]))
    assert round(in_todays_money(D(amount), then, now, CPI_U), 2) == D(row["value"])


def test_a_year_without_a_figure_is_refused_and_the_nearest_is_not_taken() -> None:
    with pytest.raises(YearMissing, match="no figure for 2011 and 2013") as refused:
        in_todays_money(D(100), 2013, 2011, CPI_U)
    assert refused.value.years == (2011, 2013)
    with pytest.raises(YearMissing, match=r"no figure for 2011\."):
        in_todays_money(D(100), 2011, 2012, CPI_U)
    with pytest.raises(YearMissing):
        in_todays_money(D(100), 2011, 2011, {})


def test_money_of_this_year_is_todays_and_older_is_put_in_that_of_the_newest_year_known() -> None:
    index = {2020: D(100), 2024: D(125), 2030: D(500)}
    assert todays_minor(10_001, 2020, 2026, index) == 12_501
    assert todays_minor(10_001, 2026, 2026, index) == 10_001
    assert todays_minor(10_001, 2026, 2026, {}) == 10_001
    with pytest.raises(YearMissing, match=r"no figure for 2022\."):
        todays_minor(10_001, 2022, 2026, index)
    with pytest.raises(YearMissing, match=r"no figure for 2019\."):
        todays_minor(10_001, 2019, 2019 + 1, {2030: D(1)})


@given(st.decimals(D(-1_000_000), D(1_000_000), places=2), indexes, st.data())
def test_there_and_back_is_the_same_money(
    amount: Decimal, index: dict[int, Decimal], data: st.DataObject
) -> None:
    then, now = (data.draw(st.sampled_from(sorted(index))) for _ in range(2))
    there = in_todays_money(amount, then, now, index)
    assert in_todays_money(there, now, then, index) == pytest.approx(amount, rel=D("1e-20"))
    assert in_todays_money(amount, then, then, index) == amount


@pytest.mark.parametrize("figure", [D(0), D(-1), D("nan"), D("inf")])
def test_a_figure_that_cannot_be_is_refused(figure: Decimal) -> None:
    with pytest.raises(ValueError, match="above zero"):
        in_todays_money(D(1), 2000, 2001, {2000: figure, 2001: D(100)})
    with pytest.raises(ValueError, match="is a number"):
        in_todays_money(D("nan"), 2000, 2001, {2000: D(100), 2001: D(100)})


@given(
    indexes, st.sampled_from([",", ";", "\t"]), st.sampled_from(["utf-8", "utf-8-sig", "utf-16"])
)
def test_a_file_written_is_read_back(
    index: dict[int, Decimal], delimiter: str, encoding: str
) -> None:
    lines = [f"{year}{delimiter}{value}" for year, value in index.items()]
    read = read_years("\n".join(["year" + delimiter + "value", *lines]).encode(encoding))
    assert (dict(read.years), read.wrong) == (index, ())


@given(st.binary(max_size=400))
def test_any_file_is_read_or_refused_in_words(data: bytes) -> None:
    read = read_years(data)
    assert read.years or read.wrong


@given(st.text(alphabet="0123456789,;.\n\"' year", max_size=80))
def test_a_line_is_taken_or_named(text: str) -> None:
    read = read_years(text.encode())
    assert all(1800 <= year <= 2200 and value > 0 for year, value in read.years.items())
    assert all(re.match(r"Line \d+: |The file|This ", said) for said in read.wrong)
