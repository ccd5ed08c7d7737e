"""On the pages of a look: sizes of coating defects, and what was found against what was said."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.test import Client

from repairs.models import DueDate, DueRule, Inspection
from repairs.replace_member import take_out
from tests import factories as make
from tests.repairs.looking import NOW, TODAY, address, due_look, typed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("now")]


@pytest.fixture
def now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def crew(client: Client) -> Client:
    client.force_login(make.make_crew(first_name="Robin", last_name="Larch"))
    return client


def read(client: Client, look: Inspection) -> str:
    return client.get(look.get_absolute_url()).content.decode()


# Sizes


def test_size_and_depth_of_flaking_are_kept_and_read_in_words(crew: Client) -> None:
    due = due_look()
    crew.post(
        address(due=due.pk),
        typed(due, flaking="2", flaking_size="S3", flaking_depth="wood", cracking="1",
              cracking_size="S2"),
    )  # fmt: skip
    look = Inspection.objects.get()
    assert (look.flaking_size, look.flaking_depth, look.cracking_size) == ("S3", "wood", "S2")
    page = read(crew, look)
    assert "2, slight; size S3, up to 10 mm, down to the wood" in page
    assert "1, very slight; size S2, just visible with the naked eye" in page


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("flaking", {"flaking_size": "S3"}), ("flaking", {"flaking_depth": "wood"}),
        ("cracking", {"cracking_size": "S1"}), ("blistering", {"blistering_size": "S5"}),
    ],
)  # fmt: skip
@pytest.mark.parametrize("rating", ["", "0", "na"])
def test_a_size_of_nothing_is_refused_and_what_was_typed_stays(
    crew: Client, name: str, size: dict[str, str], rating: str
) -> None:
    due = due_look()
    answer = crew.post(address(due=due.pk), typed(due, **{name: rating}, **size, notes="As typed"))
    (field,) = size
    assert f"Rate the {name} above 0 first" in str(answer.context["form"].errors[field])
    assert answer.context["sizes_open"]
    assert "As typed" in answer.content.decode()
    assert not Inspection.objects.exists()


def test_an_unknown_size_is_refused(crew: Client) -> None:
    due = due_look()
    answer = crew.post(address(due=due.pk), typed(due, flaking="2", flaking_size="S6"))
    assert "flaking_size" in answer.context["form"].errors


def test_the_sizes_are_folded_until_one_is_known(crew: Client) -> None:
    due = due_look()
    assert not crew.get(address(due=due.pk)).context["sizes_open"]
    make.InspectionFactory(
        member=due.member, repair=due.repair, looked_on=date(2026, 5, 20), flaking=Decimal(2),
        flaking_size="S3",
    )  # fmt: skip
    again = crew.get(address(due=due.pk, as_last=1))
    assert again.context["sizes_open"]
    assert again.context["form"]["flaking_size"].value() == "S3"


# What was found


def test_sound_with_soft_wood_is_kept_and_the_two_are_said_not_to_fit(crew: Client) -> None:
    due = due_look()
    answer = crew.post(address(due=due.pk), typed(due, edge="soft"), follow=True)
    following = DueDate.objects.outstanding().get()
    assert following.due_on == date(2026, 8, 4)
    page = answer.content.decode()
    assert page.count("The two do not fit") == 2
    assert "What it asks of the next look" in page
    assert "Half the usual interval, and within 3 months" in page


def test_a_person_overrides_what_was_found(crew: Client) -> None:
    due = due_look()
    crew.post(
        address(due=due.pk),
        typed(due, edge="soft", next_on="2026-10-01", next_reason="opened up in October anyway"),
    )
    following = DueDate.objects.outstanding().get()
    assert (following.due_on, following.set_by) == (date(2026, 10, 1), "person")


def test_a_hairline_is_told_and_changes_no_date(crew: Client) -> None:
    due = due_look()
    crew.post(address(due=due.pk), typed(due, edge="hairline"))
    assert DueDate.objects.outstanding().get().due_on == date(2026, 11, 4)
    assert "Noted; it changes no date" in read(crew, Inspection.objects.get())


def test_the_form_says_what_makes_the_next_look_sooner(crew: Client) -> None:
    page = crew.get(address(due=due_look().pk)).content.decode()
    assert "Urgency UC3" in page
    assert "next on 4 July 2026 at the latest" in page


def test_a_form_sent_back_says_what_its_facts_ask(crew: Client) -> None:
    due = due_look()
    answer = crew.post(address(due=due.pk), typed(due, result="", moisture_pct="24", urgency="UC3"))
    page = answer.content.decode()
    assert "The next look comes sooner" in page
    assert "Moisture 24 %: half the usual interval (US Navy MO-312" in page


def test_a_form_without_its_key_is_shown_again_and_breaks_nothing(crew: Client) -> None:
    due = due_look()
    answer = crew.post(address(due=due.pk), typed(due, key="", flaking="2"))
    assert answer.status_code == 200
    assert not Inspection.objects.exists()


def test_ratings_move_the_repaint_from_the_page(crew: Client) -> None:
    due = due_look()
    rule = DueRule.objects.filter(kind="repaint", repaint_at__isnull=False).first()
    repair = due.repair
    assert repair is not None
    make.RepairFactory(
        member=due.member, kind="repaint", zone="whole", began_at=NOW - timedelta(days=4 * 365)
    )
    planned = make.DueDateFactory(
        member=due.member, kind="repaint", rule=rule, due_on=date(2040, 1, 1),
        counted_from=date(2022, 6, 5),
    )  # fmt: skip
    crew.post(address(due=due.pk), typed(due, flaking="4"))
    planned.refresh_from_db()
    assert planned.set_by == "ratings"
    assert TODAY < planned.due_on < date(2027, 12, 31)
    assert planned.set_because.startswith("Flaking 4 after 4 years: class 3 is reached")


# Between due and done


def test_a_member_taken_out_in_between_keeps_the_look_and_sets_none(crew: Client) -> None:
    due = due_look()
    successor = make.MemberFactory.build(
        building=due.member.building, elevation=due.member.elevation, mark="N-SILL-03B"
    )
    take_out(due.member, date(2026, 6, 3), "rotten through", successor)
    form = crew.get(address(due=due.pk)).content.decode()
    assert "N-SILL-03 was taken out on 3 June 2026. N-SILL-03B stands in its place" in form
    told = crew.post(address(due=due.pk), typed(due, looked_on="2026-06-02"))
    assert "no longer planned" in str(told.context["form"].errors["due"])
    answer = crew.post(
        address(due=due.pk), typed(looked_on="2026-06-02", result="watch"), follow=True
    )
    assert Inspection.objects.get().due is None
    assert not DueDate.objects.outstanding().exists()
    assert "So no next look is set." in answer.content.decode()


def test_a_property_sold_in_between_keeps_the_look_and_sets_none(crew: Client) -> None:
    due = due_look()
    place = due.member.building.property
    place.given_up_on, place.given_up_reason = date(2026, 6, 1), "sold"
    place.save()
    answer = crew.post(address(due=due.pk), typed(due, edge="soft", urgency="UC3"), follow=True)
    due.refresh_from_db()
    assert due.done_on == TODAY
    assert not DueDate.objects.outstanding().exists()
    assert f"{place.name} is no longer looked after since 1 June 2026" in answer.content.decode()


def test_a_building_demolished_in_between_is_told(crew: Client) -> None:
    due = due_look()
    due.member.building.demolished_on = date(2026, 6, 1)
    due.member.building.save()
    page = crew.get(address(due=due.pk)).content.decode()
    assert "was demolished on 1 June 2026" in page


def test_a_page_of_a_look_asks_no_more_for_more_readings(
    crew: Client, django_assert_num_queries: Any
) -> None:
    look = make.InspectionFactory()
    for count in (1, 9):
        for _ in range(count):
            look.moisture.add(make.MoistureReadingFactory(member=look.member))
        with django_assert_num_queries(9):
            crew.get(look.get_absolute_url())
