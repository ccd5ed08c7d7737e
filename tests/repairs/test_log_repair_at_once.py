"""Two browsers at the same moment, each with a connection of its own."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import connection

from repairs.logbook.log import log_repair
from repairs.models import Batch, CostLine, Repair
from tests.factories import MemberFactory, make_crew
from tests.repairs.made_entries import NOW, one_seal, reasons_for

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(entries, crew):
    """Log each entry from a thread of its own, all begun together."""
    begin = Barrier(len(entries))

    def one(entry):
        try:
            begin.wait()
            return log_repair(entry, crew, NOW).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(len(entries)) as pool:
        return list(pool.map(one, entries))


def test_one_form_sent_by_two_requests_makes_one_repair():
    made = one_seal()
    made = replace(made, reasons=reasons_for(made))
    kept = at_once([made] * 4, make_crew())
    assert len(set(kept)) == Repair.objects.count() == Batch.objects.count() == 1
    assert CostLine.objects.count() == 1


def test_two_browsers_use_one_lot_and_both_are_kept():
    first = one_seal()
    second = replace(first, member=MemberFactory(), defects=(), submission=uuid4())
    entries = [replace(made, reasons=reasons_for(made)) for made in (first, second)]
    at_once(entries, make_crew())
    lots = [part.lot for part in first.stages[0].batches[0].parts]
    assert [lot.remaining() for lot in lots] == [800, 934]
    assert Repair.objects.count() == 2
