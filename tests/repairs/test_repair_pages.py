import csv
import io
import re
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from repairs.logbook.entry import EarlierBatchEntry
from repairs.models import Repair, SignOff
from tests.factories import (
    MORNING,
    BuildingFactory,
    CostLineFactory,
    KeptRemarkFactory,
    MemberFactory,
    PhotographFactory,
    PropertyFactory,
    RepairFactory,
    StageFactory,
    make_crew,
    make_manager,
    make_viewer,
)
from tests.repairs.made_entries import (
    DAY,
    HOUR,
    NOW,
    entry,
    log,
    one_seal,
    painting,
    stage,
    tower,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    user = make_manager(first_name="Ash", last_name="Rowan")
    client.force_login(user)
    return user


def page(client, name, *args, **query):
    response = client.get(reverse(name, args=args), query)
    assert response.status_code == 200
    return response.content.decode()


def plain(client, repair):
    """The page's words, one blank between any two."""
    return " ".join(re.sub(r"<[^>]+>", " ", page(client, "repair-detail", repair.pk)).split())


# The list


def test_the_list_says_how_each_repair_stands(client, manager):
    RepairFactory(state="failed")
    RepairFactory(state="withdrawn")
    RepairFactory(state="in_work")
    KeptRemarkFactory(holds=True)
    curing = RepairFactory()
    StageFactory(repair=curing, ready_at=NOW + timedelta(days=40_000))
    text = page(client, "repair-list")
    for words in ("Failed", "Withdrawn", "In work", "Waits for a word", "Curing until"):
        assert words in text


def test_the_list_adds_up_what_a_repair_cost(client, manager):
    repair = RepairFactory()
    for amount in (12345, 100):
        CostLineFactory(repair=repair, building=repair.member.building, amount_minor=amount)
    assert "GBP 124.45" in page(client, "repair-list")


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"state": "failed"}, "F-1"),
        ({"state": "waiting"}, "W-1"),
        ({"kind": "splice"}, "F-1"),
        ({"search": "w-1 Mill"}, "W-1"),
        ({"after": "2026-05-05"}, "W-1"),
        ({"before": "2026-05-04"}, "F-1"),
    ],
)
def test_the_list_is_narrowed(client, manager, query, found):
    RepairFactory(member__mark="F-1", state="failed", kind="splice")
    waiting = RepairFactory(
        member__mark="W-1", began_at=MORNING + 3 * DAY, member__building__name="Mill"
    )
    KeptRemarkFactory(repair=waiting, holds=True)
    text = page(client, "repair-list", **query)
    assert [mark for mark in ("F-1", "W-1") if mark in text] == [found]


@pytest.mark.parametrize("query", [{"after": "soon"}, {"property": "x"}, {"state": "<b>"}])
def test_a_filter_of_nonsense_is_answered_kindly(client, manager, query):
    assert client.get(reverse("repair-list"), query).status_code == 200


def test_an_empty_list_says_how_to_begin(client, manager):
    assert "log the first one just after finishing it" in page(client, "repair-list")


def test_the_list_asks_as_much_of_thirty_rows_as_of_three(
    client, manager, django_assert_max_num_queries
):
    RepairFactory.create_batch(30)
    with django_assert_max_num_queries(12):
        page(client, "repair-list")


def test_a_viewer_sees_the_repairs_of_the_properties_given(client):
    seen, unseen = RepairFactory(member__mark="SEEN-1"), RepairFactory(member__mark="HID-1")
    client.force_login(make_viewer(seen.member.building.property))
    text = page(client, "repair-list")
    assert "SEEN-1" in text
    assert "HID-1" not in text
    assert unseen.member.building.property.name not in text
    for name in ("repair-detail", "repair-sign-off", "repair-finish"):
        assert client.get(reverse(name, args=[unseen.pk])).status_code in {403, 404}


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_the_list_can_be_taken_away(client, manager, kind, tmp_path):
    RepairFactory(member__mark="=cmd()")
    response = client.get(reverse("repair-list"), {"_export": kind})
    assert response.status_code == 200
    if kind == "csv":
        assert "'=cmd()" in response.content.decode()
        return
    path = tmp_path / "repairs.xlsx"
    path.write_bytes(response.content)
    assert load_workbook(path).active["A2"].value == "'=cmd()"


