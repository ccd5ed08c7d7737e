from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from django.db.models import Sum

from repairs.logbook.entry import NewDefectEntry
from repairs.logbook.log import Refused, log_repair
from repairs.models import (
    Batch,
    BatchShare,
    CostLine,
    DueDate,
    KeptRemark,
    Labour,
    Repair,
    Stage,
)
from tests.factories import (
    MORNING,
    DefectFactory,
    LotFactory,
    MemberFactory,
    RepairFactory,
    make_crew,
)
from tests.repairs.made_entries import (
    HOUR,
    NOW,
    batch,
    codes,
    entry,
    log,
    make_sheet,
    one_seal,
    painting,
    part,
    stage,
    tower,
)

pytestmark = pytest.mark.django_db
TABLES = (Repair, Stage, Batch, BatchShare, CostLine, Labour, KeptRemark, DueDate)


def money_of(**where):
    return CostLine.objects.filter(**where).aggregate(total=Sum("amount_minor"))["total"] or 0


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"ended_at": MORNING - HOUR}, "ends-before-it-begins"),
        ({"began_at": MORNING.replace(year=2225)}, "in-the-future"),
        ({"began_at": MORNING.replace(year=1725)}, "too-long-ago"),
        ({"relation": "redo"}, "follows-none"),
        ({"labour": (painting("0"),)}, "no-hours"),
        ({"labour": (painting("2", -5),)}, "no-hours"),
        ({"costs": (tower(0),)}, "cost-sign"),
        ({"costs": (tower(-10),)}, "cost-sign"),
        ({"costs": (tower(10, kind="credit"),)}, "cost-sign"),
        ({"costs": (tower(10, "USD"),)}, "rate-usd"),
        ({"costs": (tower(invoiced_on=date(2225, 1, 1)),)}, "invoice-day"),
        ({"next_look_on": date(1825, 1, 1)}, "next-look"),
        ({"next_look_on": date(2225, 1, 1)}, "next-look"),
        (
            {"new_defect": NewDefectEntry("decay", "gutter", "not_yet", date(2225, 1, 1))},
            "found-day",
        ),
        ({"costs": (tower(10, "USD"),), "rates": {"USD": Decimal(0)}}, "rate-usd"),
    ],
)
def test_the_impossible_is_refused(change, code):
    with pytest.raises(Refused) as refused:
        log_repair(replace(one_seal(), **change), make_crew(), NOW)
    assert code in {placed.remark.code for placed in refused.value.remarks}
    assert not Repair.objects.exists()


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"applied_at": MORNING - HOUR}, "applied-before-mixed"),
        ({"waste": Decimal(134)}, "more-wasted-than-mixed"),
        ({"waste": Decimal(-1)}, "more-wasted-than-mixed"),
        ({"waste": Decimal(100), "left_over": Decimal(34)}, "more-wasted-than-mixed"),
        ({"parts": ()}, "no-amount"),
        ({"air_c": Decimal(500)}, "temperature"),
        ({"air_c": Decimal("NaN")}, "temperature"),
        ({"applied_at": MORNING.replace(year=2225)}, "in-the-future"),
        ({"mixed_at": MORNING.replace(year=2025)}, "used-before-received"),
    ],
)
def test_an_impossible_batch_is_refused(change, code):
    made = one_seal()
    wrong = replace(made.stages[0].batches[0], **change)
    made = replace(made, stages=(replace(made.stages[0], batches=(wrong,)),))
    with pytest.raises(Refused) as refused:
        log_repair(made, make_crew(), NOW)
    assert code in {placed.remark.code for placed in refused.value.remarks}


@pytest.mark.parametrize(
    ("amount", "code"),
    [
        ("0", "no-amount"),
        ("-5", "no-amount"),
        ("1e30", "absurd-amount"),
        ("NaN", "absurd-amount"),
        ("Infinity", "absurd-amount"),
    ],
)
def test_an_amount_that_cannot_be_is_refused(amount, code):
    made = one_seal()
    first = made.stages[0].batches[0]
    wrong = replace(first, parts=(replace(first.parts[0], amount=Decimal(amount)),))
    made = replace(made, stages=(replace(made.stages[0], batches=(wrong,)),))
    assert codes(made) == {code}


def test_grams_and_millilitres_in_one_cup_are_refused():
    sheet = make_sheet()
    a, b = LotFactory(product=sheet.product), LotFactory(product=sheet.product, part="b", unit="ml")
    made = entry(MemberFactory(), stage("seal", batch(sheet, part(a, 100), part(b, 33))))
    assert codes(made) == {"units-differ"}


def test_the_earlier_repair_is_one_of_this_member():
    made = one_seal(relation="redo", follows=RepairFactory())
    assert codes(made) == {"follows-elsewhere"}


def test_a_defect_is_one_of_this_member():
    assert codes(one_seal(defects=(DefectFactory(),))) == {"defect-elsewhere"}


@pytest.mark.parametrize(
    "words",
    ["x" * 5000, "<script>alert(1)</script>", 'He said "no" & left', "ترميم العتبة", "a\nb\n\n\nc"],
)
def test_strange_words_are_kept_as_typed(words):
    repair = log(one_seal(notes=words, done_by=words[:200]))
    repair.refresh_from_db()
    assert (repair.notes, repair.done_by) == (words, words[:200])


def test_a_figure_too_long_for_its_column_is_refused_with_a_sentence():
    with pytest.raises(Refused, match="200 characters"):
        log(one_seal(done_by="x" * 201))
    assert not Repair.objects.exists()
