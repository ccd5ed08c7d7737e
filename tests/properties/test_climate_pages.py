"""The page of what the months of a property are like."""

import html
import re
from pathlib import Path
from typing import Any

import pvlib
import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from config.quantities import UnitSystem
from properties.decay_hazard import decay_hazard
from properties.models import MonthlyNormal, Property, WeatherFile
from properties.weather_file import pack, read_weather
from tests.factories import (
    MonthlyNormalFactory,
    PropertyFactory,
    WeatherFileFactory,
    make_crew,
    make_manager,
    make_viewer,
)
from tests.published import published

pytestmark = pytest.mark.django_db

SEATTLE = published("decay_hazard", "Index recomputed, Seattle WA mean 2012-2015")[0]


def twelve(letter: str) -> list[str]:
    found = re.search(rf"\b{letter} = ([\d. ]+)", SEATTLE["note"])
    assert found is not None
    return found[1].split()


AIR, RAIN = twelve("T"), twelve("D")


@pytest.fixture
def manager(client: Client) -> Client:
    client.force_login(make_manager())
    return client


def address(of: Property) -> str:
    return reverse("monthly-normals", args=[of.pk])


def page(client: Client, of: Property) -> str:
    return html.unescape(client.get(address(of)).content.decode())


def months(**changed: str) -> dict[str, str]:
    """Seattle's months as they would be typed."""
    typed = {"source": "Seattle, 2012 to 2015"}
    for month, (air, rain) in enumerate(zip(AIR, RAIN, strict=True), start=1):
        typed[f"mean_{month}"] = f"{float(air):.1f}"
        typed[f"days_{month}"] = f"{float(rain):.1f}"
    return {**typed, **changed}


def send(client: Client, of: Property, typed: dict[str, Any]) -> str:
    return html.unescape(client.post(address(of), typed, follow=True).content.decode())


def test_a_manager_types_the_months_and_reads_the_hazard(manager: Client) -> None:
    of = PropertyFactory()
    shown = send(manager, of, months())
    kept = list(MonthlyNormal.objects.filter(property=of))
    assert len(kept) == 12
    index = decay_hazard([float(x.mean_c) for x in kept], [float(x.rain_days) for x in kept]).index
    assert index == pytest.approx(54, abs=0.5)  # computed from the same months: 54.06
    assert f"<summary>{index:.1f}, moderate</summary>" in shown
    assert "Moderate: wood decays where water is held" in shown


def test_the_index_opens_to_its_months_formula_and_source(manager: Client) -> None:
    of = PropertyFactory()
    shown = send(manager, of, months())
    assert "Σ max(T − 2, 0) · (D − 3) / 16.7" in shown
    assert "5.5 °C, 16.5 days with rain" in shown
    assert "Scheffer 1971" in shown
    assert "Seattle, 2012 to 2015" in shown


def test_one_year_is_not_quoted_as_the_climate(manager: Client) -> None:
    assert "Never quote one year as the climate" in send(manager, PropertyFactory(), months())


def test_months_are_typed_in_the_units_of_the_reader(manager: Client) -> None:
    of = PropertyFactory(unit_system=UnitSystem.US)
    send(manager, of, months(mean_1="41.9"))
    assert float(of.monthly_normals.get(month=1).mean_c) == 5.5
    assert "41.9 °F" in page(manager, of)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"mean_7": "warm"}, "July, mean air"),
        ({"mean_7": "99"}, "at most 50 °C"),
        ({"days_2": "30"}, "Type 29 or less"),
        ({"days_2": "-1"}, "Type 0 or more"),
        ({"days_12": ""}, "December, days with rain"),
        ({"source": ""}, "Where these figures were read"),
    ],
)
def test_one_faulty_month_keeps_all_from_being_written(
    manager: Client, changed: dict[str, str], said: str
) -> None:
    of = PropertyFactory()
    shown = send(manager, of, months(**changed))
    assert "Nothing is saved yet" in shown
    assert said in shown
    assert 'value="20.4"' in shown  # what was typed is kept
    assert not of.monthly_normals.exists()