def test_the_file_holds_costs_that_can_be_added_up(client, manager):
    repair = RepairFactory()
    CostLineFactory(
        building=repair.member.building, member=repair.member, repair=repair, amount_minor=123456
    )
    path = reverse("repair-list")
    (line,) = csv.DictReader(io.StringIO(client.get(path, {"_export": "csv"}).content.decode()))
    assert (line["Cost"], line["Currency"]) == ("1234.56", "GBP")
    assert "GBP 1,234.56" in client.get(path).content.decode()


# One repair


def test_the_page_tells_the_whole_story(client, manager):
    made = one_seal(labour=(painting(),), costs=(tower(),), notes="Left end cut back 80 mm")
    first = replace(made.stages[0].batches[0], waste=Decimal(13), left_over=Decimal(20))
    repair = log(replace(made, stages=(replace(made.stages[0], batches=(first,)),)))
    text = plain(client, repair)
    for words in (
        repair.member.mark,
        "Left end",
        "Cause: end grain not sealed, put right",
        "100 : 33 by weight, as the sheet asks",
        "100 g to stage 1, seal",
        "13 g wasted",
        "20 g not yet placed, left over",
        "Cured since 5 May 2026, 16:18",
        "Robin Larch, 2.5 h",
        "Tower for a day",
        "GBP 167.98",
        "Left end cut back 80 mm",
        "Look at the repair",
        "Nobody has signed",
    ):
        assert words in text, words


def test_a_measured_ratio_shows_how_far_it_is_off(client, manager):
    made = one_seal()
    first = made.stages[0].batches[0]
    off = replace(first, parts=(first.parts[0], replace(first.parts[1], amount=Decimal(66))))
    repair = log(replace(made, stages=(replace(made.stages[0], batches=(off,)),)))
    text = plain(client, repair)
    assert "100 : 66 by weight, 100 % more B than the sheet’s 100 : 33 by weight" in text
    assert "Reason given: seen and accepted" in text
    assert "Give your word on it" in text


def test_times_are_those_of_the_property(client, manager):
    place = PropertyFactory(time_zone="America/New_York", unit_system="us")
    repair = log(one_seal(MemberFactory(building__property=place)))
    text = plain(client, repair)
    assert "begun 4 May 2026, 05:00" in text
    assert "4.691 oz to stage 1, seal" in text


def test_what_is_not_recorded_is_said(client, manager):
    repair = RepairFactory(done_by="")
    StageFactory(repair=repair, position=1)
    text = plain(client, repair)
    assert "Not recorded" in text
    assert "No cost is recorded for this repair" in text


def test_a_shared_batch_links_both_repairs(client, manager):
    made = one_seal()
    first = replace(made.stages[0].batches[0], left_over=Decimal(33))
    repair = log(replace(made, stages=(replace(made.stages[0], batches=(first,)),)))
    taken = EarlierBatchEntry(repair.stages.get().batches_mixed.get(), Decimal(33))
    other = MemberFactory(mark="N-POST-7")
    second = log(entry(other, stage("fill", at=MORNING + HOUR, earlier_batches=(taken,))))
    assert "33 g to N-POST-7" in plain(client, repair)
    assert second.get_absolute_url() in page(client, "repair-detail", repair.pk)
    assert repair.get_absolute_url() in page(client, "repair-detail", second.pk)
    client.force_login(make_viewer(repair.member.building.property))
    text = plain(client, repair)
    assert "33 g to a repair on another property" in text
    assert "N-POST-7" not in text


def test_a_viewer_reads_the_lot_number_without_its_page(client, manager):
    repair = log(one_seal())
    lot = repair.stages.get().batches_mixed.get().parts.first().lot
    assert lot.get_absolute_url() in page(client, "repair-detail", repair.pk)
    client.force_login(make_viewer(repair.member.building.property))
    text = page(client, "repair-detail", repair.pk)
    assert lot.number in text
    assert lot.get_absolute_url() not in text


def test_a_foreign_cost_is_summed_by_currency_and_at_its_rate(client, manager):
    repair = log(one_seal(costs=(tower(5000, "USD"),), rates={"USD": Decimal("0.8")}))
    text = plain(client, repair)
    assert "USD 50.00" in text
    assert "All, each line at the rate of its day GBP 47.98" in text


def test_photographs_stand_under_their_moment(client, manager):
    photograph = PhotographFactory(moment="before", caption='The "left" <end>')
    text = page(client, "repair-detail", photograph.repair.pk)
    assert reverse("photograph-file", args=[photograph.pk]) in text
    assert "&lt;end&gt;" in text


# A person's word


