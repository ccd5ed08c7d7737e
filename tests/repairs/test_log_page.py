"""The log page through its own door: what is posted, what is kept, what is said."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.contrib.auth.models import User

from materials.models import Lot, Product
from repairs.models import Batch, Repair
from repairs.remarks import cautions_for
from tests.factories import (
    DefectFactory,
    LabourFactory,
    LotFactory,
    MemberFactory,
    ProductFactory,
    PropertyFactory,
    RepairFactory,
    SheetRevisionFactory,
    make_crew,
    make_kit_lot,
    make_viewer,
)

NOW = datetime(2026, 5, 6, 15, 0, tzinfo=UTC)
LOG = "/repairs/log/"


@pytest.fixture(autouse=True)
def _afternoon():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def crew(db):
    return make_crew(first_name="Robin", last_name="Larch")


@pytest.fixture
def page(client, crew):
    client.force_login(crew)
    return client


@pytest.fixture
def sill(db):
    return MemberFactory(mark="N-SILL-03")


@pytest.fixture
def resin(db):
    product = ProductFactory(name="Invented Seal", kind=Product.Kind.LAMINATING_RESIN)
    SheetRevisionFactory(product=product)
    return product


@pytest.fixture
def kit(resin):
    return make_kit_lot(resin, number="K-17")


def typed(member_, kit, **more):
    """What a crew member types for one sealed member; later names overwrite earlier ones."""
    return {
        "key": str(uuid.uuid4()),
        "member": str(member_.pk),
        "zone": "left",
        "kind": "resin",
        "relation": "auto",
        "finished": "on",
        "done_by": "Robin Larch",
        "stage-0-kind": "seal",
        "stage-0-on": "2026-05-06",
        "stage-0-batch-0-lot": str(kit.pk),
        "stage-0-batch-0-amount": "100 g + 33 g",
        "stage-0-batch-0-mixed": "10:00",
        "stage-0-batch-0-used": "10:30",
        "act": "save",
        **more,
    }


def said(answer) -> str:
    return " ".join(answer.content.decode().split())


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
        ("stage-0-on", "yesterday", "Type the date like 3 May 2026"),
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


# Two lots in one batch


def test_two_lots_of_a_in_one_batch_stand_as_three_lines(page, sill, resin):
    first = LotFactory(product=resin, part="a", number="A-11")
    second = LotFactory(product=resin, part="a", number="A-12", expires_on=date(2028, 1, 1))
    hardener = LotFactory(product=resin, part="b", number="B-5")
    form = typed(sill, first, **{
        "stage-0-batch-0-amount": "40 g + 33 g",
        "stage-0-batch-0-a2_number": "a-12",
        "stage-0-batch-0-a2_amount": "60 g",
    })  # fmt: skip
    answer = page.post(LOG, form)
    assert answer.status_code == 302, said(answer)
    taken = {part.lot.number: part.amount for part in Batch.objects.get().parts.all()}
    assert taken == {"A-11": Decimal(40), "A-12": Decimal(60), "B-5": Decimal(33)}
    assert (second.remaining(), hardener.remaining()) == (Decimal(940), Decimal(967))


def test_a_lot_number_that_is_not_in_stores_is_answered_with_those_that_are(page, sill, resin):
    first = LotFactory(product=resin, part="a", number="A-11")
    LotFactory(product=resin, part="b", number="B-5")
    words = said(page.post(LOG, typed(sill, first, **{"stage-0-batch-0-b_number": "B-6"})))
    assert "has the number “B-6”. In stores: B-5." in words


def test_a_share_of_a_kit_wants_a_kit(page, sill, resin):
    loose = LotFactory(product=resin, part="a")
    LotFactory(product=resin, part="b")
    form = typed(sill, loose, **{"stage-0-batch-0-amount": "0.5 kit"})
    assert "This lot is not a kit" in said(page.post(LOG, form))


def test_a_one_part_lot_takes_one_amount_by_volume(page, sill):
    paint = ProductFactory(parts=1, kind=Product.Kind.PAINT)
    SheetRevisionFactory(product=paint, weight_a=None, weight_b=None)
    tin = LotFactory(product=paint, part=Lot.Part.ONE, unit="ml")
    form = typed(sill, tin, **{"stage-0-kind": "paint", "stage-0-batch-0-amount": "12 US fl oz",
                               "stage-0-batch-0-used": ""})  # fmt: skip
    answer = page.post(LOG, form)
    assert answer.status_code == 302, said(answer)
    assert tin.remaining() == Decimal(1000) - Decimal("354.882")


def test_what_is_kept_of_a_batch_goes_into_the_next_member(page, sill, kit):
    page.post(LOG, typed(sill, kit, **{"stage-0-batch-0-left_over": "40 g"}))
    first = Batch.objects.get()
    other = MemberFactory(building=sill.building, elevation=sill.elevation)
    assert "40 left over" in said(page.get(f"{LOG}?member={other.pk}"))
    none = dict.fromkeys((name for name in typed(sill, kit) if "batch" in name), "")
    taken = {"stage-0-at": "10:20", "stage-0-earlier": str(first.pk),
             "stage-0-earlier_amount": "40"}  # fmt: skip
    answer = page.post(LOG, typed(other, kit, **none, **taken))
    assert answer.status_code == 302, answer.context["page"].wrong()
    shares = {share.stage.repair.member: share.amount for share in first.shares.all()}
    assert shares == {sill: Decimal(93), other: Decimal(40)}


def test_a_batch_that_went_off_in_the_pot_is_all_waste(page, sill, kit):
    answer = page.post(LOG, typed(sill, kit, **{"stage-0-batch-0-abandoned": "on"}))
    assert answer.status_code == 302, answer.context["page"].wrong()
    assert [share.stage for share in Batch.objects.get().shares.all()] == [None]
    assert kit.part_lots.get(part="a").remaining() == 900


def test_more_wasted_than_mixed_is_refused_beside_its_field(page, sill, kit):
    answer = page.post(LOG, typed(sill, kit, **{"stage-0-batch-0-waste": "500 g"}))
    lines = answer.context["page"].wrong()
    assert [line.place for line in lines] == ["1. Seal, batch 1, Thrown away"]
    assert not Repair.objects.exists()


def test_a_lot_on_its_last_day_is_used_without_a_word(page, sill, resin):
    last = make_kit_lot(resin, expires_on=date(2026, 5, 6))
    assert page.post(LOG, typed(sill, last)).status_code == 302


# What is offered


def test_what_expires_soonest_is_offered_first_and_what_cannot_be_used_last(page, resin):
    late = make_kit_lot(resin, number="LATE", expires_on=date(2027, 12, 1))
    soon = make_kit_lot(resin, number="SOON", expires_on=date(2026, 6, 1))
    past = make_kit_lot(resin, number="PAST", expires_on=date(2026, 3, 31))
    choices = page.get(LOG).context["page"].stages[0].batches[0].fields["lot"].choices
    assert [value for value, _ in choices[1][1]] == [str(soon.pk), str(late.pk)]
    assert choices[-1][0] == "Not usable"
    assert choices[-1][1][0][0] == str(past.pk)
    assert "past its last day, 31 March 2026" in choices[-1][1][0][1]


def test_each_lot_says_what_remains_and_until_when(page, kit):
    words = said(page.get(LOG))
    assert "Invented Seal · K-17 · 1 kit, 1,000 g + 330 g left · use by 30 Jun 2027" in words


# Times


def in_london(page, sill, kit, day, mixed, **more):
    """Logged at noon on the day after, by somebody whose log-in has not run out."""
    later = datetime.fromisoformat(f"{day}T12:00+00:00") + timedelta(days=1)
    with time_machine.travel(later, tick=False):
        page.force_login(User.objects.get())
        return page.post(LOG, typed(sill, kit, **{
            "stage-0-on": day, "stage-0-batch-0-mixed": mixed, "stage-0-batch-0-used": "", **more,
        }))  # fmt: skip


def test_a_time_that_the_clocks_skip_is_refused(page, sill, kit):
    assert "There was no 01:30 on 29 March 2026" in said(
        in_london(page, sill, kit, "2026-03-29", "01:30")
    )


@pytest.mark.parametrize(("again", "hour"), [("first", 0), ("second", 1)])
def test_a_time_that_comes_twice_asks_which_one(page, sill, kit, again, hour):
    asked = in_london(page, sill, kit, "2026-10-25", "01:30")
    assert "Which of the two times?" in said(asked)
    saved = in_london(page, sill, kit, "2026-10-25", "01:30", **{"stage-0-batch-0-again": again})
    assert saved.status_code == 302, said(saved)
    assert Batch.objects.get().mixed_at == datetime(2026, 10, 25, hour, 30, tzinfo=UTC)


def test_a_mix_after_midnight_belongs_to_the_next_day(page, sill, kit):
    saved = in_london(page, sill, kit, "2026-05-04", "00:20", **{"stage-0-at": "22:30"})
    assert saved.status_code == 302, said(saved)
    assert Batch.objects.get().mixed_at == datetime(2026, 5, 4, 23, 20, tzinfo=UTC)


def test_times_are_those_of_the_propertys_own_clock(page, kit):
    home = PropertyFactory(time_zone="America/New_York")
    member = MemberFactory(building__property=home)
    page.post(LOG, typed(member, kit, **{"stage-0-batch-0-used": ""}))
    assert Batch.objects.get().mixed_at == datetime(2026, 5, 6, 14, 0, tzinfo=UTC)


def test_bare_figures_are_in_the_units_of_the_property(page, kit):
    home = PropertyFactory(unit_system="us")
    member = MemberFactory(building__property=home)
    page.post(LOG, typed(member, kit, **{"stage-0-air_c": "68", "stage-0-thickness": "1/2"}))
    stage = Repair.objects.get().stages.get()
    assert (stage.air_c, stage.thickness_mm) == (Decimal(20), Decimal("12.7"))


# Again on one spot


def test_a_spot_repaired_before_makes_it_a_repeat_by_itself(page, sill, kit):
    RepairFactory(member=sill, zone="right")
    before = RepairFactory(member=sill, zone="left")
    page.post(LOG, typed(sill, kit))
    repair = Repair.objects.latest("pk")
    assert (repair.relation, repair.follows) == ("repeat", before)


def test_a_redo_names_the_repair_that_failed(page, sill, kit):
    before = RepairFactory(member=sill, zone="left")
    page.post(LOG, typed(sill, kit, relation=f"redo:{before.pk}", borne_by="contractor"))
    before.refresh_from_db()
    assert before.state == Repair.State.FAILED


def test_damage_that_was_not_in_the_records_is_entered_with_the_repair(page, sill, kit):
    page.post(LOG, typed(sill, kit, **{
        "new-defect-kind": "decay", "new-defect-cause": "gutter",
        "new-defect-cause_state": "put_right",
    }))  # fmt: skip
    defect = Repair.objects.get().defects.get()
    assert (defect.kind, defect.cause, defect.zone) == ("decay", "gutter", "left")


# Money


def test_hours_and_other_costs_are_booked(page, sill, kit):
    page.post(LOG, typed(sill, kit, **{
        "labour-0-who": "Robin Larch", "labour-0-hours": "2:30", "labour-0-rate": "32.00",
        "cost-0-kind": "access", "cost-0-amount": "1,250.50", "cost-0-description": "Tower",
    }))  # fmt: skip
    lines = {line.kind: line.amount_minor for line in Repair.objects.get().cost_lines.all()}
    assert lines["labour"] == 8000
    assert lines["access"] == 125050


def test_the_rate_of_the_last_time_is_set_out_again(page, crew, sill):
    LabourFactory(repair__entered_by=crew, rate_minor=3450)
    assert page.get(f"{LOG}?member={sill.pk}").context["page"].typed["labour-0-rate"] == "34.50"


# Remarks


def test_a_warning_wants_a_reason_and_everything_is_kept(page, sill, kit):
    form = typed(sill, kit, **{"stage-0-batch-0-amount": "100 g + 50 g"})
    answer = page.post(LOG, form)
    assert "want" in said(answer)
    assert "a reason" in said(answer)
    assert 'value="100 g + 50 g"' in said(answer)
    reasons = dict.fromkeys(answer.context["page"].reasons.fields, "The scale was wrong")
    assert reasons
    assert page.post(LOG, {**form, **reasons}).status_code == 302
    assert Repair.objects.get().remarks.filter(reason="The scale was wrong").exists()


def test_amounts_the_wrong_way_round_are_swapped_with_one_button(page, sill, kit):
    form = typed(sill, kit, **{"stage-0-batch-0-amount": "33 g + 100 g"})
    assert "Typed or mixed?" in said(page.post(LOG, form))
    swapped = page.post(LOG, {**form, "act": "swap-stage-0-batch-0"})
    assert 'value="100 g + 33 g"' in said(swapped)


def test_an_expired_lot_is_used_with_a_reason(page, sill, resin):
    old = make_kit_lot(resin, expires_on=date(2026, 3, 31))
    form = typed(sill, old)
    answer = page.post(LOG, form)
    reasons = dict.fromkeys(answer.context["page"].reasons.fields, "Tested first: hard")
    assert any("expired" in name for name in reasons)
    assert page.post(LOG, {**form, **reasons}).status_code == 302


def test_checking_first_saves_nothing(page, sill, kit):
    answer = page.post(LOG, typed(sill, kit, act="check"))
    assert "It is not saved yet" in said(answer)
    assert not Repair.objects.exists()


def test_a_member_that_carries_load_asks_for_the_engineers_word(page, kit):
    post = MemberFactory(load_bearing="yes", kind="post")
    words = said(page.get(f"{LOG}?member={post.pk}"))
    assert (
        cautions_for(load_bearing="yes", resin=False, old_paint=False, at_height=False, dust=False)[
            0
        ]
        in words
    )
    assert "What the licensed engineer decided" in words


def test_paint_from_before_the_ban_asks_about_lead(page, kit):
    home = PropertyFactory(lead_paint_ban_year=1978)
    old = MemberFactory(building__property=home, oldest_paint_year=1930)
    words = said(page.get(f"{LOG}?member={old.pk}"))
    assert "lead" in words.split("To mind while doing it")[0].lower()
    assert "How lead in the old paint was dealt with" in words


# How much it asks of the database


def test_the_queries_do_not_grow_with_lots_and_members(
    page, sill, resin, django_assert_max_num_queries
):
    make_kit_lot(resin)
    page.get(f"{LOG}?member={sill.pk}")
    with django_assert_max_num_queries(12) as few:
        page.get(f"{LOG}?member={sill.pk}")
    for number in range(30):
        make_kit_lot(resin, number=f"M{number}")
    MemberFactory.create_batch(30, building=sill.building, elevation=sill.elevation)
    DefectFactory.create_batch(5, member=sill)
    RepairFactory.create_batch(5, member=sill)
    with django_assert_max_num_queries(len(few)):
        page.get(f"{LOG}?member={sill.pk}")