def test_months_typed_again_are_written_over(manager: Client) -> None:
    of = PropertyFactory()
    send(manager, of, months())
    send(manager, of, months(mean_1="-3"))
    assert of.monthly_normals.count() == 12
    assert of.monthly_normals.get(month=1).mean_c == -3
    assert of.monthly_normals.get(month=1).history.count() == 2


def test_an_empty_page_says_what_is_wanted(manager: Client) -> None:
    shown = page(manager, PropertyFactory())
    assert "Nothing is recorded yet of what the months" in shown
    assert "The decay hazard is reckoned from twelve months" in shown


def test_a_part_of_a_year_has_no_index_and_says_what_is_missing(manager: Client) -> None:
    shown = page(manager, MonthlyNormalFactory(month=5).property)
    assert "needs all twelve months" in shown
    assert "Missing: January, February, March, April, June" in shown


def test_viewers_read_and_do_not_write(client: Client) -> None:
    of = PropertyFactory()
    for user in (make_viewer(of), make_crew()):
        client.force_login(user)
        assert "Save the twelve months" not in page(client, of)
        assert client.post(address(of), months()).status_code == 403
    assert not of.monthly_normals.exists()


def test_the_property_leads_to_its_climate(manager: Client) -> None:
    of = PropertyFactory()
    assert address(of) in manager.get(of.get_absolute_url()).content.decode()


def test_without_a_file_its_months_cannot_be_taken(manager: Client) -> None:
    shown = send(manager, PropertyFactory(), {"from_file": "yes"})
    assert "No weather file is attached any more" in shown
    assert not MonthlyNormal.objects.exists()


# From a weather file


def with_weather(name: str, **facts: Any) -> WeatherFile:
    """A property with one of the real files that pvlib carries."""
    year = read_weather((Path(pvlib.__file__).parent / "data" / name).read_bytes(), name)
    facts = {"kind": year.kind, "place": year.place, "rain_is_known": year.rain_is_known, **facts}
    return WeatherFileFactory(hours=pack(year), file_name=name, **facts)


def test_one_button_takes_the_months_of_the_weather_file(manager: Client) -> None:
    file = with_weather("723170TYA.CSV")
    assert "Take the months of the weather file" in page(manager, file.property)
    shown = send(manager, file.property, {"from_file": "yes"})
    kept = list(file.property.monthly_normals.order_by("month"))
    assert [int(each.rain_days) for each in kept] == [6, 0, 8, 12, 5, 13, 11, 11, 10, 9, 7, 5]
    assert "<summary>60.2, moderate</summary>" in shown  # computed with pvlib: 60.16
    assert "one typical year, not means over many" in kept[0].source
    assert "it does not rain at all in February." in shown


def test_a_file_with_humidity_tells_how_wet_the_air_keeps_wood(manager: Client) -> None:
    shown = page(manager, with_weather("723170TYA.CSV").property)
    assert "<summary>13.0 %</summary>" in shown  # January, computed: 13.01
    assert "Mean relative humidity of the weather file" in shown
    assert "Wood Handbook, FPL-GTR-282" in shown


def test_without_rain_on_record_there_is_no_button_and_no_index(manager: Client) -> None:
    file = with_weather("703165TY.csv")
    shown = page(manager, file.property)
    assert "Take the months of the weather file" not in shown
    assert "does not know the rain: type the months" in shown
    refused = send(manager, file.property, {"from_file": "yes"})
    assert "The rain of January is not known, so there is no index" in refused
    assert not MonthlyNormal.objects.exists()


def test_hours_that_cannot_be_read_leave_the_page_standing(manager: Client) -> None:
    shown = page(manager, WeatherFileFactory(rain_is_known=True).property)
    assert "Save the twelve months" in shown


def test_the_page_asks_little(
    manager: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    file = with_weather("723170TYA.CSV")
    send(manager, file.property, months())
    with django_assert_max_num_queries(12):
        page(manager, file.property)