def test_a_sign_off_is_kept_with_who_entered_it(client, manager):
    repair = log(one_seal())
    response = client.post(
        reverse("repair-sign-off", args=[repair.pk]),
        {
            "verdict": "with_snags",
            "signed_on": "2026-05-08",
            "name": "Iris Holm",
            "role": "surveyor",
            "note": "Prime the end grain",
        },
    )
    assert response.status_code == 302
    signed = SignOff.objects.get()
    assert (signed.repair, signed.entered_by, signed.signed_on) == (
        repair,
        manager,
        date(2026, 5, 8),
    )
    assert "Iris Holm, surveyor" in plain(client, repair)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"signed_on": "2225-01-01"}, "still to come"),
        ({"signed_on": "1825-01-01"}, "The repair began on 4 May 2026"),
        ({"name": ""}, "Still empty"),
        ({"verdict": "splendid"}, "not one of the available choices"),
    ],
)
def test_a_sign_off_that_cannot_be_is_sent_back(client, manager, typed, sentence):
    repair = RepairFactory()
    sent = {"verdict": "accepted", "signed_on": "2026-05-08", "name": "Iris Holm", **typed}
    response = client.post(reverse("repair-sign-off", args=[repair.pk]), sent)
    assert sentence in response.content.decode()
    assert not SignOff.objects.exists()


def test_a_word_releases_a_remark(client, manager):
    remark = KeptRemarkFactory(holds=True)
    where = reverse("repair-release", args=[remark.repair.pk, remark.pk])
    assert remark.found in client.get(where).content.decode()
    client.post(where, {"word": "Tried with a thumbnail: hard"})
    remark.refresh_from_db()
    assert (remark.released_by, remark.released_word) == (
        manager,
        "Tried with a thumbnail: hard",
    )
    assert "Tried with a thumbnail: hard" in plain(client, remark.repair)


def test_an_empty_word_releases_nothing(client, manager):
    remark = KeptRemarkFactory(holds=True)
    client.post(reverse("repair-release", args=[remark.repair.pk, remark.pk]), {"word": "  "})
    remark.refresh_from_db()
    assert remark.released_on is None


def test_a_remark_of_another_repair_is_not_found(client, manager):
    remark = KeptRemarkFactory(holds=True)
    there = reverse("repair-release", args=[RepairFactory().pk, remark.pk])
    assert client.get(there).status_code == 404


def test_a_repair_in_work_is_finished(client, manager):
    repair = log(one_seal(finished=False))
    client.post(
        reverse("repair-finish", args=[repair.pk]),
        {"ended_on": "2026-05-06", "ended_time": "16:30", "next_look_on": "2026-07-01"},
    )
    repair.refresh_from_db()
    assert repair.state == Repair.State.FINISHED
    assert repair.ended_at.isoformat() == "2026-05-06T15:30:00+00:00"
    assert repair.due_dates.get(kind="repair_look").due_on == date(2026, 7, 1)


def test_a_repair_is_withdrawn_by_a_manager_with_a_reason(client, manager):
    repair = log(one_seal())
    there = reverse("repair-withdraw", args=[repair.pk])
    assert "Still empty" in client.post(there, {"reason": ""}).content.decode()
    client.post(there, {"reason": "typed on the wrong sill"})
    repair.refresh_from_db()
    assert repair.state == Repair.State.WITHDRAWN
    assert "typed on the wrong sill" in plain(client, repair)


def test_crew_signs_and_releases_but_does_not_withdraw(client):
    client.force_login(make_crew())
    remark = KeptRemarkFactory(holds=True)
    repair = remark.repair
    assert client.get(reverse("repair-sign-off", args=[repair.pk])).status_code == 200
    assert client.get(reverse("repair-release", args=[repair.pk, remark.pk])).status_code == 200
    assert client.get(reverse("repair-withdraw", args=[repair.pk])).status_code == 403


def test_a_viewer_changes_nothing(client):
    remark = KeptRemarkFactory(holds=True)
    repair = remark.repair
    client.force_login(make_viewer(repair.member.building.property))
    for name, args in (
        ("repair-sign-off", [repair.pk]),
        ("repair-finish", [repair.pk]),
        ("repair-withdraw", [repair.pk]),
        ("repair-release", [repair.pk, remark.pk]),
    ):
        assert client.post(reverse(name, args=args), {}).status_code == 403


def test_a_member_with_a_very_long_name_keeps_its_page(client, manager):
    building = BuildingFactory(name="G" * 200)
    repair = RepairFactory(member__building=building, member__mark="M" * 40, notes="é<b>" * 1000)
    assert "&lt;b&gt;" in page(client, "repair-detail", repair.pk)
