"""How long repairs have lasted here, by the property's own record."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from properties.models import Property
from repairs.models import Repair
from repairs.plans.own_lives import lives_here
from tests import factories as make

pytestmark = pytest.mark.django_db

ON = date(2026, 5, 4)
RESIN = Repair.Kind.RESIN


@pytest.fixture
def place() -> Any:
    return make.PropertyFactory()


def done(place: Property, year: int, failed: str | None = None, **changes: Any) -> Repair:
    made: Repair = make.RepairFactory(
        **{
            "member": make.MemberFactory(building__property=place),
            "began_at": datetime(year, 5, 4, 9, tzinfo=UTC),
            "state": "failed" if failed else "finished",
            "failed_on": failed,
            **changes,
        }
    )
    return made


def test_failed_and_sound_repairs_are_told_apart(place: Any) -> None:
    done(place, 2010, "2015-05-04")
    done(place, 2018, "2020-05-04")
    done(place, 2019)
    lives = lives_here(RESIN, place, ON)
    assert (lives.count, len(lives.sound)) == (3, 1)
    assert (lives.shortest, lives.median_failed) == pytest.approx((2, 3.5), abs=0.01)
    assert lives.words == (
        "Our own record on this property: 3 resin repairs; 2 failed, after 2.0 and 5.0 years; "
        "1 is still sound, the oldest for 7.0 years."
    )


def test_a_repair_done_again_has_ended_that_day(place: Any) -> None:
    first = done(place, 2018)
    done(place, 2022, member=first.member, relation="repeat", follows=first)
    done(place, 2020, member=first.member, relation="redo", follows=first, state="withdrawn")
    lives = lives_here(RESIN, place, ON)
    assert lives.failed == pytest.approx((4,), abs=0.01)
    assert lives.sound == pytest.approx((4,), abs=0.01)


def test_a_coat_over_a_repair_is_not_its_end(place: Any) -> None:
    first = done(place, 2018)
    done(place, 2022, member=first.member, kind="repaint", relation="repeat", follows=first)
    lives = lives_here(RESIN, place, ON)
    assert (lives.failed, lives.sound) == ((), pytest.approx((8,), abs=0.01))


def test_what_failed_before_it_was_done_again_ended_when_it_failed(place: Any) -> None:
    first = done(place, 2018, "2019-05-04")
    done(place, 2022, member=first.member, relation="redo", follows=first)
    assert lives_here(RESIN, place, ON).shortest == pytest.approx(1, abs=0.01)


def test_what_went_with_its_member_did_not_fail(place: Any) -> None:
    gone = make.MemberFactory(
        building__property=place, removed_on=date(2020, 1, 1), removed_reason="Replaced"
    )
    done(place, 2018, member=gone)
    lives = lives_here(RESIN, place, ON)
    assert (lives.failed, lives.sound, lives.gone) == ((), (), 1)
    assert "1 went while sound, with the member, building or property" in lives.words


@pytest.mark.parametrize(
    "other", [{"kind": "splice"}, {"temporary": True}, {"state": "withdrawn"}, {"state": "in_work"}]
)
def test_only_lasting_finished_repairs_of_the_kind_count(place: Any, other: Any) -> None:
    done(place, 2018, **other)
    done(make.PropertyFactory(), 2018)
    lives = lives_here(RESIN, place, ON)
    assert lives.count == 0
    assert lives.words == "No lasting resin repair is recorded on this property yet."


def test_it_is_told_as_it_stood_on_the_day(place: Any) -> None:
    done(place, 2018, "2025-05-04")
    done(place, 2024)
    lives = lives_here(RESIN, place, date(2020, 5, 4))
    assert (lives.failed, lives.count) == ((), 1)
    assert lives.sound == pytest.approx((2,), abs=0.01)


def test_many_failures_are_told_by_their_middle(place: Any) -> None:
    for year in (2010, 2012, 2014, 2016):
        done(place, year, "2018-05-04")
    assert "4 failed, the first after 2.0 years and half of them within 5.0" in (
        lives_here(RESIN, place, ON).words
    )


def test_a_hundred_repairs_are_read_at_once(place: Any, django_assert_num_queries: Any) -> None:
    member = make.MemberFactory(building__property=place)
    for _ in range(100):
        done(place, 2018, member=member)
    with django_assert_num_queries(2):
        assert lives_here(RESIN, place, ON).count == 100
