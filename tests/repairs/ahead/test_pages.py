"""The pages of the years ahead, as each kind of person reads them."""

from __future__ import annotations

import re
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from time_machine import travel

from repairs.models.due_dates import DueKind
from tests import factories as make
from tests.repairs.ahead.places import ON, due, face_of, price, text, yard
from tests.two_properties import HIDDEN

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


@pytest.fixture
def today():
    with travel(ON, tick=False):
        yield


@pytest.fixture
def manager(client):
    client.force_login(make.make_manager())
    return client


def page_of(of, query: str = "") -> str:
    return f"/properties/{of.pk}/ahead/{query}"


def rows(answer) -> dict[str, list[str]]:
    """The cells of the first table by the head of their row."""
    table = answer.content.decode().partition("<tbody>")[2].partition("</table>")[0]
    found = {}
    for row in re.findall(r"<tr[^>]*>(.*?)</tr>", table, re.DOTALL):
        head, *cells = (
            " ".join(re.sub(r"<[^>]+>", "", cell).split())
            for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL)
        )
        found[head] = cells
    return found


# What stands there


def test_an_empty_installation_says_how_to_begin(manager):
    page = text(manager.get("/ahead/"))
    assert "Nothing falls in these years" in page
    assert "Log a repair or set a due date" in page


def test_a_property_without_work_says_how_to_begin(manager):
    page = text(manager.get(page_of(make.PropertyFactory())))
    assert "Nothing falls in these years" in page
    assert "Log a repair or set a due date" in page
    assert "<svg" not in page


def test_each_year_tells_its_work_and_its_cost(manager):
    of = yard()
    price(of)
    told = rows(manager.get(page_of(of)))
    assert told["2027"] == ["1", "0", "0", "0", "10.00", "10.00"]
    assert told["2028"] == ["0", "1", "0", "1", "1,100.00", "1,080.00 to 1,150.00"]
    assert told["2029"] == ["0", "1", "0", "1", "1,100.00", "1,080.00 to 1,150.00"]
    assert told["2030"] == ["0", "0", "0", "0", "0.00", "0.00"]
    assert told["Total"] == ["1", "2", "0", "2", "2,210.00", "2,170.00 to 2,310.00"]


def test_a_year_whose_work_has_no_price_does_not_cost_nought(manager):
    of = yard()
    make.WorkRateFactory(property=of, what="repaint", likely_minor=10_000)
    told = rows(manager.get(page_of(of)))
    assert told["2027"] == ["1", "0", "0", "0", "no price", ""]
    assert told["2028"] == ["0", "1", "0", "1", "100.00 1 without a price", "100.00"]
    assert told["2030"] == ["0", "0", "0", "0", "0.00", "0.00"]
    assert told["Total"][4] == "200.00 3 without a price"
    opened = text(manager.get(page_of(of, "?year=2027")))
    assert "March 2027 1 0 0 no price" in opened


def test_the_first_sentence_sums_it_up(manager):
    of = yard()
    price(of)
    page = text(manager.get(page_of(of)))
    assert (
        "Larkfield Yard, 2026 to 2035: 1 look, 2 repaints, 0 expected repairs and 2 access "
        "visits. Likely GBP 2,210.00 (GBP 2,170.00 to GBP 2,310.00) in today’s money." in page
    )


def test_a_rise_of_prices_tells_each_year_in_its_own_money(manager):
    of = yard()
    price(of)
    told = rows(manager.get(page_of(of, "?rise=10")))
    # Two years on: 1,100 × 1.1².
    assert told["2028"][-2:] == ["1,331.00", "1,306.80 to 1,391.50"]
    assert "GBP 2,806.10 in each year’s own" in text(manager.get(page_of(of, "?rise=10")))


def test_without_a_rise_no_other_money_is_told(manager):
    of = yard()
    price(of)
    assert "that year’s money" not in text(manager.get(page_of(of)))


def test_work_without_a_price_is_told_with_what_to_type(manager):
    of = yard()
    answer = manager.get(page_of(of))
    assert "No price is known for 1 look, 2 repaints and 2 access visits." in text(answer)
    assert "Type a rate for a repaint" in text(answer) or "type a rate for a repaint" in text(
        answer
    )
    assert f'href="/properties/{of.pk}/rates/"' in answer.content.decode()


def test_a_drawing_has_its_words(manager):
    of = yard()
    price(of)
    page = manager.get(page_of(of)).content.decode()
    assert 'role="img"' in page
    assert "The highest is 2028 with GBP 1,100.00" in page
    assert "The same figures stand in the table" in page


