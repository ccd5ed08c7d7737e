"""The hostile visitor at the plans, the weather and the prices."""

from __future__ import annotations

import io
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import UTC, datetime
from decimal import Decimal
from threading import Barrier
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from materials.models import Product
from properties.face_heat import Weather, surface_by
from properties.models import Defect, Member, MonthlyNormal, WeatherFile
from properties.normals import keep_normals
from properties.surface_heat import SOL_AIR
from properties.weather_file import WeatherFileError, pack, unpack
from repairs.models import Plan
from repairs.plans.keep import drop_plan, log_plan
from repairs.plans.work_sheet import work_sheet_of
from tests import factories as make
from tests.properties.weather_samples import year_of
from tests.repairs.test_plan_pages import product, typed

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 5, 3, 15, 0, tzinfo=UTC)
SCRIPT = "<script>alert('1')</script>\"><img src=http://192.0.2.1/x onerror=alert(2)>"
ROWS = "2026-05-05T09:00:00+00:00"
PACKED = pack(year_of())
TAMPERED: tuple[Any, ...] = (
    5, True, "x", {"a": 1}, [None], [[]], [[1]], ["abc"], [[None] * 4], [[ROWS, "x", 1, 2]],
    [["2026-05-05T09:00:00", 5, 1, 2]], [[ROWS, 1e308, None, None]] * 2, [[ROWS, "NaN", "NaN", 1]],
    [["0001-01-01T00:00:00+00:00", 15, 50, 0]], [["9999-12-31T23:00:00+00:00", 15, 50, 0]],
    [[ROWS, 15, 50, 0], ["2926-05-05T09:00:00+00:00", 15, 50, 0]], [[1e308] * 3] * 3, [{}],
)  # fmt: skip


@pytest.fixture(autouse=True)
def afternoon() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def crew(client: Client) -> Client:
    client.force_login(make.make_crew())
    return client


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make.make_manager())
    return client


@pytest.fixture
def body() -> dict[str, str]:
    seal = product(Product.Kind.LAMINATING_RESIN, "Invented Seal")
    putty = product(Product.Kind.FILLER, "Invented Putty")
    return typed(seal, putty, act="save")


def save(client: Client, defect: Defect, sent: dict[str, str]) -> Any:
    return client.post(reverse("plan-new", args=[defect.pk]), sent, follow=True)


def told(answer: Any) -> str:
    return " ".join(str(each) for each in answer.context["messages"])


# One form, sent again


def test_a_form_sent_again_with_a_change_says_that_it_is_not_saved_twice(crew, body):
    defect = make.DefectFactory()
    assert "Saved:" in told(save(crew, defect, body))
    assert "not saved twice" in told(save(crew, defect, {**body, "notes": "changed"}))
    assert [plan.notes for plan in Plan.objects.all()] == [""]


def test_a_key_of_another_plan_leads_to_no_other_defect(crew, body):
    there, here = make.DefectFactory(), make.DefectFactory()
    save(crew, there, body)
    crew.force_login(make.make_crew())
    assert "Saved:" in told(save(crew, here, body))
    assert {plan.defect for plan in Plan.objects.all()} == {there, here}


def test_a_change_over_that_of_another_is_asked_about_first(crew, body):
    save(crew, make.DefectFactory(), body)
    path = reverse("plan-edit", args=[Plan.objects.get().pk])
    seen = crew.get(path).context["page"].typed["seen"]
    other = Client()
    other.force_login(make.make_crew())
    other.post(path, {**body, "seen": seen, "notes": "of the other"})
    mine = {**body, "seen": seen, "notes": "mine"}
    refused = crew.post(path, mine)
    assert "Somebody has changed this plan" in refused.content.decode()
    assert Plan.objects.get().notes == "of the other"
    now = refused.context["page"].typed["seen"]
    assert crew.post(path, {**mine, "seen": now}).status_code == 302
    assert Plan.objects.get().notes == "mine"


def test_a_start_in_the_hour_that_comes_twice_stays_where_it_was(crew, body):
    defect = make.DefectFactory(member__building__property__time_zone="Europe/London")
    twice = {**body, "on": "2026-10-25", "at": "01:30", "again": "second"}
    save(crew, defect, twice)
    plan = Plan.objects.get()
    path = reverse("plan-edit", args=[plan.pk])
    again = crew.get(path).context["page"].typed.dict()
    assert crew.post(path, {**again, "act": "save"}).status_code == 302
    assert Plan.objects.get().starts_at == plan.starts_at


def test_a_product_that_is_withdrawn_meanwhile_is_named_as_the_reason(crew, body):
    defect = make.DefectFactory()
    Product.objects.update(withdrawn_on=NOW.date())
    page = crew.post(reverse("plan-new", args=[defect.pk]), body).content.decode()
    assert "This product can no longer be chosen. Take another." in page


# What no page of ours has written


@pytest.mark.parametrize("rows", TAMPERED, ids=lambda rows: repr(rows)[:24])
@pytest.mark.parametrize("name", ["forecast", "profile"])
def test_rows_that_were_tampered_with_break_no_page(crew, name, rows):
    plan = make.PlanFactory()
    make.PlanStageFactory(plan=plan)
    Plan.objects.update(**{name: rows, "measured": "profile"})
    for page in ("plan-detail", "plan-edit"):
        assert crew.get(reverse(page, args=[plan.pk])).status_code == 200, page
    assert crew.get(reverse("repair-log"), {"plan": plan.pk}).status_code == 200


