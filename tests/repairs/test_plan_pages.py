"""Planning a repair through its pages: worked out, saved, changed, dropped, listed."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from materials.models import Lot, Product
from properties.models import Defect
from repairs.models import Plan, PlanOption, Repair
from tests import factories as make

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 5, 3, 15, 0, tzinfo=UTC)
HTMX = {"HX-Request": "true"}
FIGURES = [
    "shape-0-length", "shape-0-width", "shape-0-depth", "paint", "stage-1-layer", "stage-0-coats",
    "air_day", "air_night", "humidity", "wood_moisture", "forecast", "scale_step", "pace", "loss",
    "hours", "rate", "access", "study_years", "real_rate", "price_rise", "repair-first",
    "repair-access", "repair-life_years", "repair-life_low_years", "repair-life_high_years",
    "repair-upkeep", "repair-repaint", "repair-repaint_years", "repair-spread", "on", "at",
    "end_grain", "side_grain",
]  # fmt: skip


@pytest.fixture(autouse=True)
def afternoon() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def crew(client: Client) -> Client:
    client.force_login(make.make_crew(first_name="Robin", last_name="Larch"))
    return client


def product(kind: str, name: str, **figures: Any) -> Product:
    made: Product = make.ProductFactory(name=name, kind=kind)
    usual = {
        "density_mixed_g_ml": Decimal(1),
        "coverage_m2_per_l": Decimal(5),
        "recoat_from": timedelta(hours=4),
        "layer_max_mm": Decimal(25),
    }
    make.SheetRevisionFactory(product=made, **{**usual, **figures})
    return made


@pytest.fixture
def seal() -> Product:
    made = product(Product.Kind.LAMINATING_RESIN, "Invented Seal", heat_deflection_c=Decimal(48))
    make.make_kit_lot(made, number="K-17")
    return made


@pytest.fixture
def putty() -> Product:
    return product(Product.Kind.FILLER, "Invented Putty", heat_deflection_c=Decimal(82))


@pytest.fixture
def defect() -> Defect:
    made: Defect = make.DefectFactory(member__mark="N-SILL-03")
    return made


def typed(seal: Product, putty: Product, **more: str) -> dict[str, str]:
    """What is typed for a sill of which the left end is sealed and filled."""
    return {
        "key": "6f1b1d1e-7d9f-4f0e-9d55-0d5c54ac9c11",
        "kind": "resin",
        "zone": "left",
        "on": "2026-05-05",
        "at": "09:00",
        "measured": "shapes",
        "filling": "solid",
        "shape-0-shape": "box",
        "shape-0-length": "300",
        "shape-0-width": "80",
        "shape-0-depth": "40",
        "stage-0-kind": "seal",
        "stage-0-product": str(seal.pk),
        "stage-1-kind": "fill",
        "stage-1-product": str(putty.pk),
        "air_day": "18",
        "air_night": "9",
        "humidity": "60",
        "scale_step": "1",
        "loss": "10",
        "hours": "3",
        "rate": "32",
        "study_years": "30",
        "real_rate": "3.5",
        "price_rise": "2",
        "repair-first": "420",
        "repair-life_years": "10",
        "replace-first": "1,800",
        "replace-life_years": "30",
        "act": "work-out",
        **more,
    }


def at_plan(defect: Defect) -> str:
    return reverse("plan-new", args=[defect.pk])


def at_figures(defect: Defect) -> str:
    return reverse("plan-figures", args=[defect.pk])


def text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


# Worked out


def test_a_fresh_page_opens_with_the_usual_stages_and_asks_for_what_is_missing(crew, defect, seal):
    page = text(crew.get(at_plan(defect)))
    assert "Plan a repair of N-SILL-03" in page
    assert f'<option value="{seal.pk}" selected>' in page
    assert "plan-missing" in page


def test_all_is_worked_out_by_a_plain_reload(crew, defect, seal, putty):
    answer = crew.post(at_plan(defect), typed(seal, putty))
    shown = answer.context["shown"]
    assert shown.summary.startswith("2 layers of 20 mm, ")
    assert shown.prepared.cavity.ml == 960
    page = text(answer)
    for words in ("Cavity and filling", "Batches, as read off the scale", "Lot K-17-A", "The days",
                  "Heat on the face", "What it costs", "The choices over 30 years",
                  "What the answer hangs on", "To mind while doing it"):  # fmt: skip
        assert words in page, words
    assert not Plan.objects.exists()


def test_a_script_is_given_the_results_alone(crew, defect, seal, putty):
    answer = crew.post(at_figures(defect), typed(seal, putty), headers=HTMX)
    page = text(answer)
    assert page.startswith('<div id="plan-results"')
    assert "2 layers of 20 mm" in page
    assert "<form" not in page


def test_without_a_script_the_same_address_gives_the_whole_page(crew, defect, seal, putty):
    assert "<form" in text(crew.post(at_figures(defect), typed(seal, putty)))


def test_every_figure_opens_to_its_inputs_and_source(crew, defect, seal, putty):
    page = text(crew.post(at_figures(defect), typed(seal, putty), headers=HTMX))
    assert page.count('<details class="figure">') > 20
    assert page.count("Source:") == page.count('<details class="figure">')


def test_products_say_what_is_on_hand_and_how_they_stand_the_heat(crew, defect, seal, putty):
    page = text(crew.post(at_plan(defect), typed(seal, putty)))
    assert "Invented Seal · 1330 g on hand · softens 2 K below this face" in page
    assert "Invented Putty · none on hand · softens 32 K above this face" in page


def test_a_reader_of_inches_types_and_reads_inches(crew, seal, putty):
    defect = make.DefectFactory(member__building__property__unit_system="us")
    sizes = {"shape-0-length": "12", "shape-0-width": "3", "shape-0-depth": "1 1/2",
             "air_day": "64", "air_night": "48"}  # fmt: skip
    answer = crew.post(at_figures(defect), typed(seal, putty, **sizes), headers=HTMX)
    shown = answer.context["shown"]
    assert shown.prepared.cavity.depth_mm == Decimal("38.1")
    assert "2 layers of 3/4 in" in shown.summary


@pytest.mark.parametrize(
    ("more", "ml"),
    [
        ({"measured": "poured", "poured": "250"}, 250),
        ({"measured": "profile", "station-0-at": "0", "station-0-width": "80",
          "station-0-depth": "0", "station-1-at": "100", "station-1-width": "80",
          "station-1-depth": "40", "station-2-at": "200", "station-2-width": "80",
          "station-2-depth": "0"}, 427),
        ({"shape-1-shape": "cylinder", "shape-1-length": "100", "shape-1-width": "20",
          "shape-1-off": "on"}, 929),
    ],
)  # fmt: skip
def test_a_cavity_is_measured_in_each_of_its_ways(crew, defect, seal, putty, more, ml):
    answer = crew.post(at_figures(defect), typed(seal, putty, **more), headers=HTMX)
    assert round(answer.context["shown"].prepared.cavity.ml) == ml


def test_a_forecast_by_the_hour_is_drawn_and_kept(crew, defect, seal, putty):
    lines = "\n".join(f"2026-05-05 {hour:02}:00; {10 + hour / 2}; 60; 0" for hour in range(24))
    answer = crew.post(at_plan(defect), typed(seal, putty, forecast=lines, act="save"))
    plan = Plan.objects.get()
    assert len(plan.forecast) == 24
    page = text(crew.get(answer["Location"]))
    assert "hours that the forecast allows" in page
    again = text(crew.get(reverse("plan-edit", args=[plan.pk])))
    assert "2026-05-05 08:00; 14; 60; 0" in again


def test_a_row_of_the_forecast_that_cannot_be_read_is_named(crew, defect, seal, putty):
    answer = crew.post(at_figures(defect), typed(seal, putty, forecast="12:00; warm"), headers=HTMX)
    assert "Forecast, one hour a line</a>: <span>Row 1:" in text(answer)


# Bad input


@pytest.mark.parametrize("value", ["nonsense", "9" * 60, "-5", "1e999", "NaN", "²", "<b>x</b>"])
def test_nonsense_in_any_field_is_answered_at_that_field_or_counted(
    crew, defect, seal, putty, value
):
    for name in FIGURES:
        sent = typed(seal, putty, **{name: value})
        answer = crew.post(at_figures(defect), sent, headers=HTMX)
        assert answer.status_code == 200, name
        assert "<b>x</b>" not in answer.content.decode(), name
        if answer.context["shown"] is None:
            # A night warmer than the day is said at the night.
            about = "air_night" if name == "air_day" else name
            assert re.search(f'data-field="id_({name}|{about})"', text(answer)), name


def test_choices_that_are_none_are_refused(crew, defect, seal, putty):
    for name in ("kind", "zone", "measured", "filling", "shape-0-shape", "stage-0-product",
                 "stage-0-kind", "again"):  # fmt: skip
        answer = crew.post(at_figures(defect), typed(seal, putty, **{name: "999"}), headers=HTMX)
        assert answer.context["shown"] is None, name


def test_the_largest_figures_that_a_field_takes_are_answered(crew, defect, seal, putty):
    largest = {"shape-0-length": "30000", "shape-0-width": "30000", "shape-0-depth": "30000",
               "paint": "1000", "loss": "90", "pace": "0.1", "scale_step": "1000", "hours": "1000",
               "rate": "1000000000", "access": "1000000000", "air_day": "200", "air_night": "-60",
               "humidity": "100", "study_years": "100", "repair-first": "1000000000",
               "repair-life_years": "0.1", "repair-repaint": "1", "repair-repaint_years": "0.1",
               "stage-0-coats": "10", "stage-1-layer": "0.01"}  # fmt: skip
    for name, value in largest.items():
        answer = crew.post(at_figures(defect), typed(seal, putty, **{name: value}), headers=HTMX)
        assert answer.status_code == 200, name
    assert crew.post(at_plan(defect), typed(seal, putty, **largest)).status_code == 200


def test_a_hundred_shapes_are_answered_with_a_sentence(crew, defect, seal, putty):
    many = {}
    for number in range(100):
        many |= {f"shape-{number}-shape": "box", f"shape-{number}-length": "10",
                 f"shape-{number}-width": "10", f"shape-{number}-depth": "10"}  # fmt: skip
    answer = crew.post(at_plan(defect), typed(seal, putty, **many, act="save"))
    assert "A plan holds up to 30 shapes" in text(answer)
    assert not Plan.objects.exists()


def test_an_empty_form_says_what_to_type(crew, defect):
    answer = crew.post(at_plan(defect), {"act": "save"})
    page = text(answer)
    assert "Nothing is saved yet" in page
    assert "Type the day on which the work can start." in page
    assert not Plan.objects.exists()


def test_what_was_typed_stays_when_something_is_wrong(crew, defect, seal, putty):
    sent = typed(seal, putty, act="save", **{"shape-0-depth": "deep", "notes": "Mind the nest"})
    page = text(crew.post(at_plan(defect), sent))
    for kept in ('value="deep"', "Mind the nest", 'value="1,800"'):
        assert kept in page


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"air_night": "25"}, "The night is warmer than the day."),
        ({"filling": "hollow"}, "Type how thick the lining is"),
        ({"measured": "poured"}, "Type how much the cavity took"),
        ({"shape-0-depth": ""}, "Type the depth, such as 38 mm"),
        ({"on": "2126-05-05"}, "2126 is too far away."),
        ({"on": "2026-03-29", "at": "01:30"}, "There was no 01:30"),
        ({"repair-life_low_years": "20"}, "At worst it lasts no longer"),
        ({"repair-life_high_years": "2"}, "At best it lasts no shorter"),
        ({"splice-first": "900"}, "Type how many years it is expected to last."),
        ({"real_rate": ""}, "Type a rate in percent"),
        ({"stage-1-product": "", "stage-1-layer": "20"}, "Choose a product"),
    ],
)
def test_what_does_not_fit_together_is_said_at_its_field(crew, defect, seal, putty, more, sentence):
    answer = crew.post(at_figures(defect), typed(seal, putty, **more), headers=HTMX)
    assert answer.context["shown"] is None
    assert sentence in text(answer)


# Rows


@pytest.mark.parametrize("block", ["shape", "station", "stage"])
def test_a_row_is_added_and_left_out_by_plain_buttons(crew, defect, seal, putty, block):
    more = {"station-0-at": "0", "station-0-width": "10", "station-0-depth": "10"}
    before = len(crew.post(at_plan(defect), typed(seal, putty, **more)).context["page"].typed)
    added = crew.post(at_plan(defect), typed(seal, putty, **more, act=f"add-{block}"))
    assert added.context["shown"] is not None, "a row with nothing in it changes nothing"
    assert len(added.context["page"].typed) == before + 1 - ("act" in added.context["page"].typed)
    gone = crew.post(at_plan(defect), typed(seal, putty, **more, act=f"drop-{block}-0"))
    assert f"{block}-0-" not in "".join(gone.context["page"].typed)


# Saved


def saved(crew: Client, defect: Defect, seal: Product, putty: Product, **more: str) -> Plan:
    answer = crew.post(at_plan(defect), typed(seal, putty, act="save", **more))
    assert answer.status_code == 302, answer.context["wrong"]
    return Plan.objects.latest("pk")


def test_a_plan_is_saved_with_its_rows(crew, defect, seal, putty):
    plan = saved(crew, defect, seal, putty, notes="Ring the bell")
    assert plan.made_by is not None
    assert plan.starts_at == datetime(2026, 5, 5, 8, 0, tzinfo=UTC)
    assert [stage.kind for stage in plan.stages.all()] == ["seal", "fill"]
    assert plan.shapes.get().depth_mm == 40
    first = {option.kind: option.first_minor for option in plan.options.all()}
    assert first == {PlanOption.Kind.REPAIR: 42000, PlanOption.Kind.REPLACE: 180000}
    page = text(crew.get(plan.get_absolute_url()))
    assert "2 layers of 20 mm" in page
    assert "Ring the bell" in page
    assert "Worked out on 3 May 2026" in page
    assert f"{reverse('repair-log')}?plan={plan.pk}" in page
    assert reverse("plan-sheet", args=[plan.pk]) in page


def test_one_form_sent_twice_makes_one_plan(crew, defect, seal, putty):
    first = saved(crew, defect, seal, putty)
    assert saved(crew, defect, seal, putty) == first
    assert Plan.objects.count() == 1


def test_a_plan_opened_and_saved_untouched_stays_as_it_is(crew, defect, seal, putty):
    plan = saved(crew, defect, seal, putty, pace="30", end_grain="120 cm²", paint="0.35")
    before = Plan.objects.values().get()
    page = crew.get(reverse("plan-edit", args=[plan.pk])).context["page"]
    sent = {**page.typed.dict(), "act": "save"}
    assert crew.post(reverse("plan-edit", args=[plan.pk]), sent).status_code == 302
    assert Plan.objects.values().get() == before
    assert plan.shapes.get().length_mm == 300


def test_a_plan_is_changed(crew, defect, seal, putty):
    plan = saved(crew, defect, seal, putty)
    sent = typed(seal, putty, act="save", **{"shape-0-depth": "60"})
    crew.post(reverse("plan-edit", args=[plan.pk]), sent)
    assert Plan.objects.get().shapes.get().depth_mm == 60


def test_figures_are_those_of_today(crew, defect, seal, putty):
    plan = saved(crew, defect, seal, putty)
    assert "K-17-A" in text(crew.get(plan.get_absolute_url()))
    Lot.objects.update(emptied_on=date(2026, 5, 3))
    with time_machine.travel(NOW + timedelta(days=1), tick=False):
        page = text(crew.get(plan.get_absolute_url()))
    assert "K-17-A" not in page
    assert "Worked out on 4 May 2026" in page


def test_another_data_sheet_since_is_said(crew, defect, seal, putty):
    plan = saved(crew, defect, seal, putty)
    make.SheetRevisionFactory(product=putty, revision="Issue 9", issued_on=date(2026, 5, 1))
    assert "another data sheet for that day, Issue 9" in text(crew.get(plan.get_absolute_url()))


def test_a_plan_is_dropped_with_a_reason_and_stays_readable(crew, defect, seal, putty):
    plan = saved(crew, defect, seal, putty)
    there = reverse("plan-drop", args=[plan.pk])
    assert "Say in a few words why" in text(crew.post(there, {"reason": "  "}))
    crew.post(there, {"reason": "The sill is replaced instead"})
    plan.refresh_from_db()
    assert plan.state == Plan.State.DROPPED
    page = text(crew.get(plan.get_absolute_url()))
    assert "The sill is replaced instead" in page
    assert "Log it as done" not in page
    assert crew.get(reverse("plan-edit", args=[plan.pk])).status_code == 302
    again = crew.post(there, {"reason": "Twice"}, follow=True)
    assert "This plan was dropped" in text(again)


# Around it


def test_a_defect_leads_to_its_plans(crew, defect):
    plan = make.PlanFactory(defect=defect)
    page = text(crew.get(defect.get_absolute_url()))
    assert at_plan(defect) in page
    assert plan.get_absolute_url() in page


def test_the_lists_lead_to_the_planned_repairs(crew, defect):
    there = reverse("plan-list")
    of = defect.member.building.property
    assert there in text(crew.get(reverse("repair-list")))
    assert f"{there}?property={of.pk}" in text(crew.get(of.get_absolute_url()))
    assert f"{there}?property={of.pk}&amp;search=N-SILL-03" in text(
        crew.get(defect.member.get_absolute_url())
    )


def test_the_list_is_narrowed_by_state_property_and_words(crew):
    mine = make.PlanFactory(defect__member__mark="A-1")
    make.PlanFactory(defect__member__mark="B-2", state="dropped", dropped_reason="Sold")
    of = mine.defect.member.building.property
    for query in ("state=planned", f"property={of.pk}", "search=a-1", "kind=resin&search=A-1"):
        page = text(crew.get(f"{reverse('plan-list')}?{query}"))
        assert "One planned repair" in page, query
        assert "A-1" in page, query
    assert "B-2" in text(crew.get(f"{reverse('plan-list')}?_export=csv"))


def test_an_empty_list_says_how_to_begin(crew):
    assert "planned from the page of its defect" in text(crew.get(reverse("plan-list")))


def test_the_list_asks_no_more_for_more_plans(crew):
    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            crew.get(reverse("plan-list"))
        return len(queries)

    make.PlanFactory.create_batch(2)
    few = asked()
    make.PlanFactory.create_batch(10)
    assert asked() == few <= 12


def test_the_figures_ask_no_more_for_more_rows(crew, defect, seal, putty):
    def asked(**more: str) -> int:
        with CaptureQueriesContext(connection) as queries:
            crew.post(at_figures(defect), typed(seal, putty, **more), headers=HTMX)
        return len(queries)

    few = asked()
    more = {}
    for number in range(2, 12):
        more |= {f"stage-{number}-kind": "fill", f"stage-{number}-product": str(putty.pk),
                 f"shape-{number}-shape": "box", f"shape-{number}-length": "10",
                 f"shape-{number}-width": "10", f"shape-{number}-depth": "10"}  # fmt: skip
    for _ in range(5):
        product(Product.Kind.FILLER, f"Other {_}")
    assert asked(**more) <= few


def test_a_plan_takes_no_row_of_elsewhere(crew, defect, seal, putty):
    other = make.DefectFactory()
    sent = typed(seal, putty, act="save", state="logged", repair="1", made_by="1", plan="1")
    crew.post(at_plan(defect), {**sent, "defect": str(other.pk)})
    plan = Plan.objects.get()
    assert plan.defect == defect
    assert plan.state == Plan.State.PLANNED
    assert not Repair.objects.exists()


def test_a_viewer_sees_plans_and_changes_none(client, defect):
    plan = make.PlanFactory(defect=defect)
    client.force_login(make.make_viewer(defect.member.building.property))
    page = text(client.get(plan.get_absolute_url()))
    assert "Drop this plan" not in page
    assert "Log it as done" not in page
    assert "Plan its repair" not in text(client.get(defect.get_absolute_url()))
    assert client.get(at_plan(defect)).status_code == 403
    assert client.post(at_figures(defect), {}, headers=HTMX).status_code == 403


def test_a_defect_made_good_is_not_planned_for(crew: Client) -> None:
    defect = make.DefectFactory(state=Defect.State.MADE_GOOD, closed_on=date(2026, 5, 2))
    answer = crew.get(reverse("plan-new", args=[defect.pk]), follow=True)
    assert answer.redirect_chain[-1][0] == defect.get_absolute_url()
    assert "This defect is made good: plan from one that is still open." in answer.content.decode()


def test_nothing_is_planned_for_a_member_taken_out(crew: Client) -> None:
    gone = make.MemberFactory(removed_on=date(2026, 5, 1), removed_reason="Replaced")
    defect = make.DefectFactory(member=gone)
    answer = crew.get(reverse("plan-new", args=[defect.pk]), follow=True)
    assert f"{gone} is no longer looked after" in answer.content.decode()


def test_a_plan_tells_who_changed_its_parts(crew: Client) -> None:
    plan = make.PlanShapeFactory(length_mm=Decimal(123)).plan
    assert (
        reverse("change-log", args=["plan", plan.pk])
        in crew.get(plan.get_absolute_url()).content.decode()
    )
    log = crew.get(reverse("change-log", args=["plan", plan.pk])).content.decode()
    assert "Plan shape entered" in log
    assert "123" in log
