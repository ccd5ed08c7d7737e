"""What the database itself refuses, whichever way a row comes in."""

from datetime import date
from decimal import Decimal

import pytest

from tests import factories
from tests.constraints import BadRow, constraints_of, names, refusal

pytestmark = pytest.mark.django_db
MAY = date(2026, 5, 1)
BEFORE = date(2010, 1, 1)


def itself(kept: int) -> int:
    """The key that the copy gets, so that it can point at itself."""
    return kept + 1000


OWNERSHIP, BUILDING, ELEVATION, MEMBER, DEFECT = (
    factories.OwnershipFactory,
    factories.BuildingFactory,
    factories.ElevationFactory,
    factories.MemberFactory,
    factories.DefectFactory,
)
WEATHER, NORMAL = factories.WeatherFileFactory, factories.MonthlyNormalFactory
ROWS = {
    "property_currency_code": BadRow(factories.PropertyFactory, {"currency": "gbp"}),
    "property_given_up_with_reason": BadRow(factories.PropertyFactory, {"given_up_on": MAY}),
    "ownership_ends_after_it_begins": BadRow(OWNERSHIP, {"from_on": MAY, "to_on": MAY}),
    "ownership_one_current": BadRow(OWNERSHIP),
    "building_name_once_per_property": BadRow(BUILDING),
    "building_latitude_range": BadRow(BUILDING, {"latitude": Decimal(91)}),
    "building_longitude_range": BadRow(BUILDING, {"longitude": Decimal(-181)}),
    "building_year_and_how_known": BadRow(BUILDING, {"year_built": None}),
    "elevation_name_once_per_building": BadRow(ELEVATION),
    "elevation_bearing_range": BadRow(ELEVATION, {"bearing_deg": Decimal(360)}),
    "elevation_area_positive": BadRow(ELEVATION, {"area_m2": Decimal(0)}),
    "member_mark_once_in_place": BadRow(MEMBER),
    "member_removed_with_reason": BadRow(MEMBER, {"removed_on": MAY}),
    "member_not_its_own_successor": BadRow(
        MEMBER, {"pk": itself, "supersedes_id": itself, "mark": "N-1"}
    ),
    "member_width_mm_positive": BadRow(MEMBER, {"width_mm": Decimal(-5)}),
    "member_depth_mm_positive": BadRow(MEMBER, {"depth_mm": Decimal(0)}),
    "member_length_mm_positive": BadRow(MEMBER, {"length_mm": Decimal(0)}),
    "defect_closed_after_found": BadRow(DEFECT, {"state": "made_good", "closed_on": BEFORE}),
    "defect_cause_date_fits_state": BadRow(
        DEFECT, {"cause_state": "not_yet", "cause_put_right_on": MAY}
    ),
    "defect_closed_on_fits_state": BadRow(DEFECT, {"closed_on": MAY}),
    "defect_not_its_own_successor": BadRow(DEFECT, {"pk": itself, "superseded_by_id": itself}),
    "defect_length_mm_positive": BadRow(DEFECT, {"length_mm": Decimal(0)}),
    "defect_width_mm_positive": BadRow(DEFECT, {"width_mm": Decimal(0)}),
    "defect_depth_mm_positive": BadRow(DEFECT, {"depth_mm": Decimal(0)}),
    "defect_probe_mm_positive": BadRow(DEFECT, {"probe_mm": Decimal(-1)}),
    "property_hot_day_range": BadRow(factories.PropertyFactory, {"hot_day_c": Decimal(61)}),
    "member_tilt_range": BadRow(MEMBER, {"tilt_deg": Decimal(181)}),
    "weather_latitude_range": BadRow(WEATHER, {"latitude": Decimal(91)}),
    "weather_longitude_range": BadRow(WEATHER, {"longitude": Decimal(181)}),
    "weather_utc_offset_range": BadRow(WEATHER, {"utc_offset_h": Decimal(15)}),
    "normal_once_a_month": BadRow(NORMAL),
    "normal_month_range": BadRow(NORMAL, {"month": 13}),
    "normal_mean_range": BadRow(NORMAL, {"month": 6, "mean_c": Decimal(51)}),
    "normal_rain_days_range": BadRow(NORMAL, {"month": 6, "rain_days": Decimal(32)}),
    "person_weekday": BadRow(
        factories.PersonFactory,
        {"user_id": lambda kept: factories.UserFactory().pk, "weekly_mail_day": 7},
    ),
    "moisture_raw_range": BadRow(factories.MoistureReadingFactory, {"raw_pct": Decimal(201)}),
}


@pytest.mark.parametrize("name", sorted(ROWS))
def test_the_database_refuses_a_row_that_cannot_be(name: str) -> None:
    row = ROWS[name].copy()
    said = refusal(row)
    assert names(constraints_of("properties")[name], row, said), said


def test_every_constraint_is_tried() -> None:
    assert set(constraints_of("properties")) == set(ROWS)


def test_a_mark_may_be_used_again_once_its_member_is_gone() -> None:
    first = factories.MemberFactory(mark="N-1", removed_on=MAY, removed_reason="rotten")
    factories.MemberFactory(building=first.building, elevation=None, mark="N-1")
    factories.MemberFactory(mark="N-1")
