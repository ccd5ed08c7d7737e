from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from repairs.logbook.change import CannotChange, release
from repairs.logbook.readiness import readiness_of
from repairs.models import CostLine, Repair, SignOff
from tests.factories import (
    MORNING,
    BatchPartFactory,
    KeptRemarkFactory,
    RepairFactory,
    SignOffFactory,
    StageFactory,
    make_manager,
)
from tests.repairs.made_entries import HOUR, NOW, log, one_seal

pytestmark = pytest.mark.django_db


@pytest.fixture
def repair():
    """A fill that cures until the next morning."""
    repair = RepairFactory()
    StageFactory(repair=repair, position=1, kind="fill", ready_at=MORNING + 24 * HOUR)
    return repair


def test_a_stage_cures_until_its_time(repair):
    waits = readiness_of(repair, MORNING + 23 * HOUR)
    assert (waits.ready, waits.state) == (False, "curing")
    assert waits.cured_at == MORNING + 24 * HOUR


def test_at_its_time_nothing_waits(repair):
    assert readiness_of(repair, MORNING + 24 * HOUR).ready


def test_the_last_cure_governs(repair):
    StageFactory(repair=repair, position=2, kind="fill", ready_at=MORNING + 48 * HOUR)
    assert readiness_of(repair, MORNING).cured_at == MORNING + 48 * HOUR


def test_a_cure_that_is_not_known_waits_for_a_person(repair):
    StageFactory(repair=repair, position=2, kind="seal", ready_at=None)
    waits = readiness_of(repair, NOW)
    assert (waits.ready, waits.state) == (False, "unknown")


def test_a_stage_that_cures_nothing_holds_nothing(repair):
    StageFactory(repair=repair, position=2, kind="shape", ready_at=None)
    assert readiness_of(repair, NOW).ready


def test_a_remark_holds_until_a_person_gives_a_word(repair):
    remark = KeptRemarkFactory(repair=repair, holds=True)
    assert readiness_of(repair, NOW).holding == (remark,)
    manager = make_manager()
    release(remark, "Tapped and tried: hard all over", manager, NOW.date())
    remark.refresh_from_db()
    assert readiness_of(repair, NOW).ready
    assert (remark.released_by, remark.released_on) == (manager, NOW.date())


def test_a_word_is_given_once(repair):
    remark = KeptRemarkFactory(repair=repair, holds=True)
    release(remark, "Hard", make_manager(), NOW.date())
    with pytest.raises(CannotChange, match="no longer waits"):
        release(remark, "Hard", make_manager(), NOW.date())


def test_a_warning_that_does_not_hold_holds_nothing(repair):
    KeptRemarkFactory(repair=repair, holds=False)
    assert readiness_of(repair, NOW).ready


def test_the_last_word_of_a_sign_off_counts(repair):
    SignOffFactory(repair=repair, verdict=SignOff.Verdict.REJECTED)
    assert readiness_of(repair, NOW).state == "held"
    SignOffFactory(
        repair=repair, verdict="accepted", signed_on=SignOffFactory.signed_on + timedelta(days=9)
    )
    fresh = Repair.objects.get(pk=repair.pk)
    assert readiness_of(fresh, NOW).ready


def test_a_logged_repair_too_cold_to_cure_is_not_ready():
    made = one_seal()
    cold = replace(made.stages[0].batches[0], surface_c=Decimal(4))
    repair = log(replace(made, stages=(replace(made.stages[0], batches=(cold,)),)))
    assert repair.stages.get().ready_at is None
    assert "Stands still" in repair.stages.get().ready_basis
    assert not readiness_of(repair, NOW).ready


def test_the_list_and_the_one_repair_agree(repair):
    KeptRemarkFactory(repair=repair, holds=True)
    RepairFactory()
    BatchPartFactory()
    for listed in Repair.objects.with_standing(CostLine.objects.all()):
        one = readiness_of(listed, MORNING)
        assert listed.waits == bool(one.holding)
        assert listed.cured_at == max(
            (stage.ready_at for stage in listed.stages.all() if stage.ready_at), default=None
        )
    assert set(Repair.objects.waiting_for_a_word()) == {repair}
    assert set(Repair.objects.curing(MORNING)) == {repair}
