"""A property's history as a document: what it says, on which paper, and what it keeps back."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from properties.models import Member, Property
from repairs.history.pdf import history_parts, history_pdf, whole
from repairs.history.scope import Scope
from repairs.models import Photograph, Repair, Stage
from tests.factories import (
    BatchFactory,
    BatchPartFactory,
    BatchShareFactory,
    BuildingFactory,
    CostLineFactory,
    DefectFactory,
    DueDateFactory,
    InspectionFactory,
    KeptRemarkFactory,
    LabourFactory,
    LotFactory,
    MemberFactory,
    MoistureReadingFactory,
    OwnerFactory,
    OwnershipFactory,
    PhotographFactory,
    PropertyFactory,
    RepairFactory,
    SheetRevisionFactory,
    SignOffFactory,
    StageFactory,
    make_manager,
    make_viewer,
)

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)


def reader(of: Property, sheet: str = "a4", **kwargs: Any) -> PdfReader:
    return PdfReader(BytesIO(history_pdf(Scope(of, TODAY, **kwargs), "Robin Larch", sheet)))


def read(pdf: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


def html(of: Property, **kwargs: Any) -> str:
    """The document before it is set: the same words, found quicker."""
    text = whole(history_parts(Scope(of, TODAY, **kwargs), "Robin Larch"))
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def fetch(client: Client, of: Property, **query: str) -> PdfReader:
    answer = client.get(reverse("history-pdf", args=[of.pk]), query)
    assert answer["Content-Type"] == "application/pdf"
    return PdfReader(BytesIO(answer.content))


def sealed(member: Member, lots: tuple[str, str], began: datetime) -> Repair:
    """A repair with a stage, and a batch of two lots that went to it in full."""
    repair = RepairFactory(member=member, began_at=began, ended_at=began + timedelta(hours=30))
    stage = StageFactory(repair=repair, kind=Stage.Kind.SEAL, began_at=began)
    batch = BatchFactory(sheet=SheetRevisionFactory(), mixed_for=stage, mixed_at=began)
    for part, number, amount in (("a", lots[0], 100), ("b", lots[1], 33)):
        lot = LotFactory(product=batch.sheet.product, part=part, number=number)
        BatchPartFactory(batch=batch, lot=lot, part=part, amount=Decimal(amount))
    BatchShareFactory(batch=batch, stage=stage, amount=Decimal(133))
    return repair


@pytest.fixture
def sill() -> Member:
    return MemberFactory(mark="N-SILL-03", species="")


@pytest.fixture
def of(sill: Member) -> Property:
    return sill.building.property


def test_the_document_holds_cover_contents_members_lots_and_days(sill: Member) -> None:
    of = sill.building.property
    OwnershipFactory(property=of, owner__name="Larkfield Trust", from_on=date(2012, 1, 1))
    repair = sealed(sill, ("A-11", "B-12"), datetime(2026, 5, 4, 9, 0, tzinfo=UTC))
    SignOffFactory(repair=repair, name="Ash Rowan", signed_on=date(2026, 5, 8))
    quiet = MemberFactory(building=sill.building, mark="Q-POST-01")
    pdf = reader(of)
    text = read(pdf)
    cover, contents = pdf.pages[0].extract_text(), pdf.pages[1].extract_text()
    assert of.name in cover
    assert "Larkfield Trust, since 1 January 2012" in cover
    assert "Made on 25 November 2026, by Robin Larch" in " ".join(cover.split())
    assert f"{len(pdf.pages)} pages" in cover
    assert contents.startswith("Contents")
    assert "N-SILL-03, sill" in contents
    assert quiet.mark not in contents
    for said in (
        "lot A-11", "lot B-12", "100 : 33 by weight", "4 May 2026, 10:00", "8 May 2026",
        "Ash Rowan", "Q-POST-01", "133 g to stage", f"page 2 of {len(pdf.pages)}",
        "Species: not recorded", "a photograph before",
    ):  # fmt: skip
        assert said in text


def test_contents_name_the_page_where_a_thing_stands(sill: Member, of: Property) -> None:
    RepairFactory(member=sill)
    assert_contents_lead_to_their_pages(reader(of))


def assert_contents_lead_to_their_pages(pdf: PdfReader) -> None:
    contents = pdf.pages[1].extract_text()
    named = (("What was open", "What was open"), ("N-SILL-03, sill", "N-SILL-03, sill"),
             ("Register of all entries by date", "Register of all entries by date"),
             ("Sources and cautions", "Sources and cautions"))  # fmt: skip
    for line, heading in named:
        found = re.search(re.escape(line) + r"[ .]+(\d+)", contents)
        assert found, line
        assert heading in pdf.pages[int(found[1]) - 1].extract_text()


@pytest.mark.parametrize(("sheet", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_it_is_set_on_a4_and_on_us_letter(
    client: Client, of: Property, sheet: str, size: tuple[int, int]
) -> None:
    client.force_login(make_manager())
    boxes = {
        (round(float(page.mediabox.width)), round(float(page.mediabox.height)))
        for page in fetch(client, of, paper=sheet).pages
    }
    assert boxes == {size}


def test_it_is_tagged_and_has_a_title_and_a_language(of: Property) -> None:
    pdf = reader(of)
    root: Any = pdf.root_object
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]).lower().startswith("en")
    assert pdf.metadata
    assert pdf.metadata.title == f"History of {of.name}"


def test_a_long_history_is_set_in_parts_and_bound_as_one(sill: Member, of: Property) -> None:
    for day in range(61):
        began = datetime(2024, 1, 1, 9, 0, tzinfo=UTC) + timedelta(days=day)
        RepairFactory(member=sill, began_at=began, done_by=f"Hand-{day}-")
    pdf = reader(of)
    text = read(pdf)
    assert [f"Hand-{day}-" for day in range(61) if f"Hand-{day}-" not in text] == []
    assert_contents_lead_to_their_pages(pdf)
    for number, page in enumerate(pdf.pages, start=1):
        assert f"page {number} of {len(pdf.pages)}" in page.extract_text()
    # No part begins on an empty page: each says more than its running head and number.
    assert all(len(page.extract_text()) > 150 for page in pdf.pages)
    assert_tags_are_whole(pdf)
    assert [item.title for item in pdf.outline if not isinstance(item, list)].count("Costs") == 1


def assert_tags_are_whole(pdf: PdfReader) -> None:
    tree: Any = pdf.root_object["/StructTreeRoot"]
    numbers = tree["/ParentTree"]["/Nums"][::2]
    assert numbers == sorted(set(numbers))
    pages: list[Any] = [page["/StructParents"] for page in pdf.pages]
    assert len(set(pages)) == len(pages)
    assert set(pages) <= set(numbers)
    assert all(top.get_object()["/P"].get_object() == tree for top in tree["/K"])
    stamp: Any = pdf.pages[0]["/Resources"]["/XObject"]["/PageNumber0"]  # type: ignore[index]
    assert b"/Artifact BMC" in stamp.get_data()
    assert b"MCID" not in stamp.get_data()


def test_nothing_of_another_property_is_told(sill: Member, of: Property) -> None:
    """A batch that also went to another property names neither its member nor its place."""
    repair = sealed(sill, ("A-11", "B-12"), datetime(2026, 5, 4, 9, 0, tzinfo=UTC))
    batch = repair.stages.get().batches_mixed.get()
    elsewhere = StageFactory(repair=sealed(
        MemberFactory(mark="SECRET-SILL", building__name="Secret barn"), ("A-98", "B-99"),
        datetime(2026, 5, 4, 9, 0, tzinfo=UTC),
    ))  # fmt: skip
    BatchShareFactory(batch=batch, stage=elsewhere, amount=Decimal(10))
    text = html(of)
    assert "10 g to a repair on another property" in text
    assert not any(word in text for word in ("SECRET", "Secret", "A-98", "B-99"))


def test_costs_before_a_sale_are_hidden_from_the_new_owner(
    client: Client, sill: Member, of: Property
) -> None:
    OwnershipFactory(
        property=of, owner=OwnerFactory(name="First Trust"), from_on=date(2015, 1, 1),
        to_on=date(2025, 6, 30),
    )  # fmt: skip
    OwnershipFactory(property=of, owner__name="Second Trust", from_on=date(2025, 6, 30))
    repair = RepairFactory(member=sill, began_at=datetime(2024, 5, 4, 9, 0, tzinfo=UTC))
    for worked_on, amount in ((date(2024, 5, 4), 77700), (date(2026, 5, 4), 88800)):
        CostLineFactory(building=sill.building, worked_on=worked_on, amount_minor=amount)
    CostLineFactory(
        building=sill.building, member=sill, repair=repair, worked_on=date(2024, 5, 4),
        amount_minor=66600,
    )  # fmt: skip
    client.force_login(make_viewer(of))
    sold = read(fetch(client, of, all_owners="on"))
    assert "888.00" in sold
    assert "777.00" not in sold
    assert "666.00" not in sold
    assert "Costs before 30 June 2025 belong to an earlier owner" in sold
    assert "First Trust" in sold
    client.force_login(make_manager())
    assert "777.00" in read(fetch(client, of, all_owners="on"))


def test_as_at_a_day_it_tells_what_was_so_on_that_day(sill: Member, of: Property) -> None:
    DefectFactory(
        member=sill, found_on=date(2025, 5, 1), state="made_good", closed_on=date(2025, 8, 1)
    )
    began = datetime(2025, 6, 1, 9, 0, tzinfo=UTC)
    RepairFactory(member=sill, began_at=began, state="failed", failed_on=date(2025, 9, 1))
    RepairFactory(member=sill, began_at=began + timedelta(days=90), done_by="Later Hand")
    due = DueDateFactory(
        member=sill, due_on=date(2025, 6, 20), counted_from=date(2025, 5, 20),
        done_on=date(2025, 7, 9),
    )  # fmt: skip
    InspectionFactory(member=sill, due=due, looked_on=date(2025, 7, 9), looked_by_name="Late Eye")
    text = html(of, last=date(2025, 6, 30))
    assert "Look at the repair, 10 days late" in text
    assert "Outstanding defect" in text
    assert not any(word in text for word in ("Failed on", "Later Hand", "Late Eye", "Made good"))
    assert "1 May 2025 to 30 June 2025" in text


def test_what_is_open_comes_first(sill: Member, of: Property) -> None:
    repair = sealed(sill, ("A-11", "B-12"), datetime(2026, 5, 4, 9, 0, tzinfo=UTC))
    Repair.objects.filter(pk=repair.pk).update(temporary=True)
    KeptRemarkFactory(repair=repair, holds=True, found="Painted on uncured resin")
    DefectFactory(member=sill, kind="split")
    DueDateFactory(member=sill, due_on=date(2026, 11, 15))
    lot = repair.stages.get().batches_mixed.get().parts.all()[0].lot
    lot.move("used", Decimal(-5000), datetime(2026, 5, 5, 9, 0, tzinfo=UTC), None)
    text = html(of)
    for said in (
        "Outstanding defect", "Split, left end", "10 days late", "Painted on uncured resin",
        "To be made lasting", "count needed",
    ):  # fmt: skip
        assert said in text


def test_an_expired_lot_or_a_cold_day_is_told_as_it_was_said(sill: Member, of: Property) -> None:
    repair = sealed(sill, ("A-11", "B-12"), datetime(2026, 5, 4, 9, 0, tzinfo=UTC))
    KeptRemarkFactory(
        repair=repair, stage=repair.stages.get(), found="12 days past expiry",
        reason="Witness sample set hard",
    )  # fmt: skip
    text = html(of)
    assert "12 days past expiry" in text
    assert "Reason given: Witness sample set hard" in text


def test_ratings_are_told_in_words_and_unknown_ones_as_unknown(sill: Member, of: Property) -> None:
    InspectionFactory(
        member=sill, flaking=Decimal("2.5"), cracking=None, blistering=Decimal(0),
        not_applicable=["cross_cut"],
    )  # fmt: skip
    text = html(of)
    assert "Flaking: 2.5, between slight and moderate" in text
    assert "Cracking: not recorded" in text
    assert "Blistering: 0, none" in text
    assert "Cross-cut: not applicable" in text


def test_the_worst_moisture_reading_governs(sill: Member, of: Property) -> None:
    for raw in ("13.0", "19.5", "15.0"):
        MoistureReadingFactory(member=sill, raw_pct=Decimal(raw))
    assert "The worst reading governs: 19.5 %" in html(of)


def test_a_load_bearing_member_is_left_to_an_engineer(of: Property) -> None:
    building = of.buildings.get()
    MemberFactory(building=building, mark="E-BEAM-01", load_bearing="yes")
    MemberFactory(building=building, mark="E-BEAM-02", load_bearing="unknown")
    text = html(of)
    assert "Yes: an engineer decides" in text
    assert "Not known: an engineer decides" in text


def test_photographs_keep_their_shape_and_shrink_to_print_size(sill: Member, of: Property) -> None:
    big = BytesIO()
    Image.new("RGB", (2400, 1200), "sienna").save(big, "JPEG")
    PhotographFactory(
        repair=RepairFactory(member=sill), file=ContentFile(big.getvalue(), "x.jpg"),
        moment=Photograph.Moment.BEFORE,
        taken_at=datetime(2026, 5, 4, 9, 0, tzinfo=UTC), caption="Cut back",
    )  # fmt: skip
    pdf = reader(of)
    sizes = {image.image.size for image in pdf.pages[0].images if image.image}
    assert sizes == {(660, 330)}
    assert "Before · 4 May 2026 · Cut back" in read(pdf)


def test_a_missing_photograph_does_not_break_the_document(sill: Member, of: Property) -> None:
    photograph = PhotographFactory(repair=RepairFactory(member=sill))
    broken = PhotographFactory(repair=photograph.repair)
    photograph.file.storage.delete(photograph.file.name)
    with broken.file.storage.open(broken.file.name, "wb") as file:
        file.write(b"not a picture")
    text = read(reader(of))
    assert text.count("Photograph missing from the store") == 2


def test_names_and_notes_of_every_kind_come_through() -> None:
    of = PropertyFactory(name='The "Old" <b>Mill</b> & Sons', notes="x" * 5000)
    building = BuildingFactory(property=of, name="بيت الخشب")
    member = MemberFactory(building=building, mark="N-" + "W" * 38)
    RepairFactory(member=member, done_by="O'Brien <script>", notes="Long note. " * 450)
    text = read(reader(of))
    assert 'The "Old" <b>Mill</b> & Sons' in text
    assert "O'Brien <script>" in text
    # A page may end between the two words of one.
    assert min(text.count("Long "), text.count(" note.")) >= 450


@pytest.mark.parametrize("with_building", [False, True])
def test_an_empty_property_still_gives_a_document(with_building: bool) -> None:
    of = PropertyFactory()
    if with_building:
        BuildingFactory(property=of)
    text = read(reader(of))
    assert "Nothing dated is recorded in these days." in text
    assert "No costs are recorded" in text
    expected = "No member is recorded on this building." if with_building else "No building is"
    assert expected in text


def test_the_version_follows_the_content_and_not_who_made_it(sill: Member, of: Property) -> None:
    def version(by: str) -> str:
        return str(history_parts(Scope(of, TODAY), by).context["version"])

    first = version("Robin Larch")
    assert version("Ash Rowan") == first
    RepairFactory(member=sill)
    assert version("Robin Larch") != first


def test_one_member_alone_can_be_told(sill: Member, of: Property) -> None:
    other = MemberFactory(building=sill.building, mark="OTHER-01")
    RepairFactory(member=other)
    RepairFactory(member=sill)
    text = html(of, member=sill)
    assert "OTHER-01" not in text
    assert "Only of N-SILL-03" in text


def test_whoever_may_not_read_costs_gets_none(sill: Member, of: Property) -> None:
    CostLineFactory(building=sill.building, member=sill, amount_minor=77700)
    text = html(of, costs=False)
    assert "777.00" not in text
    assert "Costs are left out" in text


def test_costs_by_year_and_kind_add_up_to_the_whole(sill: Member, of: Property) -> None:
    for year, minor in ((2024, 120000), (2025, -30000), (2025, 1)):
        CostLineFactory(
            building=sill.building, worked_on=date(year, 5, 4), amount_minor=minor,
            kind="credit" if minor < 0 else "access",
        )  # fmt: skip
    text = html(of)
    assert "GBP 900.01 in all" in text
    assert "2025 −299.99" in text


def test_however_much_there_is_the_document_asks_as_often(
    sill: Member, django_assert_max_num_queries: Any
) -> None:
    of = sill.building.property

    def grow() -> None:
        member = MemberFactory(building=sill.building)
        repair = sealed(member, ("A", "B"), datetime(2026, 5, 4, 9, 0, tzinfo=UTC))
        repair.defects.add(DefectFactory(member=member))
        SignOffFactory(repair=repair)
        KeptRemarkFactory(repair=repair)
        LabourFactory(repair=repair)
        PhotographFactory(repair=repair)
        MoistureReadingFactory(member=member)
        InspectionFactory(member=member, due=DueDateFactory(member=member))
        CostLineFactory(building=sill.building, member=member, repair=repair)

    grow()
    with django_assert_max_num_queries(24) as few:
        html(of)
    for _ in range(5):
        grow()
    with django_assert_max_num_queries(24) as many:
        html(of)
    assert len(many) == len(few)
