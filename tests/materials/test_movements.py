"""What may be done with a lot in the stores, through its pages, and what the ledger then says."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from materials.models import Lot, Movement
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    client.force_login(factories.make_manager())
    return client


@pytest.fixture
def crew(client):
    client.force_login(factories.make_crew(first_name="Ash", last_name="Rowan"))
    return client


@pytest.fixture
def lot():
    return factories.LotFactory(number="L7")


@pytest.fixture
def kit():
    return factories.make_kit_lot(factories.ProductFactory(), number="K7")


def act(client, lot, name, **data):
    return client.post(f"/lots/{lot.pk}/{name}/", data, follow=True)


def lines(lot) -> list[tuple[str, Decimal]]:
    return [(line.kind, line.amount) for line in lot.movements.all()]


def again(lot) -> Lot:
    return Lot.objects.get(pk=lot.pk)


def test_a_count_writes_the_difference(crew, lot):
    page = act(crew, lot, "count", found="0.75 kg", note="Weighed on the van")
    assert lines(lot) == [("received", 1000), ("counted", -250)]
    assert lot.remaining() == 750
    for words in ("−250 g", "750 g", "Weighed on the van", "Ash Rowan"):
        assert words in page.text


def test_a_count_puts_an_overdrawn_lot_right(crew, lot):
    factories.MovementFactory(lot=lot, amount=Decimal(-1100))
    assert "Count needed" in crew.get(f"/lots/{lot.pk}/").text
    page = act(crew, lot, "count", found="20 g")
    assert lot.remaining() == 20
    assert "Count needed" not in page.text


@pytest.mark.parametrize("nothing", ["0", "nothing", "0 g"])
def test_a_count_of_nothing_empties_it_and_a_later_find_fills_it_again(crew, lot, nothing):
    act(crew, lot, "count", found=nothing)
    assert (lot.remaining(), again(lot).emptied_on) == (0, timezone.now().date())
    act(crew, lot, "count", found="5 g")
    assert (lot.remaining(), again(lot).emptied_on) == (5, None)


def test_a_count_that_agrees_is_written_too(crew, lot):
    act(crew, lot, "count", found="1000 g")
    assert lines(lot)[-1] == ("counted", 0)


@pytest.mark.parametrize(
    ("found", "sentence"),
    [
        ("", "Type what you found"),
        ("-5 g", "cannot be below zero"),
        ("5 ml", "This lot is kept by weight"),
        ("12 parsecs", "is not a unit"),
        ("1/2 kit", "Type a weight or a volume here"),
        ("5 g + 5 g", "Type one amount here"),
        ("9" * 5000, "too long"),
        ("1/0 g", ""),
    ],
)
def test_a_count_that_cannot_be_is_refused(crew, lot, found, sentence):
    page = act(crew, lot, "count", found=found, note="Kept")
    assert sentence in page.text
    assert 'value="Kept"' in page.text
    assert lot.movements.count() == 1


def test_waste_is_written_off(crew, lot):
    act(crew, lot, "waste", amount="40 g", note="Spilt")
    assert lines(lot)[-1] == ("wasted", -40)


@pytest.mark.parametrize("data", [{"amount": "0", "note": "x"}, {"amount": "5 g", "note": ""}])
def test_waste_needs_an_amount_and_a_word(crew, lot, data):
    act(crew, lot, "waste", **data)
    assert lot.movements.count() == 1


def test_all_of_a_kit_is_thrown_away(manager, kit):
    page = act(manager, kit, "discard", note="Set hard; to the hazardous waste point")
    assert [part.remaining() for part in kit.part_lots.all()] == [0, 0]
    assert not Lot.objects.kept().exists()
    assert "Used up or thrown away" in page.text


def test_throwing_away_one_part_leaves_the_kit_in_the_stores(manager, kit):
    a, b = kit.part_lots.order_by("part")
    act(manager, a, "discard", note="Set hard")
    assert again(kit).emptied_on is None
    act(manager, b, "discard", note="No use without A")
    assert again(kit).emptied_on is not None


def test_an_overdrawn_lot_is_thrown_away_without_making_it_up(manager, lot):
    factories.MovementFactory(lot=lot, amount=Decimal(-1100))
    act(manager, lot, "discard", note="The tin is gone")
    assert lot.remaining() == -100


def test_a_kit_moves_with_its_parts(crew, kit):
    act(crew, kit, "move", place="Van 3")
    assert set(Lot.objects.values_list("kept_at", flat=True)) == {"Van 3"}
    assert Movement.objects.filter(kind="moved", amount=0, place="Van 3").count() == 2


def test_a_move_to_where_it_is_is_refused(crew):
    lot = factories.LotFactory(kept_at="Van 2")
    assert "It is kept at Van 2 already." in act(crew, lot, "move", place="Van 2").text


def test_opening_starts_the_life_once_opened(crew):
    sheet = factories.SheetRevisionFactory(shelf_life_opened_months=3)
    kit = factories.make_kit_lot(sheet.product)
    page = act(crew, kit, "open", opened_on="2026-05-04")
    assert set(Lot.objects.values_list("usable_until", flat=True)) == {date(2026, 8, 4)}
    assert "<summary>4 August 2026</summary>" in page.text
    assert "by its life once opened" in page.text


def test_a_part_opened_before_keeps_its_day_when_the_kit_is_opened(crew, kit):
    a = kit.part_lots.get(part="a")
    act(crew, a, "open", opened_on="2026-03-01")
    act(crew, kit, "open", opened_on="2026-05-04")
    assert again(a).opened_on == date(2026, 3, 1)


@pytest.mark.parametrize(
    ("day", "sentence"),
    [
        ("2026-01-09", "was received on 10 January 2026"),
        (str(timezone.now().date() + timedelta(days=2)), "lies ahead"),
        ("1825-01-01", "too long ago"),
        ("2225-01-01", "years ahead"),
        ("31 February 2026", "Type the day like"),
    ],
)
def test_a_day_of_opening_that_cannot_be_is_refused(crew, lot, day, sentence):
    assert sentence in act(crew, lot, "open", opened_on=day).text
    assert again(lot).opened_on is None


def test_a_kit_is_held_back_and_released_with_its_parts(manager, kit):
    page = act(manager, kit, "hold-back", reason="Lumps in <A>")
    assert "Lumps in &lt;A&gt;" in page.text
    assert Lot.objects.held().count() == 3
    act(manager, kit, "release")
    assert Lot.objects.held().count() == 0


def test_a_part_is_not_released_alone_from_a_kit_held_back(manager, kit):
    act(manager, kit, "hold-back", reason="Lumps")
    a = kit.part_lots.get(part="a")
    assert "Release the kit" in act(manager, a, "release").text
    assert again(a).held_back


def test_holding_back_needs_a_reason(manager, lot):
    assert "Say why" in act(manager, lot, "hold-back", reason=" ").text
    assert not again(lot).held_back


def test_a_line_is_taken_back_by_a_further_line(manager, lot):
    act(manager, lot, "waste", amount="40 g", note="Spilt")
    line = lot.movements.get(kind="wasted")
    url = f"/lots/{lot.pk}/lines/{line.pk}/take-back/"
    assert url in manager.get(f"/lots/{lot.pk}/").text
    page = manager.post(url, {"note": "Not this lot"}, follow=True)
    assert lines(lot) == [("received", 1000), ("wasted", -40), ("wasted", 40)]
    assert 'class="struck"' in page.text
    assert url not in page.text
    assert "taken back already" in manager.post(url, {"note": "Twice"}, follow=True).text
    back = lot.movements.get(reverses=line)
    page = manager.post(f"/lots/{lot.pk}/lines/{back.pk}/take-back/", {"note": "x"})
    assert "This line takes back another one." in page.text


def test_a_line_of_another_lot_is_not_found(manager, lot):
    other = factories.MovementFactory()
    assert manager.get(f"/lots/{lot.pk}/lines/{other.pk}/take-back/").status_code == 404


def test_a_line_of_a_batch_is_put_right_in_its_repair(manager):
    stage = factories.StageFactory()
    part = factories.BatchPartFactory(batch__mixed_for=stage)
    url = f"/lots/{part.lot_id}/lines/{part.movement_id}/take-back/"
    response = manager.post(url, {"note": "x"})
    assert response.url == stage.repair.get_absolute_url()
    assert part.lot.movements.count() == 2
    assert url not in manager.get(f"/lots/{part.lot_id}/").text


def test_a_kit_is_counted_by_its_parts(crew, kit):
    page = act(crew, kit, "count", found="5 g")
    assert "do this on its A lot or its B lot" in page.text
    assert not Movement.objects.filter(kind="counted").exists()


def test_what_was_written_wrong_is_changed_and_kept_in_the_history(manager, lot):
    data = {
        "number": "L8", "received_on": "2026-01-10", "made_on": "2025-12-01", "currency": "EUR",
        "price": "12.50", "low_below": "100", "expires_on": "2026-11-30",
    }  # fmt: skip
    page = act(manager, lot, "edit", **data)
    assert "EUR 12.50" in page.text
    changed = again(lot)
    assert (changed.number, changed.price_minor, changed.usable_until) == (
        "L8", 1250, date(2026, 11, 30),
    )  # fmt: skip
    assert changed.history.count() == 2


@pytest.mark.parametrize(
    "wrong",
    [
        {"number": ""}, {"made_on": "2026-02-01"}, {"opened_on": "2026-01-01"}, {"price": "-1"},
        {"low_below": "-1"}, {"received_on": "1825-01-01"}, {"number": "TAKEN"},
    ],
)  # fmt: skip
def test_a_change_that_cannot_be_is_refused(manager, lot, wrong):
    factories.LotFactory(product=lot.product, number="TAKEN")
    data = {"number": "L8", "received_on": "2026-01-10", "currency": "GBP"} | wrong
    page = act(manager, lot, "edit", **data)
    assert "Nothing is saved yet." in page.text
    assert again(lot).number == "L7"


ACTS = ["count", "waste", "discard", "move", "open", "hold-back", "release", "edit"]


@pytest.mark.parametrize("name", ["", *(f"{name}/" for name in ACTS)])
def test_viewers_reach_no_lot(client, lot, name):
    client.force_login(factories.make_viewer())
    assert client.get(f"/lots/{lot.pk}/{name}").status_code == 403


@pytest.mark.parametrize(
    ("name", "status"),
    [("count", 200), ("waste", 200), ("move", 200), ("open", 200), ("discard", 403),
     ("hold-back", 403), ("release", 403), ("edit", 403)],
)  # fmt: skip
def test_crew_writes_movements_and_managers_decide(crew, lot, name, status):
    assert crew.get(f"/lots/{lot.pk}/{name}/").status_code == status


def test_reading_an_act_changes_nothing(manager, lot):
    for name in ACTS:
        assert manager.get(f"/lots/{lot.pk}/{name}/").status_code == 200
    assert lot.movements.count() == 1
    assert not again(lot).held_back
