from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db.models import Sum
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.models import Member
from repairs.costs.ledger import (
    AlreadyReversed,
    LedgerRefusal,
    NoWeight,
    RateMissing,
    credit_shared,
    post,
    reverse,
    reverse_shared,
    split_amounts,
    split_shared,
    weights_for,
)
from repairs.models import CostLine, SharedCost
from tests.factories import (
    BuildingFactory,
    CostLineFactory,
    MemberFactory,
    PropertyFactory,
    make_manager,
)

MAY = date(2026, 5, 4)
NEXT_YEAR = date(2027, 2, 1)


def line(**kwargs):
    fields = {
        "kind": "access",
        "amount_minor": 10000,
        "currency": "GBP",
        "worked_on": MAY,
        **kwargs,
    }
    return CostLine(**fields)


def scaffold(members, total=120000, currency="GBP", tax=None, rate=None, **weights):
    shared = SharedCost(description="Scaffold", rule="equal", total_minor=total, currency=currency)
    lines = split_shared(
        shared,
        weights_for("equal", members),
        line(tax_minor=tax, supplier="Larkfield Access"),
        None,
        rate,
    )
    return shared, lines


@pytest.mark.django_db
def test_a_line_counts_on_the_day_of_its_invoice():
    building = BuildingFactory()
    posted = post(line(building=building, invoiced_on=date(2027, 1, 3)), make_manager())
    assert (posted.counts_on, posted.year) == (date(2027, 1, 3), 2027)


@pytest.mark.django_db
def test_a_line_without_an_invoice_counts_on_the_day_of_the_work():
    posted = post(line(building=BuildingFactory()), None)
    assert (posted.counts_on, posted.year, posted.home_minor) == (MAY, 2026, 10000)


@pytest.mark.django_db
def test_a_foreign_line_keeps_its_currency_and_the_rate_of_its_day():
    posted = post(line(building=BuildingFactory(), currency="USD"), None, Decimal("0.79"))
    assert (posted.amount_minor, posted.rate, posted.home_minor) == (10000, Decimal("0.79"), 7900)


@pytest.mark.django_db
def test_currencies_with_other_minor_units_are_scaled():
    posted = post(
        line(building=BuildingFactory(), currency="JPY", amount_minor=20000), None, Decimal("0.005")
    )
    assert posted.home_minor == 10000


@pytest.mark.django_db
def test_a_foreign_line_without_a_rate_is_refused_with_a_sentence():
    with pytest.raises(RateMissing, match="what 1 USD was worth in GBP on 4 May 2026"):
        post(line(building=BuildingFactory(), currency="USD"), None)
    assert not CostLine.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "wrong",
    [
        {"amount_minor": 0},
        {"amount_minor": -5},
        {"kind": "credit"},
        {"kind": "bribe"},
        {"description": "x" * 201},
    ],
)
def test_a_line_that_cannot_be_is_refused(wrong):
    with pytest.raises(ValidationError):
        post(line(building=BuildingFactory(), **wrong), None)


@pytest.mark.django_db
def test_a_reversing_line_counts_on_its_own_day():
    wrong = CostLineFactory(tax_minor=1667, invoiced_on=date(2026, 5, 9), description="Tower")
    against = reverse(wrong, make_manager(), NEXT_YEAR, "invoiced twice")
    assert (against.amount_minor, against.home_minor, against.tax_minor) == (-10000, -10000, -1667)
    assert (against.year, against.reverses, against.invoiced_on) == (2027, wrong, None)
    assert CostLine.objects.aggregate(net=Sum("home_minor"))["net"] == 0


@pytest.mark.django_db
def test_a_line_is_taken_back_once():
    wrong = CostLineFactory()
    reverse(wrong, None, MAY, "typed twice")
    with pytest.raises(AlreadyReversed):
        reverse(wrong, None, MAY, "typed twice")


@pytest.mark.django_db
def test_a_reversing_line_is_not_taken_back_itself():
    against = reverse(CostLineFactory(), None, MAY, "typed twice")
    with pytest.raises(LedgerRefusal, match="right amount as a new line"):
        reverse(against, None, MAY, "no, once")


