"""A repair in work goes on: sealed today, filled tomorrow, painted the day after."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from materials.models import Product
from properties.models import Defect
from repairs.logbook.change import finish
from repairs.logbook.log import Refused, judge, log_repair
from repairs.models import CostLine, Repair
from tests.factories import MORNING
from tests.repairs.made_entries import (
    DAY,
    HOUR,
    NOW,
    batch,
    entry,
    log,
    make_lots,
    make_sheet,
    one_seal,
    painting,
    part,
    stage,
)

pytestmark = pytest.mark.django_db


def sealed(**more) -> Repair:
    return log(one_seal(finished=False, **more), at=MORNING + 2 * HOUR)


def filling(repair: Repair, at, *, sheet=None, **more):
    """The next day's stage, as the log page hands it over."""
    sheet = sheet or make_sheet(Product.Kind.FILLER, weight_a=2, weight_b=1, apply_min_c=10)
    lots = make_lots(sheet, price_minor=3000)
    mixed = batch(sheet, part(lots[0], 100), part(lots[1], 50), at=at)
    made = entry(
        repair.member,
        stage("fill", mixed, at=at, thickness_mm=Decimal(20)),
        defects=tuple(repair.defects.all()),
        zone=repair.zone,
        began_at=repair.began_at,
    )
    return replace(made, continues=repair, **more)


def codes(made, at=NOW) -> set[str]:
    return {placed.remark.code for placed in judge(made, at)}


def test_a_further_stage_is_added_below_the_first_and_finishes_the_repair():
    repair = sealed()
    assert repair.state == "in_work"
    at = MORNING + DAY
    log(filling(repair, at, finished=True, ended_at=at + HOUR, labour=(painting(),)), at + 2 * HOUR)
    repair = Repair.objects.get()
    assert [(one.position, one.kind) for one in repair.stages.all()] == [(1, "seal"), (2, "fill")]
    assert (repair.state, repair.ended_at) == ("finished", at + HOUR)
    assert repair.began_at == MORNING
    assert repair.defects.get().state == Defect.State.MADE_GOOD
    assert repair.due_dates.filter(kind="repair_look").count() == 1
    assert repair.labour.count() == 1


def test_a_repair_that_goes_on_unfinished_stays_in_work_and_sets_no_look():
    repair = sealed()
    log(filling(repair, MORNING + DAY, finished=False), MORNING + 2 * DAY)
    repair.refresh_from_db()
    assert repair.state == "in_work"
    assert not repair.due_dates.exists()
    assert repair.defects.get().state == Defect.State.IN_WORK


def test_the_saved_stage_is_judged_as_the_layer_below():
    repair = sealed()
    early = make_sheet(Product.Kind.PAINT)
    soon = filling(repair, MORNING + 3 * HOUR, sheet=early)
    soon = replace(soon, stages=(replace(soon.stages[0], kind="paint", thickness_mm=None),))
    later = replace(soon, stages=(replace(soon.stages[0], began_at=MORNING + 3 * DAY),))
    assert "painted-before-cure" in codes(soon)
    assert "painted-before-cure" not in codes(later)


def test_what_was_answered_about_the_whole_repair_is_not_asked_again():
    made = one_seal(finished=False)
    made.member.load_bearing = "yes"
    made.member.save()
    repair = log(made, at=MORNING + 2 * HOUR)
    assert repair.remarks.filter(code="no-engineer-note").count() == 1
    assert "no-engineer-note" not in codes(filling(repair, MORNING + DAY))


def test_the_same_stages_sent_twice_are_added_once():
    repair = sealed()
    made = filling(repair, MORNING + DAY, finished=True, ended_at=MORNING + DAY)
    log(made, NOW)
    again = log_repair(made, None, NOW)
    assert again.pk == repair.pk
    assert repair.stages.count() == 2
    assert CostLine.objects.filter(repair=repair, kind="material").count() == 2


def test_nothing_is_added_to_a_repair_that_was_finished_meanwhile():
    repair = sealed()
    made = filling(repair, MORNING + DAY)
    finish(repair, MORNING + 3 * HOUR, None, NOW)
    stale = Repair.objects.get(pk=repair.pk)
    with pytest.raises(Refused, match="no-longer-in-work"):
        log_repair(replace(made, continues=stale), None, NOW)
    with pytest.raises(Refused, match="no-longer-in-work"):
        log(made, NOW)  # as another phone still has it
    assert repair.stages.count() == 1


def test_a_stage_from_before_the_last_one_is_refused():
    repair = sealed()
    with pytest.raises(Refused, match="before-the-last-stage"):
        log(filling(repair, MORNING - DAY), NOW)


def test_people_and_notes_of_both_days_are_kept():
    repair = sealed(done_by="Robin Larch")
    made = filling(repair, MORNING + DAY, done_by="Ash Rowan", finished=False, notes="Dry by noon")
    log(made, NOW)
    repair.refresh_from_db()
    assert repair.done_by == "Robin Larch, Ash Rowan"
    assert [one.done_by for one in repair.stages.all()] == ["Robin Larch", "Ash Rowan"]
    assert repair.notes == "Dry by noon"