def test_words_from_people_are_no_markup_in_a_plan_nor_on_its_sheet(crew, body):
    defect = make.DefectFactory()
    save(crew, defect, {**body, "notes": SCRIPT})
    Product.objects.update(maker=SCRIPT[:60])
    Product.objects.filter(name="Invented Seal").update(name=SCRIPT[:80])
    Member.objects.update(notes=SCRIPT, position=SCRIPT[:60])
    plan = Plan.objects.get()
    for page in ("plan-detail", "plan-edit", "plan-list"):
        args = [] if page == "plan-list" else [plan.pk]
        text = crew.get(reverse(page, args=args)).content.decode()
        assert "<script>alert" not in text, page
        assert "<img src=http" not in text, page
    sheet = crew.get(reverse("plan-sheet", args=[plan.pk])).content
    assert "<script>" in "".join(each.extract_text() for each in PdfReader(io.BytesIO(sheet)).pages)


def test_a_sheet_of_thousands_of_batches_stays_short(crew, body):
    filler = product(Product.Kind.FILLER, "Invented Mud", batch_mass_max_g=Decimal(100))
    for number in range(30):
        body[f"stage-{number}-kind"], body[f"stage-{number}-product"] = "fill", str(filler.pk)
    sizes = {"shape-0-length": "1000", "shape-0-width": "400", "shape-0-depth": "110", "loss": "0"}
    save(crew, make.DefectFactory(), {**body, **sizes})
    work = work_sheet_of(Plan.objects.get(), "metric", NOW)
    tables = [stage.mixing for stage in work.stages if stage.mixing]
    assert len(tables) == 30
    assert sum(len(layer.rows) for each in tables for layer in each.layers) <= 160
    assert "Only the first 5 of 440 batches have a line here" in tables[0].remark


def test_a_year_of_many_digits_takes_nothing_out(manager):
    year = make.PriceIndexYearFactory()
    for number in ("9" * 5000, "9" * 20, "-1", "٢٠٢٠", "a\0b"):
        answer = manager.post(year.index.get_absolute_url(), {"take-out": number})
        assert answer.status_code == 302
    assert year.index.years.get() == year


# Weather


def test_a_weather_file_of_millions_of_lines_is_refused_unread(manager):
    path = reverse("weather-file", args=[make.PropertyFactory().pk])
    data = b"LOCATION,a,b,c,d,e,51,0,0,0\n" + b"\n" * 3_000_000
    answer = manager.post(path, {"file": SimpleUploadedFile("../a<b>.epw", data)})
    assert "more than 10,000 lines" in str(answer.context["form"].errors)


@pytest.mark.parametrize("place", range(0, 400, 7))
def test_hours_with_damaged_bytes_are_refused_in_words(place):
    damaged = bytearray(PACKED)
    at = place if place < 200 else -(place - 199)
    damaged[at] ^= 0xFF
    damaged[len(damaged) // 2] ^= 0x5A
    # Some damage is beside the point, and the year is then still whole.
    with suppress(WeatherFileError):
        assert len(unpack(bytes(damaged)).air_c) == 8760


def test_a_weather_file_that_goes_while_it_is_read_is_no_failure():
    gone = WeatherFile(pk=1, checksum="0" * 64, place="Gone", kind="epw")
    weather = Weather("by the weather of a file", SOL_AIR, gone)
    assert surface_by(weather, "dark", Decimal(180), Decimal(90)) is None


# At once


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """What each gives or raises, all begun together from threads of their own."""
    begin = Barrier(len(acts))

    def one(act: Callable[[], Any]) -> Any:
        try:
            begin.wait()
            return act()
        except ValidationError as error:
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(one, acts))


@pytest.mark.django_db(transaction=True)
def test_two_who_save_the_months_at_once_both_succeed():
    of = make.PropertyFactory()

    def keep(mean: int) -> None:
        figures = {"mean_c": Decimal(mean), "rain_days": Decimal(9), "source": "read"}
        keep_normals(of, [MonthlyNormal(month=month, **figures) for month in range(1, 13)])

    assert at_once(lambda: keep(5), lambda: keep(6), lambda: keep(7)) == [None] * 3
    assert len(set(MonthlyNormal.objects.values_list("mean_c"))) == 1
    assert MonthlyNormal.objects.count() == 12


@pytest.mark.django_db(transaction=True)
def test_a_plan_logged_and_dropped_at_once_is_one_of_the_two():
    plan = make.PlanFactory()
    repairs = [make.RepairFactory(member=plan.defect.member) for _ in range(2)]
    crew = make.make_crew()
    found = at_once(
        lambda: log_plan(plan, repairs[0], crew),
        lambda: drop_plan(plan, "No longer", crew),
        lambda: log_plan(plan, repairs[1], crew),
    )
    assert len([each for each in found if isinstance(each, ValidationError)]) == 2
    assert Plan.objects.get().state != Plan.State.PLANNED


@pytest.mark.django_db(transaction=True)
def test_one_form_sent_by_two_requests_makes_one_plan(body):
    defect, person = make.DefectFactory(), make.make_crew()

    def send() -> int:
        client = Client()
        client.force_login(person)
        return client.post(reverse("plan-new", args=[defect.pk]), sent).status_code

    sent = {**body, "key": str(uuid4())}
    assert at_once(send, send, send) == [302] * 3
    assert Plan.objects.count() == 1
