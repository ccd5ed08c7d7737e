"""Going on with a repair from the log page, and money of another country."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from materials.models import Lot
from repairs.models import CostLine, Draft, Repair
from tests.factories import MemberFactory, make_kit_lot
from tests.repairs.log.form import LOG, said, typed


@pytest.fixture
def begun(page, sill, kit):
    form = typed(sill, kit)
    del form["finished"]
    page.post(LOG, form)
    return Repair.objects.get()


def next_day(repair, kit, **more):
    """What is typed on the day after the sealing: nothing of what the repair is."""
    form = typed(repair.member, kit, continues=str(repair.pk), **{"stage-0-kind": "fill"})
    form |= {"stage-0-batch-0-mixed": "13:00", "stage-0-batch-0-used": "13:20"}
    for name in ("zone", "kind", "relation"):
        del form[name]
    return form | more


def test_the_page_says_what_is_done_and_sets_out_what_usually_follows(page, begun):
    words = said(page.get(f"{LOG}?repair={begun.pk}"))
    assert "Seal, 6 May 2026, 10:00" in words
    assert "cures until about" in words
    assert "<span data-number>2</span>. <span data-title>Fill</span>" in words
    assert "<span data-number>3</span>. <span data-title>Paint</span>" in words
    assert "Add to this repair" in words
    assert 'name="zone"' not in words


def test_further_stages_go_into_the_same_repair_and_finish_it(page, begun, kit):
    # The sealer has not cured: a reason is asked, as for stages of one entry.
    answer = page.post(LOG, next_day(begun, kit))
    assert begun.stages.count() == 1
    words = said(answer)
    asked = list(answer.context["page"].reasons.fields)
    assert "want" in words
    answer = page.post(LOG, next_day(begun, kit, **dict.fromkeys(asked, "Tested with a thumbnail")))
    begun.refresh_from_db()
    assert answer.url == begun.get_absolute_url()
    assert [one.kind for one in begun.stages.all()] == ["seal", "fill"]
    assert begun.state == "finished"
    assert begun.due_dates.exists()


def test_the_repair_page_and_the_member_lead_to_going_on(page, begun):
    link = f"{LOG}?repair={begun.pk}"
    assert link in said(page.get(begun.get_absolute_url()))
    assert link in said(page.get(f"{LOG}?member={begun.member_id}"))


def test_a_draft_of_further_stages_stays_with_its_repair(page, begun, kit):
    page.post(LOG, next_day(begun, kit, act="draft"))
    words = said(page.get(Draft.objects.get().get_absolute_url()))
    assert f'name="continues" value="{begun.pk}"' in words


def test_a_repair_finished_meanwhile_takes_no_stage_and_loses_nothing_typed(page, begun, kit):
    begun.state = Repair.State.FINISHED
    begun.save()
    words = said(page.post(LOG, next_day(begun, kit, notes="Dry by noon")))
    assert "no longer in work" in words
    assert "Dry by noon" in words
    assert Repair.objects.count() == 1
    assert page.get(f"{LOG}?repair={begun.pk}").url == begun.get_absolute_url()


def test_another_member_s_repair_is_not_gone_on_with(page, begun, kit):
    other = MemberFactory()
    words = said(page.post(LOG, next_day(begun, kit, member=str(other.pk))))
    assert "no longer in work" in words
    assert begun.stages.count() == 1


def test_the_day_of_the_next_look_is_said_and_nothing_is_preset(page, sill):
    words = said(page.get(f"{LOG}?member={sill.pk}"))
    assert "Left empty: 6 June 2026, by the rule “1 month" in words
    assert "If it is temporary: 6 August 2026" in words
    assert 'name="next_look_on" id="id_next_look_on"' in words.replace(' type="date"', "")


# Money of another country


@pytest.fixture
def american(db):
    member = MemberFactory(mark="B-SILL-02", building__property__currency="USD")
    home = member.building.property
    home.unit_system, home.country, home.time_zone = "us", "US", "Europe/London"
    home.save()
    return member


@pytest.fixture
def british_kit(resin):
    return make_kit_lot(resin, number="K-GB")


def test_the_rate_of_the_day_is_asked_when_a_lot_needs_it(page, american, british_kit):
    assert Lot.objects.get(number="K-GB").currency == "GBP"
    form = typed(american, british_kit, **{"stage-0-batch-0-amount": "4 oz + 1.32 oz"})
    words = said(page.post(LOG, form))
    assert "Type what 1 GBP was worth in USD on the day" in words
    assert '<details class="more" id="rates" open>' in words
    assert not Repair.objects.exists()
    page.post(LOG, {**form, "rate-gbp": "1,25"})
    line = CostLine.objects.get(kind="material")
    assert (line.currency, line.rate) == ("GBP", Decimal("1.25"))
    assert line.home_minor == round(line.amount_minor * Decimal("1.25"))


def test_the_rate_is_folded_away_until_then_and_absent_at_home(page, american, sill, british_kit):
    assert '<details class="more" id="rates">' in said(page.get(f"{LOG}?member={american.pk}"))
    assert 'id="rates"' not in said(page.get(f"{LOG}?member={sill.pk}"))


@pytest.mark.parametrize("rate", ["0", "-1", "a lot", "1.2 GBP", "1e9", "99999999"])
def test_a_rate_that_is_none_is_refused_beside_its_field(page, american, british_kit, rate):
    form = typed(american, british_kit, **{"rate-gbp": rate})
    words = said(page.post(LOG, form))
    assert "Rate of the day, 1 GBP in USD" in words
    assert rate in words
    assert not Repair.objects.exists()


def test_a_cost_in_other_money_asks_for_its_own_rate(page, sill, kit):
    cost = {"cost-0-kind": "access", "cost-0-amount": "100.00", "cost-0-paid_in": "eur"}
    words = said(page.post(LOG, typed(sill, kit, **cost)))
    assert "Type what 1 EUR was worth in GBP" in words
    page.post(LOG, typed(sill, kit, **cost, **{"rate-eur": "0.86"}))
    line = CostLine.objects.get(kind="access")
    assert (line.currency, line.amount_minor, line.home_minor) == ("EUR", 10000, 8600)
    assert line.worked_on == date(2026, 5, 6)


def test_an_unknown_currency_is_refused_in_words(page, sill, kit):
    cost = {"cost-0-kind": "access", "cost-0-amount": "100", "cost-0-paid_in": "XXQ"}
    assert "Use the three letters of the currency" in said(page.post(LOG, typed(sill, kit, **cost)))


def test_remarks_are_told_in_the_units_of_the_place(page, american, british_kit):
    weather = {"stage-0-air_c": "43", "stage-0-surface_c": "41"}
    weather |= {"rate-gbp": "1.27", "act": "check"}
    words = said(page.post(LOG, typed(american, british_kit, **weather)))
    assert "Surface 41 °F: too cold." in words
