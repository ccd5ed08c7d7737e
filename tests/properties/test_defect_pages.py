"""The pages that enter and change defects and moisture readings."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from time_machine import TimeMachineFixture

from properties.models import Defect, MoistureReading
from tests.factories import (
    DefectFactory,
    MemberFactory,
    MoistureReadingFactory,
    make_crew,
    make_viewer,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _in_may(time_machine: TimeMachineFixture) -> None:
    time_machine.move_to("2026-05-20 12:00Z", tick=False)


@pytest.fixture
def crew(client: Client) -> Client:
    client.force_login(make_crew(first_name="Robin", last_name="Larch"))
    return client


def post(client: Client, name: str, pk: int, query: str = "", /, **typed: Any) -> str:
    there = reverse(name, args=[pk]) + query
    return client.post(there, typed, follow=True).content.decode()


def defect(**changed: str) -> dict[str, str]:
    return {
        "zone": "left",
        "kind": "decay",
        "found_on": "2026-05-19",
        "cause": "gutter",
        "cause_state": "not_yet",
        "section_loss": "5_20",
        "structural_concern": "unknown",
        **changed,
    }


def test_crew_record_a_defect_with_its_cause(crew: Client) -> None:
    member = MemberFactory()
    shown = post(crew, "defect-new", member.pk, **defect(length_mm="30 cm", depth_mm="1/2 in"))
    found = Defect.objects.get()
    assert (found.length_mm, found.depth_mm) == (Decimal(300), Decimal("12.7"))
    assert found.recorded_by is not None
    assert "Gutter or downpipe" in shown
    assert "Not yet put right" in shown
    assert "<dt>Width</dt><dd>Not recorded</dd>" in shown


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"found_on": "2225-01-01"}, "lies after 20 May 2026"),
        ({"found_on": ""}, "Still empty: type or choose"),
        ({"found_on": "1025-01-01"}, "too long ago"),
        ({"depth_mm": "5 lb"}, "not a length"),
        ({"cause_put_right_on": "2026-05-01"}, "put right"),
        ({"zone": "nowhere"}, "Select a valid choice"),
    ],
)
def test_a_faulty_defect_is_not_saved_and_says_why(
    crew: Client, changed: dict[str, str], said: str
) -> None:
    shown = post(crew, "defect-new", MemberFactory().pk, **defect(**changed))
    assert "Nothing is saved yet" in shown
    assert said in shown
    assert not Defect.objects.exists()


def test_a_defect_found_in_1825_is_kept(crew: Client) -> None:
    post(crew, "defect-new", MemberFactory().pk, **defect(found_on="1825-05-03"))
    assert Defect.objects.get().found_on == date(1825, 5, 3)


def test_a_defect_is_made_good_on_a_day(crew: Client) -> None:
    found = DefectFactory()
    said = post(crew, "defect-edit", found.pk, **defect(state="made_good"))
    assert "Say on which day it was closed" in said
    post(crew, "defect-edit", found.pk, **defect(state="made_good", closed_on="2026-05-20"))
    found.refresh_from_db()
    assert not found.is_outstanding()


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"state": "open", "closed_on": "2026-05-20"}, "It is not closed in that state"),
        ({"state": "made_good", "closed_on": "2026-05-01"}, "closed before it was found"),
        ({"state": "made_good", "closed_on": "2226-05-01"}, "lies after"),
    ],
)
def test_a_defect_is_not_closed_against_its_days(
    crew: Client, changed: dict[str, str], said: str
) -> None:
    assert said in post(crew, "defect-edit", DefectFactory().pk, **defect(**changed))


def test_outstanding_and_its_twin_agree() -> None:
    for state in Defect.State:
        DefectFactory(state=state)
    found = set(Defect.objects.outstanding())
    assert found == {each for each in Defect.objects.all() if each.is_outstanding()}


def test_the_most_urgent_defect_comes_first() -> None:
    for urgency in ("UC1", "", "UC3"):
        DefectFactory(urgency=urgency)
    order = [each.urgency for each in Defect.objects.most_urgent_first()]
    assert order == ["UC3", "UC1", ""]


# Moisture


def reading(**changed: str) -> dict[str, str]:
    return {
        "zone": "left",
        "raw_pct": "15",
        "taken_on": "2026-05-20",
        "taken_time": "09:30",
        "meter": "pin",
        "treated": "no",
        "wood_c": "10 °C",
        **changed,
    }


def test_a_cold_reading_is_corrected_and_says_how(crew: Client) -> None:
    member = MemberFactory()
    shown = post(crew, "moisture-new", member.pk, **reading())
    kept = MoistureReading.objects.get()
    assert kept.corrected_pct is not None
    assert kept.corrected_pct > kept.raw_pct
    assert f"{kept.corrected_pct.normalize():f} %" in shown
    assert "Corrected from 10 °C" in shown
    assert kept.taken_at == datetime(2026, 5, 20, 8, 30, tzinfo=UTC)


def test_a_meter_set_for_another_species_is_corrected_to_that_of_the_member(crew: Client) -> None:
    oak, larch = MemberFactory(species="European oak"), MemberFactory(species="larch")
    post(crew, "moisture-new", oak.pk, **reading(set_for="beech"))
    shown = post(crew, "moisture-new", larch.pk, **reading(set_for="beech"))
    of_oak, of_larch = (each.moisture_readings.get() for each in (oak, larch))
    assert (of_oak.raw_pct, of_oak.corrected_pct) == (Decimal(15), Decimal("15.1"))
    assert of_larch.corrected_pct == Decimal("16.3")
    assert "No correction from beech to larch is known." in shown


def test_a_species_that_no_curve_is_known_of_cannot_be_chosen(crew: Client) -> None:
    shown = post(crew, "moisture-new", MemberFactory().pk, **reading(set_for="teak"))
    assert "Nothing is saved yet" in shown
    assert not MoistureReading.objects.exists()


def test_wood_wetter_than_a_meter_can_tell_shows_as_over_thirty(crew: Client) -> None:
    shown = post(crew, "moisture-new", MemberFactory().pk, **reading(raw_pct="47.3"))
    assert "&gt;30 %" in shown
    assert "47.3" not in shown
    assert MoistureReading.objects.get().raw_pct == Decimal("47.3")


@pytest.mark.parametrize("changed", [{"wood_c": ""}, {"treated": "yes"}, {"meter": "pinless"}])
def test_an_unknown_correction_leaves_the_reading_as_read(
    crew: Client, changed: dict[str, str]
) -> None:
    shown = post(crew, "moisture-new", MemberFactory().pk, **reading(**changed))
    assert MoistureReading.objects.get().corrected_pct is None
    assert "15 % as read" in shown


def test_a_dry_zero_is_a_reading(crew: Client) -> None:
    shown = post(crew, "moisture-new", MemberFactory().pk, **reading(raw_pct="0", meter="oven"))
    assert '<td class="num" data-label="As read">0 %</td>' in shown


def test_the_worst_of_the_latest_readings_governs(crew: Client) -> None:
    member = MemberFactory()
    for raw in ("14", "22", "17"):
        post(crew, "moisture-new", member.pk, **reading(raw_pct=raw, wood_c="20 °C"))
    shown = crew.get(member.get_absolute_url()).content.decode()
    assert "The worst of the latest readings governs: <b>22 %</b>" in shown


def test_the_latest_readings_are_those_of_one_day_on_site(crew: Client) -> None:
    """An evening in New York runs over midnight in Greenwich."""
    member = MemberFactory(building__property__time_zone="America/New_York")
    for hour, raw in ((23, "22"), (25, "14")):
        at = datetime(2026, 5, 1, tzinfo=UTC) + timedelta(hours=hour)
        MoistureReadingFactory(member=member, taken_at=at, raw_pct=Decimal(raw), meter="oven")
    shown = crew.get(member.get_absolute_url()).content.decode()
    assert "The worst of the latest readings governs: <b>22 %</b>" in shown


def test_a_reading_of_a_defect_goes_back_to_it(crew: Client) -> None:
    found = DefectFactory()
    query = f"?defect={found.pk}"
    shown = post(crew, "moisture-new", found.member.pk, query, **reading())
    assert MoistureReading.objects.get().defect == found
    assert "Repairs of it" in shown


def test_a_defect_of_another_member_is_not_found(crew: Client) -> None:
    there = reverse("moisture-new", args=[MemberFactory().pk])
    assert crew.get(there, {"defect": DefectFactory().pk}).status_code == 404


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"raw_pct": "-1"}, "Type 0 or more."),
        ({"raw_pct": "201"}, "Type 200 or less."),
        ({"raw_pct": ""}, "Still empty: type or choose"),
        ({"wood_c": "95 °C"}, "at most"),
        ({"wood_c": "12 mm"}, "not a temperature"),
        ({"taken_on": "2026-05-21"}, "lies after"),
        ({"taken_time": "25:99"}, "Type the time like 09:30"),
        ({"taken_on": "2026-03-29", "taken_time": "01:30"}, "The clocks skipped"),
    ],
)
def test_a_faulty_reading_is_not_saved_and_says_why(
    crew: Client, changed: dict[str, str], said: str
) -> None:
    assert said in post(crew, "moisture-new", MemberFactory().pk, **reading(**changed))
    assert not MoistureReading.objects.exists()


def test_a_viewer_reads_and_records_nothing(client: Client) -> None:
    found = DefectFactory()
    client.force_login(make_viewer(found.member.building.property))
    assert client.get(found.get_absolute_url()).status_code == 200
    for name, pk in [
        ("defect-edit", found.pk),
        ("defect-new", found.member.pk),
        ("moisture-new", found.member.pk),
        ("member-replace", found.member.pk),
    ]:
        assert client.get(reverse(name, args=[pk])).status_code == 403, name


def test_another_propertys_defect_is_not_found(client: Client) -> None:
    client.force_login(make_viewer(MemberFactory().building.property))
    assert client.get(DefectFactory().get_absolute_url()).status_code == 404
