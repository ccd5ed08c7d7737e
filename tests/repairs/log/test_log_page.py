"""The log page through its own door: what is posted, what is kept, what is said."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from decimal import Decimal

import pytest

from repairs.models import Batch, Repair
from tests.factories import (
    DefectFactory,
    MemberFactory,
    make_crew,
    make_kit_lot,
    make_viewer,
)
from tests.repairs.log.form import LOG, said, typed


def test_a_page_opens_with_the_usual_stages_and_no_member(page):
    words = said(page.get(LOG))
    assert "First the member" in words
    for stage in ("Seal", "Fill", "Paint"):
        assert f"<span data-title>{stage}</span>" in words


def test_a_member_is_found_by_its_mark_without_a_script(page, sill):
    words = said(page.post(LOG, {"key": str(uuid.uuid4()), "find": "sill-03", "act": "find"}))
    assert f'<button name="take" value="{sill.pk}"' in words


def test_members_are_found_as_one_types(page, sill):
    MemberFactory(mark="S-POST-01")
    words = said(page.get("/repairs/log/members/?find=sill-03"))
    assert "N-SILL-03" in words
    assert "S-POST-01" not in words
    assert "No member fits" in said(page.get("/repairs/log/members/?find=zzz"))


def test_only_twenty_members_are_offered_at_once(page, sill):
    MemberFactory.create_batch(30, building=sill.building, elevation=sill.elevation)
    assert said(page.get("/repairs/log/members/?find=sill")).count('name="take"') == 20


def test_taking_a_member_takes_its_one_open_defect_and_its_zone(page, sill):
    defect = DefectFactory(member=sill, zone="right")
    words = said(page.post(LOG, {"key": str(uuid.uuid4()), "take": str(sill.pk)}))
    assert f'name="defects" value="{defect.pk}"' in words.replace("checked", "checked")
    assert 'value="right" id="id_zone_2" required checked' in words or "checked" in words


def test_a_defect_in_the_address_opens_the_page_with_it(page, sill):
    DefectFactory(member=sill, zone="left")
    asked = DefectFactory(member=sill, zone="right")
    answer = page.get(f"{LOG}?defect={asked.pk}")
    assert answer.context["page"].repair.data.getlist("defects") == [str(asked.pk)]


def test_a_repair_is_saved_whole(page, sill, kit):
    answer = page.post(LOG, typed(sill, kit))
    repair = Repair.objects.get()
    assert answer.url == repair.get_absolute_url()
    assert repair.began_at == datetime(2026, 5, 6, 9, 0, tzinfo=UTC)
    assert repair.ended_at == datetime(2026, 5, 6, 9, 30, tzinfo=UTC)
    batch = Batch.objects.get()
    assert [part.amount for part in batch.parts.order_by("part")] == [Decimal(100), Decimal(33)]
    assert [lot.remaining() for lot in kit.part_lots.order_by("part")] == [
        Decimal(900), Decimal(297),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("amount", "a", "b"),
    [
        ("0.5 kit", "500", "165"),
        ("a quarter of a kit", "250", "82.5"),
        ("1/4 kit", "250", "82.5"),
        ("6 oz + 2 oz", "170.097", "56.699"),
    ],
)
def test_amounts_are_typed_as_people_say_them(page, sill, kit, amount, a, b):
    page.post(LOG, typed(sill, kit, **{"stage-0-batch-0-amount": amount}))
    parts = Batch.objects.get().parts.order_by("part")
    assert [part.amount for part in parts] == [Decimal(a), Decimal(b)]


def test_an_untouched_stage_is_passed_over(page, sill, kit):
    page.post(LOG, typed(sill, kit, **{"stage-1-kind": "fill", "stage-1-on": "", "stage-1-at": ""}))
    assert [stage.kind for stage in Repair.objects.get().stages.all()] == ["seal"]


def test_nothing_done_at_all_is_not_a_repair(page, sill, kit):
    answer = page.post(
        LOG, typed(sill, kit, **{"stage-0-batch-0-amount": "", "stage-0-batch-0-lot": "",
                                 "stage-0-batch-0-mixed": "", "stage-0-batch-0-used": ""})
    )  # fmt: skip
    assert "fill in at least one stage" in said(answer)
    assert not Repair.objects.exists()


def test_the_second_stage_takes_the_day_of_the_first(page, sill, kit):
    sealed = {
        name.replace("stage-0", "stage-1"): value
        for name, value in typed(sill, kit).items()
        if name.startswith("stage-0-batch")
    }
    none = dict.fromkeys((name.replace("stage-1", "stage-0") for name in sealed), "")
    opened = {"stage-0-kind": "open_up", "stage-0-at": "08:15", "stage-1-kind": "seal"}
    page.post(LOG, typed(sill, kit, **none, **opened, **sealed))
    first, second = Repair.objects.get().stages.all()
    assert first.began_at == datetime(2026, 5, 6, 7, 15, tzinfo=UTC)
    assert second.began_at == datetime(2026, 5, 6, 9, 0, tzinfo=UTC)


# Buttons that change the page and lose nothing


def act(page, name, **values):
    values = {"key": str(uuid.uuid4()), "notes": 'Kept "as" <typed>', **values, "act": name}
    answer = page.post(LOG, values)
    assert answer.status_code == 200
    assert "Kept &quot;as&quot; &lt;typed&gt;" in said(answer)
    return answer.context["page"]


def test_a_stage_is_added(page):
    assert len(act(page, "add-stage", **{"stage-4-kind": "seal"}).stages) == 2


def test_a_second_batch_begins_with_the_lot_and_time_of_the_first(page, kit):
    first = {"lot": str(kit.pk), "mixed": "10:00", "amount": "100 g + 33 g", "waste": "5 g"}
    values = {f"stage-0-batch-0-{name}": value for name, value in first.items()}
    batch = act(page, "add-batch-0", **values).stages[0].batches[1]
    assert [batch.typed(name) for name in ("lot", "mixed", "amount")] == [str(kit.pk), "10:00", ""]


def test_the_last_batch_is_repeated_with_its_amount_but_not_its_waste(page, kit):
    first = {"lot": str(kit.pk), "mixed": "10:00", "amount": "100 g + 33 g", "waste": "5 g"}
    values = {f"stage-0-batch-0-{name}": value for name, value in first.items()}
    batch = act(page, "repeat-batch-0", **values).stages[0].batches[1]
    assert (batch.typed("amount"), batch.typed("waste")) == ("100 g + 33 g", "")


def test_a_stage_is_left_out(page):
    left = act(page, "drop-stage-1", **{"stage-0-kind": "seal", "stage-1-kind": "fill"})
    assert [stage.title() for stage in left.stages] == ["Seal"]


@pytest.mark.parametrize("name", ["add-labour", "add-cost"])
def test_a_line_is_added(page, name):
    assert act(page, name, **{"labour-0-hours": "2", "cost-0-amount": "3"})


def test_an_unknown_button_changes_nothing(page):
    assert act(page, "drop-everything", **{"stage-0-kind": "seal"}).stages


# What is refused, with what to do, and kept


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("stage-0-batch-0-amount", "", "Type how much was mixed"),
        ("stage-0-batch-0-amount", "-100 g + 33 g", "cannot be below zero"),
        ("stage-0-batch-0-amount", "100 g + 33 ml", "Weigh both or measure both"),
        ("stage-0-batch-0-amount", "100 g", "Type A and B as measured"),
        ("stage-0-batch-0-amount", "99999999999 g + 3 g", "Check the figure"),
        ("stage-0-batch-0-amount", "some", "Begin with a number"),
        ("stage-0-batch-0-lot", "", "Choose the product and lot"),
        ("stage-0-batch-0-lot", "999999", "Select a valid choice"),
        ("stage-0-batch-0-used", "09:00", "It was used before it was mixed"),
        ("stage-0-at", "11:00", "It was mixed before the stage began"),
        ("stage-0-on", "1825-05-06", "1825 is too long ago"),
        ("stage-0-on", "2225-05-06", "still to come (6 May 2225)"),
        ("stage-0-on", "yesterday", "Type the day like 3 May 2026"),
        ("stage-0-thickness", "1/0", "cannot be 0 under the line"),
        ("stage-0-thickness", "0 mm", "thicker than nothing"),
        ("stage-0-humidity_pct", "120", "less than or equal to 100"),
        ("stage-0-air_c", "900", "Check the figure and its unit"),
        ("zone", "", "Say where on the member"),
        ("labour-0-hours", "-2", "cannot be below zero"),
        ("labour-0-hours", "lots", "Begin with a number"),
        ("cost-0-amount", "-5", "at least"),
        ("next_look_on", "2026-05-01", "still to come"),
        ("notes", "x" * 5001, "at most 5000 characters"),
        ("stage-0-batch-0-a2_number", "A-99", "Give both the number"),
    ],
)
def test_what_cannot_be_read_is_said_beside_its_field_and_kept(
    page, sill, kit, name, value, sentence
):
    answer = page.post(LOG, typed(sill, kit, **{"cost-0-kind": "other", name: value}))
    words = said(answer).replace("&quot;", '"').replace("&#x27;", "'")
    assert sentence in words
    assert not Repair.objects.exists()
    shown = answer.context["page"].typed
    assert shown[name] == value


def test_a_stage_that_ends_before_it_begins_is_refused(page, sill, kit):
    times = {"stage-0-at": "10:00", "stage-0-until": "09:00"}
    assert "ends before it begins" in said(page.post(LOG, typed(sill, kit, **times)))


def test_a_save_without_a_member_keeps_all_and_says_what_to_do(page, sill, kit):
    answer = page.post(LOG, typed(sill, kit, member=""))
    assert "Choose the member first" in said(answer)
    assert "100 g + 33 g" in said(answer)


def test_another_propertys_member_is_not_found(client, db, sill, kit):
    client.force_login(make_crew())
    answer = client.post(LOG, typed(sill, kit, member="987654"))
    assert "Choose it again" in said(answer)
    assert client.get(f"{LOG}?member=987654").status_code == 404


def test_a_viewer_cannot_log(client, sill):
    client.force_login(make_viewer(sill.building.property))
    assert client.get(LOG).status_code == 403
    assert client.post(LOG, {}).status_code == 403
    assert client.get("/repairs/log/members/?find=N").status_code == 403


def test_long_notes_in_arabic_with_quotes_are_kept_as_typed(page, sill, kit):
    notes = ('إصلاح عتبة "النافذة" <b>' * 300)[:5000].strip()
    page.post(LOG, typed(sill, kit, notes=notes, done_by="سعاد «الخشب»"))
    repair = Repair.objects.get()
    assert (repair.notes, repair.done_by) == (notes, "سعاد «الخشب»")


def test_one_form_sent_twice_makes_one_repair(page, sill, kit):
    form = typed(sill, kit)
    first, second = page.post(LOG, form), page.post(LOG, form)
    assert first.url == second.url
    assert Repair.objects.count() == 1
    assert kit.part_lots.get(part="a").remaining() == 900


def test_a_lot_used_up_from_two_sessions_is_kept_twice_and_wants_counting(page, sill, resin):
    small = make_kit_lot(resin, a=100, b=33)
    for _ in range(2):
        form = typed(sill, small)
        answer = page.post(LOG, form)
        if answer.status_code == 200:
            reasons = dict.fromkeys(answer.context["page"].reasons.fields, "Both took some")
            answer = page.post(LOG, {**form, **reasons})
        assert answer.status_code == 302
    assert small.part_lots.get(part="a").remaining() == -100
    assert small.part_lots.get(part="a").count_needed()
