"""The expected surface of a member, by the best that is known of its place."""

from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from properties.face_heat import surface_of
from properties.heat import ExpectedSurface, FaceReckoning, margin_k
from properties.models import Member, Property, WeatherFile
from properties.surface_heat import face_year
from properties.weather_file import pack
from tests.factories import ElevationFactory, MemberFactory, WeatherFileFactory
from tests.properties.weather_samples import year_of

pytestmark = pytest.mark.django_db


def expected(member: Member) -> ExpectedSurface:
    found = surface_of(member)
    assert found is not None
    return found


def reckoned(member: Member) -> FaceReckoning:
    found = expected(member).reckoned
    assert found is not None
    return found


def dark_member(**facts) -> Member:
    facts = {"kind": "fascia", "finish_tone": "dark", **facts}
    member = MemberFactory(building__latitude=Decimal("36.1"), **facts)
    member.elevation = ElevationFactory(building=member.building, bearing_deg=270)
    member.save()
    return Member.objects.with_place().get(pk=member.pk)


def attach(member: Member, checksum: str = "a" * 64, **facts) -> WeatherFile:
    return WeatherFileFactory(
        property=Property.objects.get(pk=member.building.property_id),
        hours=pack(year_of()),
        checksum=checksum,
        **facts,
    )


def test_what_is_stated_for_the_member_comes_first() -> None:
    member = dark_member(expected_surface_c=Decimal(55))
    attach(member)
    assert expected(member).celsius == 55
    assert expected(member).basis == "stated for this member"


def test_the_weather_file_comes_next_and_is_named() -> None:
    member = dark_member()
    member.building.property.hot_day_c = Decimal(35)
    attach(member, place="Greensboro")
    found = expected(member)
    wanted = face_year(year_of(), bearing_deg=270, tilt_deg=90, absorptance=0.9).highest_c
    assert float(found.celsius) == pytest.approx(wanted, abs=0.06)
    assert found.basis == ("dark finish, facing 270°, tilt 90°, by the weather of Greensboro (EPW)")


def test_a_cloudless_hot_day_serves_without_a_file() -> None:
    member = dark_member()
    member.building.property.hot_day_c = Decimal(35)
    found = expected(member)
    assert reckoned(member).air_c == 35
    assert "by a cloudless hot day there" in found.basis
    assert 65 < found.celsius < 85


def test_without_a_latitude_the_usual_figure_stands() -> None:
    member = dark_member()
    member.building.property.hot_day_c = Decimal(35)
    member.building.latitude = None
    assert expected(member).basis == "dark finish in full sun; common practice, no source"


def test_hours_that_cannot_be_read_fall_back_on_the_usual_figure() -> None:
    member = dark_member()
    WeatherFileFactory(property=member.building.property, hours=b"none", checksum="b" * 64)
    assert expected(member).celsius == 80


def test_a_tone_not_known_is_not_guessed() -> None:
    member = dark_member(finish_tone="unknown")
    attach(member)
    assert surface_of(member) is None


def test_a_bearing_not_known_takes_the_hottest_side() -> None:
    member = dark_member()
    attach(member, checksum="c" * 64)
    known = expected(member).celsius
    member.elevation = None
    found = expected(member)
    assert found.celsius >= known
    assert "bearing not known, the hottest of eight" in found.basis


@pytest.mark.parametrize(
    ("kind", "tilt", "used"),
    [
        ("sill", None, 10),
        ("threshold", None, 10),
        ("handrail", None, 0),
        ("soffit", None, 180),
        ("fascia", None, 90),
        ("sill", Decimal(0), 0),
        ("fascia", Decimal("35.5"), Decimal("35.5")),
    ],
)
def test_the_tilt_is_the_recorded_one_or_the_usual_of_its_kind(kind, tilt, used) -> None:
    member = dark_member(kind=kind, tilt_deg=tilt)
    attach(member, checksum="d" * 64)
    assert reckoned(member).tilt_deg == used


def test_a_file_that_takes_anothers_place_is_read_anew() -> None:
    member = dark_member()
    file = attach(member, checksum="e" * 64)
    before = expected(member).celsius
    file.hours, file.checksum = pack(year_of("703165TY.csv")), "f" * 64
    file.save()
    assert expected(member).celsius < before - 5


def test_it_asks_little_and_nothing_where_it_is_stated(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    member = dark_member()
    attach(member, checksum="9" * 64)
    with django_assert_num_queries(2):
        expected(member)
    with django_assert_num_queries(1):
        expected(member)
    read = Member.objects.select_related("elevation", "building__property__weather_file")
    with_file = read.get(pk=member.pk)
    with django_assert_num_queries(0):
        assert expected(with_file) == expected(with_file)
    member.expected_surface_c = Decimal(50)
    with django_assert_num_queries(0):
        expected(member)


def test_the_margin_is_what_the_product_has_over_the_face() -> None:
    member = dark_member(expected_surface_c=Decimal("70.4"))
    assert margin_k(Decimal(50), surface_of(member)) == Decimal("-20.4")
    assert margin_k(None, expected(member)) is None
    assert margin_k(Decimal(50), None) is None
