"""What the stores give first, and what is to be bought."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.kits import Drawn, OnHand, draw, to_buy

D = Decimal
DAY = date(2026, 5, 4)
amounts = st.decimals(D(0), D(5000), places=1)
part_names = st.sampled_from(["a", "b", "one"])
days = st.none() | st.dates(DAY - timedelta(days=40), DAY + timedelta(days=400))
lots = st.lists(
    st.tuples(part_names, st.decimals(D(-100), D(2000), places=1), days), max_size=12
).map(lambda rows: [OnHand(key, *row) for key, row in enumerate(rows)])
needs = st.dictionaries(part_names, amounts)


def lot(key: int, amount: int, last_day: date | None, part: str = "a") -> OnHand:
    return OnHand(key, part, D(amount), last_day)


def test_the_lot_that_expires_soonest_goes_first() -> None:
    on_hand = [lot(1, 50, None), lot(2, 60, date(2027, 1, 1)), lot(3, 70, date(2026, 6, 1))]
    found = draw({"a": D(100)}, on_hand, DAY)
    assert found.drawn == (Drawn(3, "a", D(70), D(0)), Drawn(2, "a", D(30), D(30)))
    assert found.short == {}


def test_a_lot_is_good_on_its_last_day_and_left_out_after_it() -> None:
    assert draw({"a": D(10)}, [lot(1, 50, DAY)], DAY).short == {}
    late = draw({"a": D(10)}, [lot(1, 50, DAY)], DAY + timedelta(days=1))
    assert (late.drawn, late.short) == ((), {"a": D(10)})


def test_lots_of_one_day_are_taken_in_their_order() -> None:
    found = draw({"a": D(60)}, [lot(2, 50, DAY), lot(1, 50, DAY)], DAY)
    assert [drawn.key for drawn in found.drawn] == [1, 2]


def test_a_lot_that_wants_counting_gives_nothing() -> None:
    assert draw({"a": D(10)}, [lot(1, -20, None)], DAY).short == {"a": D(10)}


def test_each_part_is_drawn_from_its_own_lots() -> None:
    found = draw({"a": D(100), "b": D(40)}, [lot(1, 500, None), lot(2, 30, None, "b")], DAY)
    assert [(drawn.key, drawn.amount) for drawn in found.drawn] == [(1, D(100)), (2, D(30))]
    assert found.short == {"b": D(10)}


@given(needs, lots)
def test_what_is_drawn_and_what_is_short_make_up_the_need(
    need: dict[str, D], on_hand: list[OnHand]
) -> None:
    found = draw(need, on_hand, DAY)
    for part, wanted in need.items():
        drawn = sum((each.amount for each in found.drawn if each.part == part), D(0))
        assert drawn + found.short.get(part, D(0)) == wanted
    assert {each.part for each in found.drawn} | set(found.short) <= set(need)


@given(needs, lots)
def test_no_lot_gives_more_than_it_holds_nor_after_its_day(
    need: dict[str, D], on_hand: list[OnHand]
) -> None:
    by_key = {each.key: each for each in on_hand}
    for drawn in draw(need, on_hand, DAY).drawn:
        held = by_key[drawn.key]
        assert 0 < drawn.amount <= held.amount
        assert drawn.left == held.amount - drawn.amount
        assert held.last_day is None or held.last_day >= DAY


@given(needs, lots)
def test_no_lot_is_begun_while_a_sooner_one_still_holds_some(
    need: dict[str, D], on_hand: list[OnHand]
) -> None:
    found = draw(need, on_hand, DAY)
    by_key = {each.key: each for each in on_hand}
    for part in need:
        drawn = [each for each in found.drawn if each.part == part]
        ends = [by_key[each.key].last_day or date.max for each in drawn]
        assert ends == sorted(ends)
        assert all(each.left == 0 for each in drawn[:-1])
        if part in found.short:
            assert all(each.left == 0 for each in drawn)


def test_whole_kits_are_bought_for_the_part_that_is_shortest() -> None:
    kit = {"a": D(600), "b": D(198)}
    bought = to_buy({"a": D(500), "b": D(250)}, kit, 4200, bought_on=DAY, shelf_months=24)
    assert (bought.kits, bought.cost_minor) == (2, 8400)
    assert bought.left == {"a": D(700), "b": D(146)}
    assert bought.left_until == date(2028, 5, 4)


def test_nothing_short_buys_nothing() -> None:
    bought = to_buy({}, {"a": D(600)}, 4200, bought_on=DAY, shelf_months=24)
    assert (bought.kits, bought.cost_minor, bought.left_until) == (0, 0, None)
    assert bought.left == {"a": D(0)}


def test_what_is_not_known_is_not_made_up() -> None:
    bought = to_buy({"one": D(1)}, {"one": D(600)}, None, bought_on=DAY, shelf_months=None)
    assert (bought.kits, bought.cost_minor, bought.left_until) == (1, None, None)


def test_a_shelf_life_ends_on_the_last_day_of_a_short_month() -> None:
    bought = to_buy({"one": D(1)}, {"one": D(9)}, 1, bought_on=date(2026, 8, 31), shelf_months=6)
    assert bought.left_until == date(2027, 2, 28)


@given(needs, st.fixed_dictionaries({part: st.decimals(D("0.1"), D(900), places=1)
                                     for part in ("a", "b", "one")}))  # fmt: skip
def test_what_is_bought_covers_the_shortage_and_one_kit_less_does_not(
    short: dict[str, D], kit: dict[str, D]
) -> None:
    bought = to_buy(short, kit, 100, bought_on=DAY, shelf_months=12)
    assert all(left >= 0 for left in bought.left.values())
    assert all(bought.bought[part] == kit[part] * bought.kits for part in kit)
    assert bought.cost_minor == 100 * bought.kits
    if bought.kits:
        assert any(kit[part] * (bought.kits - 1) < amount for part, amount in short.items())


def test_a_part_that_the_kit_does_not_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="does not say how much it holds of B"):
        to_buy({"b": D(1)}, {"a": D(600)}, 1, bought_on=DAY, shelf_months=None)


@pytest.mark.parametrize("bad", [D(-1), D("NaN"), D("Infinity")])
def test_an_amount_below_zero_is_refused(bad: D) -> None:
    with pytest.raises(ValueError, match="zero or more"):
        draw({"a": bad}, [], DAY)
    with pytest.raises(ValueError, match="zero or more"):
        to_buy({"a": bad}, {"a": D(1)}, 1, bought_on=DAY, shelf_months=None)
