"""The page of a property's weather file and the heat of its faces."""

import html
import re
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from config.quantities import UnitSystem
from properties.models import Property, WeatherFile
from properties.weather_file import pack
from tests.factories import (
    BuildingFactory,
    ElevationFactory,
    MemberFactory,
    PropertyFactory,
    WeatherFileFactory,
    make_crew,
    make_manager,
    make_viewer,
)
from tests.properties.weather_samples import epw, tmy3, year_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make_manager())
    return client


def address(of: Property, name: str = "weather-file") -> str:
    return reverse(name, args=[of.pk])


def page(client: Client, of: Property) -> str:
    return html.unescape(client.get(address(of)).content.decode())


def send(client: Client, of: Property, data: bytes, name: str = "greensboro.tmy3", **more: Any):
    typed = {"file": SimpleUploadedFile(name, data), "source_note": "NREL", **more}
    return html.unescape(client.post(address(of), typed, follow=True).content.decode())


def with_weather(**facts: Any) -> WeatherFile:
    return WeatherFileFactory(hours=pack(year_of()), checksum="7" * 64, **facts)


@pytest.mark.parametrize(("data", "kind"), [(tmy3, "TMY3"), (epw, "EPW")])
def test_a_manager_attaches_a_file_and_reads_the_heat(manager: Client, data, kind: str) -> None:
    of = PropertyFactory()
    shown = send(manager, of, data())
    file = WeatherFile.objects.get(property=of)
    assert file.get_kind_display() == kind
    assert file.rain_is_known
    assert file.attached_by is not None
    assert "the hottest face here would reach" in shown
    assert "GREENSBORO PIEDMONT TRIAD INT" in shown
    assert "Published by</dt><dd>NREL" in shown


def test_each_figure_opens_to_when_air_sun_colour_and_source(manager: Client) -> None:
    shown = page(manager, with_weather().property)
    assert "9 July" in shown
    assert "Sun on the face" in shown
    assert "0.90, slate or dark grey" in shown
    assert "T = T air + α I / h" in shown
    assert "ASHRAE Fundamentals" in shown
    assert "The hottest hour of each month" in shown


def test_the_propertys_own_faces_stand_beside_the_four_winds(manager: Client) -> None:
    file = with_weather()
    building = BuildingFactory(property=file.property, name="Hall")
    ElevationFactory(building=building, name="Yard side", bearing_deg=Decimal("222.5"))
    assert "Yard side of Hall, 222.5°" in page(manager, file.property)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "The file is empty"),
        (b"PK\x03\x04", "This is a ZIP file"),
        (b"<script>alert(1)</script>", "neither an EPW nor a TMY3 file"),
        (b"LOCATION,a\n", "no latitude of the station"),
        (b"LOCATION," + b"x" * 7_000_000, "larger than 6 MB"),
    ],
)
def test_a_faulty_file_leaves_what_was_attached(manager: Client, data: bytes, said: str) -> None:
    file = with_weather()
    shown = send(manager, file.property, data)
    assert said in shown
    assert 'value="NREL"' in shown  # what was typed is kept
    assert WeatherFile.objects.get(property=file.property).checksum == "7" * 64


def test_a_name_that_is_markup_is_shown_as_text(manager: Client) -> None:
    of = PropertyFactory()
    typed = {"file": SimpleUploadedFile("<b>x.epw", b"nonsense")}
    assert b"<b>x.epw" not in manager.post(address(of), typed).content


def test_another_file_takes_its_place(manager: Client) -> None:
    file = with_weather()
    send(manager, file.property, epw(), "other.epw")
    again = WeatherFile.objects.get(property=file.property)
    assert (again.pk, again.file_name) == (file.pk, "other.epw")
    assert again.history.count() == 2


def test_a_manager_removes_the_file(manager: Client) -> None:
    file = with_weather()
    shown = manager.post(address(file.property, "weather-remove"), follow=True)
    assert "is removed" in shown.content.decode()
    assert not WeatherFile.objects.exists()
    assert manager.get(address(file.property, "weather-remove")).status_code == 405


def test_without_weather_it_says_what_to_enter(manager: Client) -> None:
    shown = page(manager, PropertyFactory())
    assert "No weather is known" in shown
    assert "state the air on a hot day" in shown


def test_a_hot_day_serves_where_the_latitude_is_known(manager: Client) -> None:
    of = PropertyFactory(hot_day_c=Decimal(32))
    BuildingFactory(property=of, latitude=Decimal("51.5"))
    shown = page(manager, of)
    assert "Under a cloudless sky and with air of 32 °C" in shown
    assert "Linke turbidity of 3" in shown
    assert "by the sun" in shown
    assert "standard time" not in shown
    assert "Hours over" not in shown


def test_each_tone_opens_to_its_months(manager: Client) -> None:
    shown = page(manager, with_weather().property)
    months = re.findall(r"Highest of each month.*?(Jan [^<]*Dec [^<]*)<", shown, re.DOTALL)
    assert len(set(months)) > 4  # by face and by tone
    assert all(each.count("°C") == 12 for each in months)


def test_hours_that_cannot_be_read_leave_the_page_standing(manager: Client) -> None:
    shown = page(manager, WeatherFileFactory(checksum="1" * 64).property)
    assert "its hours cannot be read" in shown
    assert "Attach this file" in shown


def test_figures_are_in_the_units_of_the_reader(manager: Client) -> None:
    of = PropertyFactory(unit_system=UnitSystem.US)
    shown = page(manager, with_weather(property=of).property)
    assert "Hours over 122 °F" in shown


def test_viewers_read_and_do_not_write(client: Client) -> None:
    file = with_weather()
    for user in (make_viewer(file.property), make_crew()):
        client.force_login(user)
        assert "Attach this file" not in page(client, file.property)
        sent = {"file": SimpleUploadedFile("x.epw", epw())}
        assert client.post(address(file.property), sent).status_code == 403
        assert client.post(address(file.property, "weather-remove")).status_code == 403
    assert WeatherFile.objects.get().checksum == "7" * 64


def test_the_property_leads_to_its_weather(manager: Client) -> None:
    of = PropertyFactory()
    assert address(of) in manager.get(of.get_absolute_url()).content.decode()


def test_a_members_page_opens_its_expected_surface(manager: Client) -> None:
    file = with_weather()
    member = MemberFactory(building__property=file.property, finish_tone="dark")
    shown = html.unescape(manager.get(member.get_absolute_url()).content.decode())
    assert "Expected surface on a hot day" in shown
    assert "by the weather of Larkfield, invented" in shown


def test_the_page_asks_little_however_many_faces(
    manager: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    file = with_weather()
    building = BuildingFactory(property=file.property)
    for bearing in range(0, 360, 5):
        ElevationFactory(building=building, name=f"Side {bearing}", bearing_deg=bearing)
    with django_assert_max_num_queries(12):
        page(manager, file.property)


def test_the_hot_day_is_a_fact_of_the_property(manager: Client) -> None:
    of = PropertyFactory()
    shown = manager.get(reverse("property-edit", args=[of.pk])).content.decode()
    assert "Air on a hot day" in shown
