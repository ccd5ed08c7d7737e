from dataclasses import replace
from decimal import Decimal

import pytest
from django.db.models import Sum

from materials.models import Lot
from properties.models import Defect
from repairs.logbook.change import CannotChange, finish, withdraw
from repairs.logbook.entry import EarlierBatchEntry
from repairs.models import CostLine, Repair
from tests.factories import MORNING, MemberFactory, make_manager
from tests.repairs.made_entries import (
    DAY,
    HOUR,
    NOW,
    entry,
    log,
    one_seal,
    painting,
    stage,
    tower,
)

pytestmark = pytest.mark.django_db


def net(**where):
    return CostLine.objects.filter(**where).aggregate(total=Sum("home_minor"))["total"] or 0


def with_left_over():
    made = one_seal()
    first = replace(made.stages[0].batches[0], left_over=Decimal(33))
    return log(replace(made, stages=(replace(made.stages[0], batches=(first,)),)))


def taking(batch, amount=33):
    taken = EarlierBatchEntry(batch, Decimal(amount))
    return log(entry(MemberFactory(), stage("fill", at=MORNING + HOUR, earlier_batches=(taken,))))


def test_finishing_makes_the_defects_good_and_sets_the_looks():
    repair = log(one_seal(finished=False))
    finish(repair, MORNING + DAY, make_manager(), NOW)
    repair.refresh_from_db()
    assert (repair.state, repair.ended_at) == (Repair.State.FINISHED, MORNING + DAY)
    assert repair.defects.get().state == Defect.State.MADE_GOOD
    assert repair.due_dates.outstanding().count() == 1


def test_a_finished_repair_is_not_finished_again():
    repair = log(one_seal())
    with pytest.raises(CannotChange, match="now “finished”"):
        finish(repair, MORNING + DAY, make_manager(), NOW)


def test_a_repair_does_not_end_before_it_begins():
    repair = log(one_seal(finished=False))
    with pytest.raises(CannotChange, match="before it begins"):
        finish(repair, MORNING - DAY, make_manager(), NOW)


def test_withdrawing_puts_stores_money_dates_and_defects_right():
    made = one_seal(labour=(painting(),), costs=(tower(),))
    first = made.stages[0].batches[0]
    made = replace(
        made, stages=(replace(made.stages[0], batches=(replace(first, waste=Decimal(10)),)),)
    )
    repair = log(made)
    assert net(repair=repair) == 8000 + 8000 + 798
    withdraw(repair, "wrong sill", make_manager(), NOW)
    repair.refresh_from_db()
    assert repair.state == Repair.State.WITHDRAWN
    assert "wrong sill" in repair.notes
    assert [lot.remaining() for lot in Lot.objects.all()] == [1000, 1000]
    assert net(repair=repair) == 0
    assert repair.cost_lines.count() == 6
    assert not repair.due_dates.outstanding().exists()
    assert repair.defects.get().state == Defect.State.OPEN


def test_a_repair_is_withdrawn_once():
    repair = log(one_seal())
    withdraw(repair, "wrong sill", make_manager(), NOW)
    with pytest.raises(CannotChange, match="now “withdrawn"):
        withdraw(repair, "wrong sill", make_manager(), NOW)
    assert [lot.remaining() for lot in Lot.objects.all()] == [1000, 1000]


def test_a_withdrawn_redo_takes_its_judgement_back():
    first = log(one_seal())
    redo = log(one_seal(first.member, relation="redo", follows=first, began_at=MORNING + DAY))
    withdraw(redo, "it had not failed", make_manager(), NOW)
    first.refresh_from_db()
    assert (first.state, first.failed_on) == (Repair.State.FINISHED, None)


def test_a_repair_that_another_follows_is_withdrawn_after_it():
    first = log(one_seal())
    log(one_seal(first.member, relation="redo", follows=first, began_at=MORNING + DAY))
    with pytest.raises(CannotChange, match="Withdraw that one first"):
        withdraw(first, "wrong sill", make_manager(), NOW)
    first.refresh_from_db()
    assert first.state == Repair.State.FAILED


def test_a_batch_that_others_used_keeps_its_repair():
    repair = with_left_over()
    taking(repair.stages.get().batches_mixed.get())
    with pytest.raises(CannotChange, match="also used in"):
        withdraw(repair, "wrong sill", make_manager(), NOW)


def test_what_a_withdrawn_repair_took_is_left_over_again():
    repair = with_left_over()
    batch = repair.stages.get().batches_mixed.get()
    second = taking(batch)
    assert (net(repair=repair), net(repair=second)) == (600, 198)
    withdraw(second, "wrong sill", make_manager(), NOW)
    assert (net(repair=repair), net(repair=second)) == (798, 0)
    assert (net(repair=taking(batch)), net(repair=repair)) == (198, 600)
