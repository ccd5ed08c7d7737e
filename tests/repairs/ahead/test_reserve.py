"""The yearly payment into a reserve: the least that keeps it from falling below nought."""

from decimal import Decimal

import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.ahead.reserve import balances, least_reserve

costs = st.lists(st.integers(0, 1_000_000), min_size=1, max_size=12)
openings = st.integers(0, 2_000_000)
percents = st.integers(0, 1500).map(lambda each: Decimal(each) / 100)
rises = st.integers(-500, 1500).map(lambda each: Decimal(each) / 100)
NONE = Decimal(0)


@given(costs, openings, percents, rises)
def test_it_covers_every_year_and_one_unit_less_does_not(spent, opening, interest, rise):
    found = least_reserve(spent, opening, interest, rise)
    assert min(found.balances) >= 0
    if found.payment:
        assert min(balances(found.payment - 1, spent, opening, interest, rise).balances) < 0


@given(st.lists(st.integers(0, 60), min_size=1, max_size=5), st.integers(0, 80), percents, rises)
def test_it_is_the_first_payment_that_trying_every_one_finds(spent, opening, interest, rise):
    tried = next(
        payment
        for payment in range(1000)
        if min(balances(payment, spent, opening, interest, rise).balances) >= 0
    )
    assert least_reserve(spent, opening, interest, rise).payment == tried


@given(st.integers(1, 10**8), st.integers(1, 30), st.integers(1, 1500))
def test_one_cost_in_the_last_year_is_saved_up_by_the_sinking_fund(cost, years, hundredths):
    """Nothing is spent before: the payment is that of numpy_financial, at each year's end."""
    interest = Decimal(hundredths) / 100
    found = least_reserve([0] * (years - 1) + [cost], 0, interest, NONE)
    exact = -npf.pmt(float(interest) / 100, years, 0, cost)
    # Interest is cut down to whole units each year, and a payment is a whole unit.
    assert exact - 1e-6 * cost <= found.payment <= exact + 3 + 1e-6 * cost


@given(costs, openings, percents, rises)
def test_it_is_the_dearest_year_to_save_up_for_by_the_present_values_of_numpy_financial(
    spent, opening, interest, rise
):
    """For each year k: what is spent up to then, less what lies there, over payments of 1 that
    grow with prices, all in present values at the year's end. The dearest k decides."""
    rate, growth = float(interest) / 100, 1 + float(rise) / 100
    exact = max(
        (npf.npv(rate, [0, *spent[: k + 1]]) - opening)
        / npf.npv(rate, [0, *(growth**year for year in range(k + 1))])
        for k in range(len(spent))
    )
    found = least_reserve(spent, opening, interest, rise).payment
    # Each year a unit at most is won where a payment is rounded up, and one lost where interest is
    # cut down; payments that fall with prices stretch that to two.
    assert max(exact, 0) - 2.1 <= found <= max(exact, 0) + 3.1


def test_a_peak_in_the_middle_worked_by_hand():
    """No interest, no rise: 10, 100, 10 cost 120. The second year decides: (10 + 100) / 2 = 55 a
    year, and 45 are left over after the third."""
    found = least_reserve([10, 100, 10], 0, NONE, NONE)
    assert (found.payment, found.paid, found.balances) == (55, (55, 55, 55), (45, 0, 45))


def test_what_lies_there_already_earns_and_counts():
    """1,000 at 10 %: 1,100 at the first year's end, of which 600 go; 550 of the second are left
    to meet 700, so that 150 are missing in two years: 150 / 2.1 = 71.4, so 72 a year."""
    found = least_reserve([600, 700], 1000, Decimal(10), NONE)
    assert found.payment == 72
    assert found.balances == (572, 1)


def test_payments_grow_with_prices():
    """With prices up 10 % a year the second payment is 1.1 times the first: 210 / 2.1 = 100."""
    found = least_reserve([0, 210], 0, NONE, Decimal(10))
    assert (found.payment, found.paid, found.balances) == (100, (100, 110), (100, 0))


def test_nothing_to_pay_for_needs_no_payment():
    assert least_reserve([0, 0], 0, NONE, NONE).payment == 0
    assert least_reserve([50, 50], 100, NONE, NONE).payment == 0


@pytest.mark.parametrize(
    ("spent", "opening", "interest", "words"),
    [
        ([1], -1, NONE, "0 or more"),
        ([-1], 0, NONE, "0 or more"),
        ([1], 0, Decimal("-0.01"), "0 % to 50 %"),
        ([1], 0, Decimal("NaN"), "0 % to 50 %"),
    ],
)
def test_what_cannot_be_meant_is_refused(spent, opening, interest, words):
    with pytest.raises(ValueError, match=words):
        least_reserve(spent, opening, interest, NONE)