def test_thirty_years_are_told(manager):
    of = yard()
    price(of)
    told = rows(manager.get(page_of(of, "?years=30&rise=2")))
    assert list(told)[:1] + list(told)[-2:] == ["2026", "2055", "Total"]


# A year opened


def test_a_year_opens_to_its_months_and_jobs(manager):
    of = yard()
    price(of)
    page = text(manager.get(page_of(of, "?year=2028")))
    assert "May 2028" in page
    assert "The jobs of 2028" in page
    assert "N-SILL-01" in page.partition("The jobs of 2028")[2]
    assert "N-SILL-02" not in page.partition("The jobs of 2028")[2].partition("Work that")[0]
    assert "Quotation of 4 May 2026" in page


def test_the_jobs_of_a_year_come_to_its_line(manager):
    of = yard()
    price(of)
    answer = manager.get(page_of(of, "?year=2028"))
    jobs = answer.context["year"].jobs
    assert sorted(job.cost.value for job in jobs) == ["1,000.00", "100.00"]


@pytest.mark.parametrize("year", ["1999", "2100", "x", "-1", "9" * 400, "2028.5", "\x00"])
def test_a_year_that_cannot_be_opened_is_left_closed(manager, year):
    of = yard()
    answer = manager.get(page_of(of), {"year": year})
    assert answer.status_code == 200
    assert "The jobs of" not in text(answer)


# What is asked for


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("years", "31", "whole number of years from 1 to 30"),
        ("years", "0", "whole number of years from 1 to 30"),
        ("years", "-5", "whole number of years from 1 to 30"),
        ("years", "ten", "whole number of years from 1 to 30"),
        ("years", "1e9", "whole number of years from 1 to 30"),
        ("rise", "1e9", "Type a rate from −10 to 50 percent a year"),
        ("rise", "-11", "Type a rate from −10 to 50 percent a year"),
        ("rise", "NaN", "Type a rate from −10 to 50 percent a year"),
        ("rise", "abc", "Type a rate from −10 to 50 percent a year"),
        ("interest", "-1", "Type a rate from 0 to 50 percent a year"),
        ("interest", "51", "Type a rate from 0 to 50 percent a year"),
        ("reserve", "-5", "at least"),
        ("reserve", "lots", "not an amount of money"),
    ],
)  # fmt: skip
def test_nonsense_is_told_and_kept_and_the_rest_stands(manager, name, typed, said):
    of = yard()
    price(of)
    answer = manager.get(page_of(of), {name: typed})
    assert said in text(answer)
    assert f'value="{typed}"' in answer.content.decode()
    assert rows(answer)["Total"][4] == "2,210.00"
    assert len(rows(answer)) == 11


@pytest.mark.parametrize("typed", ["3,5", "3.5 %", " 3.5"])
def test_a_rate_is_read_as_people_write_it(manager, typed):
    of = yard()
    asked = manager.get(page_of(of), {"rise": typed}).context["shown"].outlook.asked
    assert f"{asked.price_rise_pct:f}" == "3.5"


def test_a_reserve_and_its_interest_lower_what_must_be_paid_in(manager):
    of = yard()
    price(of)
    bare = manager.get(page_of(of)).context["shown"].outlook.level
    asked = {"reserve": "1,000", "interest": "2"}
    helped = manager.get(page_of(of), asked).context["shown"].outlook.level
    assert helped.reserve < bare.reserve


def test_how_prices_rose_is_a_suggestion_to_take_over(manager):
    of = yard()
    price(of)
    index = make.PriceIndexFactory(currency="GBP")
    make.PriceIndexYearFactory(index=index, year=2015, value=100)
    make.PriceIndexYearFactory(index=index, year=2025, value="134.3916")
    answer = manager.get(page_of(of, "?years=5"))
    assert "prices rose from 2015 to 2025 by 3.0 %" in text(answer)
    assert 'href="?years=5&amp;rise=3.0"' in answer.content.decode()
    assert answer.context["shown"].outlook.nominal is None
    assert "prices rose from" not in text(manager.get(page_of(of, "?years=5&rise=2")))


def test_an_index_without_ten_years_suggests_nothing(manager):
    of = yard()
    make.PriceIndexYearFactory(index__currency="GBP", year=2025, value=120)
    assert "prices rose from" not in text(manager.get(page_of(of)))


# Several properties


def test_currencies_are_told_apart_and_never_added(manager):
    price(yard())
    price(yard(name="Pike Landing", currency="USD"))
    answer = manager.get("/ahead/")
    assert [shown.currency for shown in answer.context["outlooks"]] == ["GBP", "USD"]
    assert "No single total: amounts in unlike currencies are not added up." in text(answer)


