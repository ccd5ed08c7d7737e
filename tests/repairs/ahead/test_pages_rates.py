"""The rates of a property: typed row by row, kept all or none."""

from __future__ import annotations

from datetime import date

import pytest
from time_machine import travel

from repairs.models import WorkRate
from tests import factories as make
from tests.repairs.ahead.places import ON, face_of, price, text, yard

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


@pytest.fixture
def today():
    with travel(ON, tick=False):
        yield


@pytest.fixture
def manager(client):
    client.force_login(make.make_manager())
    return client


def page_of(of) -> str:
    return f"/properties/{of.pk}/rates/"


def row(what: str, **typed: str) -> dict[str, str]:
    per = "elevation" if what in WorkRate.ACCESS else "member"
    return {f"{what}-{name}": value for name, value in {"per": per, **typed}.items()}


def empty_rows() -> dict[str, str]:
    """What the page sends while nothing is typed."""
    return {name: value for what in WorkRate.What for name, value in row(what).items()}


SOURCE = "Quotation of 4 May 2026"


def test_without_rates_the_page_says_what_they_are_for(manager):
    page = text(manager.get(page_of(yard())))
    assert "No rate is typed yet." in page
    assert "Each time that a scaffold stands at an elevation" in page


def test_rates_are_kept_in_the_money_of_the_property(manager):
    of = yard(currency="JPY")
    typed = {
        **empty_rows(),
        **row("repaint", low="9,000", likely="12,000", high="20000", source=SOURCE, per="metre"),
        **row("scaffold", likely="JPY 80,000", source=SOURCE, per="area"),
    }
    answer = manager.post(page_of(of), typed, follow=True)
    assert "Saved: 2 rates changed." in text(answer)
    kept = {rate.what: rate for rate in of.work_rates.all()}
    assert (kept["repaint"].low_minor, kept["repaint"].high_minor) == (9_000, 20_000)
    assert (kept["scaffold"].likely_minor, kept["scaffold"].low_minor) == (80_000, None)
    assert (kept["repaint"].per, kept["scaffold"].per) == ("metre", "area")


def test_a_rate_is_changed_and_an_emptied_row_dropped_with_their_history(manager):
    of = yard()
    price(of)
    typed = {**empty_rows(), **row("look", likely="12.50", source=SOURCE)}
    manager.post(page_of(of), typed)
    assert [(rate.what, rate.likely_minor) for rate in of.work_rates.all()] == [("look", 1250)]
    told = WorkRate.history.order_by("pk").values_list("what", "history_type")
    assert list(told)[3:] == [("look", "~"), ("repaint", "-"), ("scaffold", "-")]


def test_saving_what_stands_writes_nothing(manager):
    of = yard()
    price(of)
    form = manager.get(page_of(of)).context["form"]
    typed = {field.html_name: field.value() for row in form.rows for field in row if field.value()}
    answer = manager.post(page_of(of), {**empty_rows(), **typed}, follow=True)
    assert "Nothing changed." in text(answer)
    assert WorkRate.history.count() == 3


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"likely": ""}, "Type what it likely costs"),
        ({"likely": "0"}, "A rate is above zero."),
        ({"likely": "-1"}, "at least"),
        ({"likely": "lots"}, "not an amount of money"),
        ({"likely": "1e9"}, "not an amount of money"),
        ({"likely": "9" * 30}, "too much money"),
        ({"likely": "EUR 5"}, "This amount is in GBP"),
        ({"low": "200"}, "The least is not above the likely."),
        ({"high": "50"}, "The most is not below the likely."),
        ({"source": ""}, "Say where it comes from"),
        ({"per": "elevation"}, "per"),
        ({"source": "x" * 301}, "300"),
    ],
)  # fmt: skip
def test_one_wrong_row_keeps_none_and_all_that_was_typed(manager, typed, said):
    of = yard()
    wrong = {"likely": "100", "source": SOURCE, **typed}
    sent = {
        **empty_rows(), **row("look", likely="10", source=SOURCE), **row("repaint", **wrong)
    }  # fmt: skip
    answer = manager.post(page_of(of), sent)
    assert "Nothing is saved yet." in text(answer)
    repaint = next(row for row in answer.context["form"].rows if row.what == "repaint")
    assert said in text(answer) or said in repaint.errors
    assert not WorkRate.objects.exists()
    for value in ("10", wrong["likely"]):
        assert f'value="{value}"' in answer.content.decode() or not value


def test_all_that_is_wrong_is_told_at_once(manager):
    sent = {**empty_rows(), **row("look", likely="x"), **row("rope", low="5")}
    page = text(manager.post(page_of(yard()), sent))
    assert "A look, likely" in page
    assert "Access by rope, likely" in page


def test_what_was_paid_before_stands_beside(manager):
    of = yard()
    member = face_of(of).members.first()
    for pounds, day in ((180, 4), (210, 5), (260, 6)):
        repair = make.RepairFactory(member=member, kind="repaint")
        make.CostLineFactory(
            building=member.building, member=member, repair=repair, amount_minor=pounds * 100,
            home_minor=pounds * 100, worked_on=date(2026, 5, day), counts_on=date(2026, 5, day),
        )  # fmt: skip
    page = text(manager.get(page_of(of)))
    assert "Granary: GBP 210.00 (GBP 180.00 to GBP 260.00), the middle of 3 repaints" in page


def test_a_reader_reads_and_does_not_write(client):
    of = yard()
    price(of)
    client.force_login(make.make_viewer(of))
    page = client.get(page_of(of))
    assert "GBP 100.00" in text(page)
    assert "Save these rates" not in text(page)
    sent = {**empty_rows(), **row("look", likely="1", source=SOURCE)}
    assert client.post(page_of(of), sent).status_code == 403
    assert of.work_rates.get(what="look").likely_minor == 1_000
    assert client.get(page_of(yard(name="Other"))).status_code == 404


def test_a_typed_rate_is_what_the_years_ahead_take(manager):
    of = yard()
    manager.post(
        page_of(of), {**empty_rows(), **row("repaint", likely="55.50", source="Own guess, noted")}
    )
    page = text(manager.get(f"/properties/{of.pk}/ahead/?year=2028"))
    assert "55.50" in page
    assert "Own guess, noted" in page
