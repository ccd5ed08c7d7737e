"""Sealer and paint by area."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.coverage import PAINT, SEALER, paint_ml, sealer_ml

D = Decimal
areas = st.decimals(D(0), D(10**7), places=1)
covers = st.decimals(D("0.1"), D(30), places=2)


def test_end_grain_and_side_grain_are_counted_apart() -> None:
    """By hand: 0.02 m² at 2 m²/l and 0.06 m² at 6 m²/l are 10 ml each."""
    assert sealer_ml(D(20_000), D(60_000), D(2), D(6), 1) == 20
    assert sealer_ml(D(20_000), D(60_000), D(2), D(6), 3) == 60


def test_a_sheet_silent_on_end_grain_has_it_drink_twice_as_much() -> None:
    assert sealer_ml(D(30_000), D(0), None, D(6), 1) == 10
    assert sealer_ml(D(30_000), D(30_000), None, D(6), 1) == 15
    assert "common practice, no source" in SEALER.source


def test_paint_goes_by_area_and_coats() -> None:
    assert paint_ml(D("2.4"), D(12), 2) == 400
    assert PAINT.source == "data sheet"


def test_no_area_takes_nothing() -> None:
    assert sealer_ml(D(0), D(0), None, D(6), 5) == 0


@given(areas, areas, covers, covers, st.integers(1, 10))
def test_each_area_and_each_coat_adds_its_own(
    end: D, side: D, end_covers: D, side_covers: D, coats: int
) -> None:
    both = sealer_ml(end, side, end_covers, side_covers, coats)
    parts = (
        sealer_ml(end, D(0), end_covers, side_covers, 1)
        + sealer_ml(D(0), side, end_covers, side_covers, 1)
    ) * coats
    assert both == pytest.approx(parts, abs=D("1e-15"))


@given(areas, covers)
def test_what_was_reckoned_covers_the_area(side: D, m2_per_l: D) -> None:
    litres = paint_ml(side / 1_000_000, m2_per_l, 1) / 1000
    assert litres * m2_per_l * 1_000_000 == pytest.approx(side, abs=D("1e-12"))


@pytest.mark.parametrize("bad", [D("-0.1"), D("NaN"), D("Infinity")])
def test_an_area_below_zero_is_refused(bad: D) -> None:
    for call in (lambda: paint_ml(bad, D(10), 1), lambda: sealer_ml(D(0), bad, None, D(6), 1)):
        with pytest.raises(ValueError, match="zero or more"):
            call()


@pytest.mark.parametrize("bad", [D(0), D(-6), D("NaN"), D("Infinity")])
def test_a_litre_that_covers_nothing_is_refused(bad: D) -> None:
    with pytest.raises(ValueError, match="above zero"):
        sealer_ml(D(1), D(1), None, bad, 1)


def test_no_coat_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one coat"):
        paint_ml(D(1), D(10), 0)