@pytest.mark.django_db
def test_a_shared_cost_gives_each_member_a_line():
    building = BuildingFactory()
    members = MemberFactory.create_batch(3, building=building)
    shared, lines = scaffold(members, total=100000)
    assert [line.amount_minor for line in lines] == [33334, 33333, 33333]
    assert [line.member for line in lines] == members
    assert {line.elevation_id for line in lines} == {member.elevation_id for member in members}
    assert shared.lines.aggregate(total=Sum("amount_minor"))["total"] == 100000


@pytest.mark.django_db
def test_a_split_by_length_follows_the_lengths():
    short, long = MemberFactory(length_mm=1000), MemberFactory(length_mm=3000)
    weights = weights_for("length", [short, long])
    assert [share.amount_minor for share in split_amounts(10000, None, weights)] == [2500, 7500]


@pytest.mark.django_db
def test_a_split_by_length_asks_for_a_missing_length():
    with pytest.raises(NoWeight, match="has no length recorded"):
        weights_for("length", [MemberFactory(length_mm=None)])


def test_a_split_over_nobody_is_refused():
    with pytest.raises(LedgerRefusal, match="Pick the members"):
        split_amounts(100, None, {})


@pytest.mark.django_db
def test_members_of_properties_in_two_currencies_are_not_mixed():
    here = MemberFactory()
    there = MemberFactory(building__property=PropertyFactory(currency="EUR"))
    with pytest.raises(LedgerRefusal, match="different currencies"):
        scaffold([here, there])
    assert not SharedCost.objects.exists()


@pytest.mark.django_db
def test_scenario_12_a_credit_next_year_is_a_line_of_its_own():
    members = MemberFactory.create_batch(3, building=BuildingFactory())
    shared, lines = scaffold(members, total=120000, tax=20000)
    before = [(line.pk, line.amount_minor) for line in lines]
    credit = credit_shared(shared, 30000, None, NEXT_YEAR, "hired too long", tax_minor=5000)

    net = CostLine.objects.aggregate(net=Sum("amount_minor"), tax=Sum("tax_minor"))
    assert net == {"net": 90000, "tax": 15000}
    assert [(line.pk, line.amount_minor) for line in shared.lines.order_by("pk")] == before
    credits = credit.lines.order_by("member")
    assert [line.amount_minor for line in credits] == [-10000, -10000, -10000]
    assert {(line.kind, line.year) for line in credits} == {("credit", 2027)}
    assert CostLine.objects.filter(year=2026).aggregate(n=Sum("home_minor"))["n"] == 120000


@pytest.mark.django_db
def test_scenario_12_taking_a_shared_cost_back_takes_every_share_back():
    members = MemberFactory.create_batch(3, building=BuildingFactory())
    shared, _ = scaffold(members, total=100000, tax=16667)
    against = reverse_shared(shared, None, NEXT_YEAR, "never put up")
    assert [line.amount_minor for line in against] == [-33334, -33333, -33333]
    total = shared.lines.aggregate(net=Sum("amount_minor"), tax=Sum("tax_minor"))
    assert total == {"net": 0, "tax": 0}
    with pytest.raises(LedgerRefusal, match="already taken back"):
        reverse_shared(shared, None, NEXT_YEAR, "never put up")


@pytest.mark.django_db
def test_a_shared_foreign_cost_adds_up_in_both_currencies():
    members = MemberFactory.create_batch(3, building=BuildingFactory())
    _, lines = scaffold(members, total=100001, currency="USD", rate=Decimal("0.7913"))
    assert sum(line.amount_minor for line in lines) == 100001
    assert sum(line.home_minor for line in lines) == 79131


@given(
    total=st.integers(-(10**12), 10**12),
    tax=st.none() | st.integers(0, 10**11),
    weights=st.lists(
        st.decimals(0, 10**6, places=3, allow_nan=False), min_size=1, max_size=40
    ).filter(any),
)
@settings(max_examples=300, deadline=None)
def test_the_shares_add_up_to_the_whole(total, tax, weights):
    members = {Member(pk=number + 1): weight for number, weight in enumerate(weights)}
    shares = split_amounts(total, tax, members)
    assert sum(share.amount_minor for share in shares) == total
    if tax is not None:
        assert sum(share.tax_minor for share in shares) == tax