def test_a_reserve_needs_one_currency(manager):
    price(yard())
    price(yard(name="Pike Landing", currency="USD"))
    page = text(manager.get("/ahead/", {"reserve": "500"}))
    assert "A reserve is in one currency" in page
    only = text(manager.get("/ahead/", {"reserve": "500", "q": "Pike"}))
    assert "A reserve is in one currency" not in only


def test_properties_are_ticked_or_found_by_words_and_owner(manager):
    yards = [yard(name=f"{name} Yard") for name in ("Ash", "Elm", "Oak")]
    make.OwnershipFactory(property=yards[0], owner__name="Rowan Trust")
    ownership = make.OwnershipFactory(property=yards[1], owner__name="Larch Trust")

    def named(query) -> list[str]:
        return [each["name"] for each in manager.get("/ahead/", query).context["properties"]]

    assert named({}) == ["Ash Yard", "Elm Yard", "Oak Yard"]
    assert named({"q": "elm"}) == ["Elm Yard"]
    assert named({"q": "rowan"}) == ["Ash Yard"]
    assert named({"owner": ownership.owner.pk}) == ["Elm Yard"]
    assert named({"property": [yards[0].pk, yards[2].pk]}) == ["Ash Yard", "Oak Yard"]
    assert named({"property": yards[0].pk, "q": "oak"}) == []


@pytest.mark.parametrize("ticked", ["x", "-1", "9" * 400, "77000001", "\x00"])
def test_a_tick_of_what_is_not_there_is_told(manager, ticked):
    yard()
    answer = manager.get("/ahead/", {"property": ticked})
    assert "is not here to choose. Tick again." in text(answer)


def test_what_was_given_up_is_left_out(manager):
    of = yard(given_up_on=date(2026, 1, 1), given_up_reason="sold")
    assert manager.get("/ahead/").context["outlooks"] == []
    assert "No longer looked after since 1 January 2026" in text(manager.get(page_of(of)))


# Who may read


def test_a_viewer_reads_the_given_property_and_no_other(client):
    mine, other = yard(), yard(name=f"{HIDDEN} Yard")
    for of in (mine, other):
        price(of)
    client.force_login(make.make_viewer(mine))
    answer = client.get(page_of(mine))
    assert rows(answer)["Total"][4] == "2,210.00"
    assert "Move work to another year" not in text(answer)
    assert "Do it all in" not in text(answer)
    assert client.get(page_of(other)).status_code == 404
    everything = client.get("/ahead/")
    assert HIDDEN not in text(everything)
    assert rows(everything)["Total"][4] == "2,210.00"


def test_crew_read_and_change_nothing(client):
    of = yard()
    client.force_login(make.make_crew())
    page = client.get(page_of(of))
    assert page.status_code == 200
    assert "Move work to another year" not in text(page)
    assert client.get(f"/properties/{of.pk}/ahead/move/").status_code == 403


def test_plain_places_lead_here(manager):
    of = yard()
    for address in (of.get_absolute_url(), f"/costs/property/{of.pk}/"):
        assert f'href="{page_of(of)}"' in manager.get(address).content.decode(), address
    for address in ("/costs/", "/inspections/"):
        assert 'href="/ahead/"' in manager.get(address).content.decode(), address


# How much is asked of the database


def asked_of(client, address: str) -> int:
    client.get(address)
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


def test_more_members_and_moves_ask_no_more(manager):
    of = yard()
    price(of)
    face = face_of(of)
    make.WorkMoveFactory(elevation=face, first_year=2028, last_year=2028, to_year=2029)
    addresses = (page_of(of, "?year=2029&rise=2"), "/ahead/?rise=2")

    def add(numbers):
        for number in numbers:
            member = make.MemberFactory(
                building=face.building, elevation=face, mark=f"N-{'LONG-' * 4}{number}"
            )
            due(member, DueKind.REPAINT, date(2028 + number, 5, 4))
            make.WorkMoveFactory(
                elevation=None, member=member, property=of, first_year=2027 + number,
                last_year=2027 + number, to_year=2034,
            )  # fmt: skip

    # Some, so that there is something to offer: what putting it off risks is read only then.
    add(range(4))
    before = [asked_of(manager, address) for address in addresses]
    add(range(4, 10))
    assert [asked_of(manager, address) for address in addresses] == before


def test_more_properties_ask_no_more(manager):
    price(yard())
    before = asked_of(manager, "/ahead/")
    for number in range(3):
        price(yard(name=f"Yard {number}"))
    assert asked_of(manager, "/ahead/") == before
