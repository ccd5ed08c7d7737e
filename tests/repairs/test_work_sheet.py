"""The work sheet: what it says, for whom, on how many pages, and how it reads in US units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from materials.models import SheetRevision
from properties.models import Elevation
from repairs.models import Plan
from repairs.plans.work_sheet import work_sheet_of
from repairs.plans.work_sheet_mixing import on_scale
from tests.factories import (
    MORNING,
    DefectFactory,
    KitFactory,
    LotFactory,
    PhotographFactory,
    PlanFactory,
    PlanShapeFactory,
    PlanStageFactory,
    RepairFactory,
    make_crew,
    make_viewer,
)
from tests.repairs.plans.made import sheet_of, sill

pytestmark = pytest.mark.django_db
USUAL = ("open_up", "dry", "seal", "fill", "shape", "prime", "paint")


def usual_sheets() -> dict[str, SheetRevision]:
    return {
        "seal": sheet_of("sealer", product__name="Larkfield Sealer"),
        "fill": sheet_of("filler", product__name="Larkfield Putty", layer_max_mm=Decimal(20)),
        "prime": sheet_of("paint_primer", 1, product__name="Larkfield Primer"),
        "paint": sheet_of("paint", 1, product__name="Larkfield Paint"),
    }


def usual_plan(
    stages: Sequence[str] = USUAL, sheets: dict[str, SheetRevision] | None = None, **about: Any
) -> Plan:
    """A sill to be filled, on a scale of 1 g."""
    usual: dict[str, Any] = {
        "air_day_c": Decimal(21),
        "air_night_c": Decimal(12),
        "humidity_pct": Decimal(60),
        "scale_step_g": Decimal(1),
        "loss_pct": Decimal(10),
        "paint_m2": Decimal("0.4"),
        "zone": "left",
    }
    place: dict[str, Any] = {"member__mark": "S-SILL-07", "member__position": "First floor, bay 2"}
    if "defect" not in about:
        about["defect"] = sill(**place)
    plan = PlanFactory(**usual | about)
    PlanShapeFactory(plan=plan, length_mm=200, width_mm=60, depth_mm=40)
    sheets = usual_sheets() if sheets is None else sheets
    for position, kind in enumerate(stages, start=1):
        PlanStageFactory(plan=plan, position=position, kind=kind, sheet=sheets.get(kind))
    return Plan.objects.whole().get(pk=plan.pk)


def lots_of(sheet: SheetRevision, **about: Any) -> None:
    for part, number in (("a", "A-1178"), ("b", "B-2204")):
        LotFactory(product=sheet.product, part=part, number=number, kept_at="Van 2", **about)


def opened(plan: Plan, client: Client, query: str = "") -> PdfReader:
    answer = client.get(reverse("plan-sheet", args=[plan.pk]) + query)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    return PdfReader(BytesIO(answer.content))


def read(pdf: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


@pytest.fixture
def crew(client: Client) -> Client:
    client.force_login(make_crew(first_name="Robin", last_name="Larch"))
    return client


def test_it_says_where_and_which_member(crew: Client) -> None:
    plan = usual_plan()
    text = read(opened(plan, crew))
    member = plan.defect.member
    for words in (
        "S-SILL-07",
        "Sill, left end",
        "First floor, bay 2",
        "as seen from outside, facing the wall",
        member.building.name,
        member.building.property.name,
        "1 Invented Lane, Larkfield",
        "faces south",
        Elevation.Access.LADDER.label,
        "Made",
        "Robin Larch",
    ):
        assert words in text


def test_it_says_what_to_weigh_and_when_to_have_used_it(crew: Client) -> None:
    plan = usual_plan()
    text = read(opened(plan, crew))
    work = work_sheet_of(plan, "metric", MORNING)
    tables = [stage.mixing for stage in work.stages if stage.mixing]
    assert len(tables) == 2
    for table in tables:
        assert f"Use each batch up within {table.within} of mixing" in text
        rows = [row for layer in table.layers for row in layer.rows]
        assert [row.number for row in rows] == list(range(1, len(rows) + 1))
        for row in rows:
            assert Decimal(row.a) + Decimal(row.b) == Decimal(row.total)
            assert f"{row.number} {row.a} {row.b} mixed + {table.within}" in text
    for words in ("weighed A", "weighed B", "mixed at", "used up by", "second clean cup"):
        assert words in text
    assert "Never change the ratio" in text


def test_a_filling_in_layers_names_each_layer_and_when_it_may_begin(crew: Client) -> None:
    text = read(opened(usual_plan(), crew))
    assert "2 layers of 20 mm" in text
    assert "Layer 1 of 2, from 4 May, 14:15" in text
    assert "Layer 2 of 2, from 4 May," in text


def test_it_says_which_lots_to_bring_from_where(crew: Client) -> None:
    sheets = usual_sheets()
    lots_of(sheets["fill"], expires_on=date(2027, 3, 31))
    text = read(opened(usual_plan(sheets=sheets), crew))
    for words in ("A-1178", "B-2204", "Van 2", "31 March 2027", "Larkfield Putty"):
        assert words in text


def test_what_the_stores_lack_is_to_be_bought(crew: Client) -> None:
    sheets = usual_sheets()
    KitFactory(product=sheets["fill"].product, name="1 kg pack")
    text = read(opened(usual_plan(sheets=sheets), crew))
    assert "To buy:" in text
    assert re.search(r"Larkfield Putty [^;]*g of A and \d+ g of B short: 1 pack of", text)


def test_it_gives_the_cautions_and_the_checks_before_each_stage(crew: Client) -> None:
    text = read(opened(usual_plan(), crew))
    for words in (
        "allergic for life",
        "Working at height",
        "up to 15 %",
        "from 10 °C",
        "3 °C above",
        "a thumbnail leaves no dent",
        "Laid on by 6 May",
        "up to 85 %",
        "4 h, 4 h",
    ):
        assert words in text


def test_an_open_cause_is_checked_first(crew: Client) -> None:
    defect = DefectFactory(cause="gutter", cause_state="not_yet")
    text = read(opened(usual_plan(defect=defect), crew))
    assert "The cause is put right (gutter or downpipe)" in text


def test_a_usual_plan_takes_two_pages_at_most(crew: Client) -> None:
    sheets = usual_sheets()
    for each in ("seal", "fill"):
        lots_of(sheets[each])
    plan = usual_plan(sheets=sheets)
    for paper, width in (("a4", 595), ("letter", 612)):
        pdf = opened(plan, crew, f"?paper={paper}")
        assert len(pdf.pages) <= 2
        assert round(pdf.pages[0].mediabox.width) == width


def test_it_is_tagged_and_titled(crew: Client) -> None:
    pdf = opened(usual_plan(), crew)
    assert pdf.metadata is not None
    assert str(pdf.metadata.title).startswith("Work sheet, S-SILL-07")
    assert "/StructTreeRoot" in pdf.root_object


def test_every_page_but_the_last_says_that_it_continues(crew: Client) -> None:
    plan = usual_plan()
    plan.shapes.update(length_mm=1100, width_mm=100, depth_mm=60)
    pages = opened(plan, crew).pages
    assert len(pages) > 2
    says = ["continues" in page.extract_text() for page in pages]
    assert says == [True] * (len(pages) - 1) + [False]


def test_a_reader_of_ounces_sees_grams_and_ounces(client: Client) -> None:
    plan = usual_plan()
    plan.defect.member.building.property.unit_system = "us"
    plan.defect.member.building.property.save()
    client.force_login(make_crew())
    text = read(opened(plan, client))
    assert " oz" in text
    assert "A, g" in text
    assert "°F" in text
    assert "°C" not in text
    assert " mm" not in text


def test_the_photograph_of_the_defect_stands_on_it(crew: Client) -> None:
    plan = usual_plan()
    without = opened(plan, crew)
    assert "No photograph is kept" in read(without)
    about = {"member": plan.defect.member, "defect": plan.defect}
    PhotographFactory(repair=None, moment="before", caption="Left end, opened", **about)
    pdf = opened(plan, crew)
    assert "Left end, opened" in read(pdf)
    assert len(pdf.pages[0].images) == 1


def test_a_dropped_plan_says_so(crew: Client) -> None:
    plan = usual_plan(state="dropped", dropped_reason="The sill is to be replaced.")
    text = read(opened(plan, crew))
    assert "This plan was dropped: The sill is to be replaced. Do not work from" in text


def test_a_plan_logged_as_done_says_so(crew: Client) -> None:
    plan = usual_plan()
    Plan.objects.filter(pk=plan.pk).update(
        state="logged", repair=RepairFactory(member=plan.defect.member)
    )
    assert "logged as done. Do not work" in read(opened(plan, crew))


def test_a_bare_plan_says_what_is_not_known(crew: Client) -> None:
    text = read(opened(PlanFactory(), crew))
    assert "No stage is planned" in text
    assert "Nothing from the stores is set aside" in text


def test_a_long_batch_table_goes_on_with_its_head_on_each_page(crew: Client) -> None:
    plan = usual_plan()
    plan.shapes.update(length_mm=1100, width_mm=100, depth_mm=60)
    pages = [page.extract_text() for page in opened(plan, crew).pages]
    assert sum("weighed A" in page for page in pages) >= 2
    assert len(pages) > 2


def test_a_stage_that_cannot_be_worked_out_says_what_is_missing(crew: Client) -> None:
    plan = usual_plan(stages=("fill",), sheets={})
    assert "Choose a product for filling" in read(opened(plan, crew))


def test_long_names_stay_on_the_page(crew: Client) -> None:
    sheets = usual_sheets()
    long = "Extraordinarily Long-Winded Consolidating Putty for Weathered Oak " * 2
    sheets["fill"].product.name = long[:120]
    sheets["fill"].product.save()
    lots_of(sheets["fill"])
    plan = usual_plan(sheets=sheets)
    member = plan.defect.member
    member.mark = "NORTHWESTERN-GATEHOUSE-WINDOW-SILL-0007"
    member.save()
    pdf = opened(plan, crew)
    assert len(pdf.pages) <= 3
    assert "Extraordinarily Long-Winded" in read(pdf)


def test_a_viewer_of_another_property_does_not_find_it(client: Client) -> None:
    plan = usual_plan()
    client.force_login(make_viewer())
    assert client.get(reverse("plan-sheet", args=[plan.pk])).status_code == 404
    client.force_login(make_viewer(plan.defect.member.building.property))
    assert client.get(reverse("plan-sheet", args=[plan.pk])).status_code == 200


def test_it_is_only_read(crew: Client) -> None:
    assert crew.post(reverse("plan-sheet", args=[usual_plan().pk])).status_code == 405


@pytest.mark.parametrize(
    ("amount", "step", "shown"),
    [("52.000", "1.000", "52"), ("52.000", "0.1", "52.0"), ("1250", "10", "1250"),
     ("0.35", "0.05", "0.35"), ("52", "0.500", "52.0")],
)  # fmt: skip
def test_a_weight_reads_as_on_the_scale(amount: str, step: str, shown: str) -> None:
    assert on_scale(Decimal(amount), Decimal(step)) == shown


def test_a_caution_is_said_once(crew: Client) -> None:
    defect = sill(member__load_bearing="yes", member__oldest_paint_year=1931)
    text = read(opened(usual_plan(defect=defect), crew))
    assert text.count("licensed engineer") == 1
    assert text.count("presume lead") == 1
    assert "is disturbed" not in text


def test_a_stage_calls_its_product_by_name(crew: Client) -> None:
    sheets = usual_sheets()
    sheet = sheets["seal"]
    lots_of(sheet)
    text = read(opened(usual_plan(sheets=sheets), crew))
    assert f"Seal: {sheet.product.name}." in text


def test_a_scale_that_shows_ounces_is_read_in_ounces(client: Client) -> None:
    plan = usual_plan(scale_step_g=Decimal("2.835"))
    plan.defect.member.building.property.unit_system = "us"
    plan.defect.member.building.property.save()
    client.force_login(make_crew())
    text = read(opened(plan, client))
    assert "A, oz" in text
    assert "A scale in steps of 0.1 oz" in text
    figures = re.findall(r"(\d+(?:\.\d)?) g ([\d.]+)", text)
    assert figures
    for grams, ounces in figures:
        assert abs(float(grams) / 28.3495 - float(ounces)) < 0.02
        assert len(ounces.partition(".")[2]) <= 1


def test_a_reader_of_ounces_gets_letter_unless_another_paper_is_asked_for(client: Client) -> None:
    plan = usual_plan()
    plan.defect.member.building.property.unit_system = "us"
    plan.defect.member.building.property.save()
    client.force_login(make_crew())
    assert float(opened(plan, client).pages[0].mediabox.height) == pytest.approx(792, abs=1)
    assert float(opened(plan, client, "?paper=a4").pages[0].mediabox.height) > 840
    shown = client.get(reverse("plan-detail", args=[plan.pk])).content.decode()
    assert "?paper=a4" in shown


@pytest.mark.parametrize(("step", "told"), [(Decimal(10), True), (Decimal("0.1"), False)])
def test_a_batch_too_small_for_the_scale_is_told_to_the_crew(
    crew: Client, step: Decimal, told: bool
) -> None:
    text = read(opened(usual_plan(scale_step_g=step), crew))
    assert ("Use a finer scale, or mix more at once." in text) is told
