"""How moisture and coating of a member went on, as its page draws and says it."""

import re
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.utils import timezone

from properties.models import Member
from repairs.due import schedule
from repairs.due.facts_for import KnownOf
from repairs.due.pace import planned_on
from repairs.looks.trend import MemberTrend, trend_of
from repairs.models import CostLine, DueDate, DueRule, Inspection, Stage
from repairs.models.due_dates import DueKind
from repairs.stories.member_page import records_of
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]


@pytest.fixture
def now() -> Any:
    with time_machine.travel(datetime(2026, 11, 28, 10, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make.make_manager())
    return client


def painted(on: date = date(2022, 5, 3), **member: Any) -> Member:
    of = make.MemberFactory(**{"finish": "paint", "exposure": "severe", **member})
    at = datetime(on.year, on.month, on.day, 12, tzinfo=UTC)
    repair = make.RepairFactory(member=of, zone="whole", began_at=at)
    make.StageFactory(repair=repair, kind=Stage.Kind.PAINT, began_at=at)
    schedule.after_repair(repair, None, on)
    return of


def rate(member: Member, year: int, rating: str, name: str = "flaking", **more: Any) -> Inspection:
    facts = {name: Decimal(rating), "looked_on": date(year, 5, 3), **more}
    return make.InspectionFactory(member=member, **facts)


def read(member: Member, year: int, raw: str, **more: Any) -> None:
    at = datetime(year, 5, 3, 12, tzinfo=UTC)
    make.MoistureReadingFactory(member=member, taken_at=at, raw_pct=Decimal(raw), **more)


def trend(member: Member) -> MemberTrend:
    on = timezone.localdate()
    member = Member.objects.with_place().get(pk=member.pk)
    records = records_of(member, on, CostLine.objects.all())
    known = KnownOf(member)
    return trend_of(records, planned_on(member, records.open_due_dates, on, known), known)


def page(client: Client, member: Member) -> str:
    text = client.get(member.get_absolute_url()).content.decode()
    return re.sub(r"\s+", " ", text)


# Moisture


def test_two_readings_are_drawn_with_the_limit_and_said_in_words() -> None:
    member = make.MemberFactory()
    read(member, 2024, "24")
    read(member, 2026, "14", meter="pin", wood_c=Decimal(12), treated="no")
    found = trend(member).moisture
    assert found is not None
    assert found.words == (
        "From 24 % as read on 3 May 2024 to 15 % on 3 May 2026; 1 of 2 readings is 20 % or more."
    )
    assert found.chart is not None
    assert len(found.chart.marks) == 2
    assert found.chart.limit_y is not None
    wet, dry = found.chart.marks
    assert wet.y < found.chart.limit_y < dry.y
    assert [tick.words for tick in found.chart.years] == ["2024", "2025", "2026", "2027"]


def test_what_is_beyond_the_meter_stands_open_at_the_top() -> None:
    member = make.MemberFactory()
    read(member, 2024, "60")
    read(member, 2026, "14")
    found = trend(member).moisture
    assert found is not None
    assert found.chart is not None
    wet, dry = found.chart.marks
    assert (wet.beyond, wet.y, wet.words) == (True, found.chart.top, ">30 %")
    assert not dry.beyond
    assert found.chart.has_beyond


def test_of_several_readings_on_one_day_the_line_takes_the_wettest() -> None:
    member = make.MemberFactory()
    for raw in ("12", "22", "17"):
        read(member, 2024, raw)
    read(member, 2026, "14")
    found = trend(member).moisture
    assert found is not None
    assert found.words.startswith("From 22 % as read")
    assert found.chart is not None
    wettest = min(mark.y for mark in found.chart.marks)
    assert f" {wettest}L" in found.chart.line
    assert found.chart.line.count("L") == 1


def test_one_reading_is_said_and_not_drawn(manager: Client) -> None:
    member = make.MemberFactory()
    read(member, 2026, "14")
    assert "One reading so far, 14 % as read on 3 May 2026: no trend yet." in page(manager, member)
    found = trend(member).moisture
    assert found is not None
    assert found.chart is None


def test_nothing_seen_says_nothing(manager: Client) -> None:
    member = make.MemberFactory()
    assert trend(member).is_empty
    assert "From look to look" not in page(manager, member)


# Coating


def test_ratings_are_drawn_with_curve_band_limit_and_the_planned_repaint() -> None:
    member = painted()
    rate(member, 2024, "1")
    rate(member, 2026, "2", "cracking")
    found = trend(member).coating
    assert found is not None
    assert found.words == (
        "The worst of flaking, cracking and blistering, ISO 4628: from flaking 1 on 3 May 2024 "
        "to cracking 2 on 3 May 2026."
    )
    chart = found.chart
    assert chart is not None
    assert chart.curve.startswith("M")
    assert chart.band.endswith("Z")
    assert chart.limit_words == "class 3: the rule paints it then"
    due = DueDate.objects.get(member=member, kind=DueKind.REPAINT)
    assert chart.repaint_x is not None
    assert chart.left < chart.repaint_x <= chart.right
    assert due.due_on.year < 2030


def test_the_curve_stays_within_the_drawing() -> None:
    member = painted()
    for year, rating in ((2024, "3"), (2025, "4"), (2026, "5")):
        rate(member, year, rating)
    found = trend(member).coating
    assert found is not None
    chart = found.chart
    assert chart is not None
    for path in (chart.curve, chart.band):
        numbers = [float(figure) for figure in re.findall(r"[\d.]+", path)]
        assert all(chart.left <= x <= chart.right for x in numbers[::2])
        assert all(chart.top <= y <= chart.bottom for y in numbers[1::2])


def test_a_coating_that_hardly_wears_does_not_stretch_the_years_without_end() -> None:
    member = painted()
    for year in range(2023, 2027):
        rate(member, year, "0")
    DueRule.objects.filter(kind=DueKind.REPAINT).update(latest_months=None)
    found = trend(member).coating
    assert found is not None
    assert found.chart is not None
    assert int(found.chart.years[-1].words) <= 2053
    assert len(found.chart.years) <= 10


def test_without_a_day_of_painting_ratings_are_drawn_without_a_curve(manager: Client) -> None:
    member = make.MemberFactory()
    rate(member, 2024, "1")
    rate(member, 2026, "2")
    found = trend(member)
    assert found.coating is not None
    assert found.coating.chart is not None
    assert (found.coating.chart.curve, found.coating.chart.limit_y) == ("", None)
    assert found.coating.chart.line
    assert "last painted is not recorded" in page(manager, member)


def test_ratings_of_the_coat_before_are_listed_and_not_drawn() -> None:
    member = painted(date(2025, 5, 3))
    rate(member, 2024, "4")
    rate(member, 2026, "0")
    found = trend(member)
    assert [each.words for each in found.rated] == ["Flaking: 0, none", "Flaking: 4, considerable"]
    assert found.coating is not None
    assert found.coating.words == "Rated once so far, flaking 0 on 3 May 2026: no trend yet."


def test_two_ratings_of_one_day_count_once_and_the_milder_is_said_to_be_left_out(
    manager: Client,
) -> None:
    member = painted()
    rate(member, 2025, "1")
    rate(member, 2026, "2")
    rate(member, 2026, "0.5")
    assert [each.is_left_out for each in trend(member).rated] == [False, True, False]
    assert "Not in the curve" in page(manager, member)


def test_a_rating_that_fell_is_remarked_on() -> None:
    member = painted()
    rate(member, 2024, "3")
    rate(member, 2026, "1")
    found = trend(member).coating
    assert found is not None
    assert "A rating fell in between" in found.words


def test_the_estimate_opens_to_what_it_rests_on(manager: Client) -> None:
    member = painted()
    rate(member, 2025, "1")
    rate(member, 2026, "2")
    shown = page(manager, member)
    assert "Flaking 2 after 4 years: class 3 is likely in" in shown
    assert "flaking 1 on 3 May 2025; flaking 2 on 3 May 2026" in shown
    assert "DerSimonian" in shown
    assert 'role="img"' in shown


def test_beside_a_persons_date_the_estimate_stands_and_the_way_to_move_it(client: Client) -> None:
    member = painted()
    rate(member, 2025, "1")
    due = DueDate.objects.get(member=member, kind=DueKind.REPAINT)
    due.move(date(2031, 7, 1), "Set by Ash Rowan: scaffold stands then", DueDate.SetBy.PERSON)
    client.force_login(make.make_viewer(member.building.property))
    shown = page(client, member)
    assert "A person set the repaint" in shown
    assert "Move it" not in shown
    client.force_login(make.make_manager())
    assert "Move it" in page(client, member)


def test_a_member_taken_out_keeps_its_trend_and_has_no_estimate() -> None:
    member = painted()
    rate(member, 2025, "1")
    rate(member, 2026, "2")
    member.removed_on, member.removed_reason = date(2026, 6, 1), "rotten"
    member.save()
    found = trend(member)
    assert (found.figure, found.repaint) == (None, "")
    assert found.coating is not None
    assert found.coating.chart is not None


def test_like_members_of_other_owners_are_counted_and_never_named(client: Client) -> None:
    member = painted()
    others = [painted(mark=f"X-OTHER-{n}") for n in range(3)]
    for other in others:
        rate(other, 2025, "2")
    rate(member, 2026, "2")
    client.force_login(make.make_viewer(member.building.property))
    shown = page(client, member)
    assert "3 ratings of 3 like coatings" in shown
    assert "X-OTHER" not in shown
    assert not any(other.building.property.name in shown for other in others)


def test_the_page_asks_no_more_when_more_was_seen(
    manager: Client, django_assert_max_num_queries: Any
) -> None:
    member = painted()
    asked = []
    for count in (2, 12):
        for n in range(count):
            rate(member, 2024, "1", looked_on=date(2024, 1 + n % 12, 3))
            read(member, 2024, "14")
            rate(painted(), 2025, "2")
        with django_assert_max_num_queries(22) as queries:
            page(manager, member)
        asked.append(len(queries.captured_queries))
    assert asked[0] == asked[1]


def test_the_page_of_the_repaint_tells_the_estimate_whoever_set_the_day(manager: Client) -> None:
    member = painted()
    rate(member, 2026, "2")
    due = DueDate.objects.get(member=member, kind=DueKind.REPAINT)
    due.move(date(2031, 7, 1), "Set by Ash Rowan: scaffold stands then", DueDate.SetBy.PERSON)
    shown = manager.get(due.get_absolute_url()).content.decode()
    assert "Flaking 2 after 4 years: class 3 is likely in" in shown
    assert "That would be" in shown
    look = DueDate.objects.get(member=member, kind=DueKind.COATING_LOOK)
    assert "By the ratings" not in manager.get(look.get_absolute_url()).content.decode()
    due.answer(date(2026, 6, 1))
    assert "By the ratings" not in manager.get(due.get_absolute_url()).content.decode()


def test_the_page_of_a_repaint_of_an_unknown_day_says_why_there_is_no_estimate(
    manager: Client,
) -> None:
    due = make.DueDateFactory(kind=DueKind.REPAINT)
    shown = manager.get(due.get_absolute_url()).content.decode()
    assert "ratings count from the next repaint" in shown
