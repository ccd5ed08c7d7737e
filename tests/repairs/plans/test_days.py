"""The time line of a plan, whatever its stages and its air."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from properties.models import Property
from repairs.cure_series import daily_cycle
from repairs.plans.air import PlannedAir
from repairs.plans.days import PlannedWork, days_of, ready_at
from repairs.remarks import SheetFacts

HOUR = timedelta(hours=1)
START = datetime(2026, 3, 27, 9, tzinfo=UTC)
PLACE = Property(time_zone="Europe/London")
KINDS = ("open_up", "dry", "seal", "fill", "shape", "prime", "paint")


def hours(most):
    return st.integers(0, most).map(lambda count: count * HOUR)


@st.composite
def works(draw):
    kind = draw(st.sampled_from(KINDS))
    product = draw(st.sampled_from(("filler", "paint")))
    recoat_from = draw(st.none() | hours(48))
    sheet = SheetFacts(
        product=product,
        kind=product,
        revision="1",
        cure_time=draw(st.none() | hours(96)),
        cure_at_c=draw(st.none() | st.just(Decimal(20))),
        recoat_from=recoat_from,
        recoat_to=draw(st.none() | hours(48).map(lambda more: (recoat_from or HOUR) + more)),
        apply_min_c=draw(st.none() | st.just(Decimal(8))),
    )
    return PlannedWork(kind, draw(st.none() | st.just(sheet)), draw(st.integers(1, 4)))


@st.composite
def airs(draw):
    if draw(st.booleans()):
        return PlannedAir()
    night = draw(st.floats(-30, 35))
    day = draw(st.floats(night, 45))
    return PlannedAir(series=daily_cycle(START - 9 * HOUR, day, night, 48))


@given(st.lists(works(), max_size=6), airs())
def test_stages_come_one_after_the_other_and_none_after_one_without_a_day(work, air):
    days = days_of(work, START, air, PLACE)
    begins = [each.begins_at for each in days]
    known = [at for at in begins if at is not None]
    assert known == sorted(known)
    assert begins[: len(known)] == known
    assert all(each.why for each in days)
    assert all(list(each.layers) == sorted(each.layers) for each in days)


@given(st.lists(works(), min_size=1, max_size=6), airs())
def test_ready_is_never_before_a_stage_or_its_cure(work, air):
    days = days_of(work, START, air, PLACE)
    ready = ready_at(days)
    if ready is None:
        assert any(
            each.begins_at is None or (each.cure and each.cure.ready_at is None) for each in days
        )
        return
    for each in days:
        assert each.begins_at <= ready
        assert each.cure is None or each.cure.ready_at <= ready


@given(st.lists(works(), min_size=2, max_size=6), airs())
def test_paint_never_goes_on_resin_that_has_not_cured(work, air):
    days = days_of(work, START, air, PLACE)
    for number, (each, day) in enumerate(zip(work, days, strict=True)):
        if each.kind not in {"prime", "paint"} or day.begins_at is None:
            continue
        for below in days[:number]:
            resin = work[days.index(below)].sheet
            if below.cure and resin and resin.is_resin:
                assert below.cure.ready_at <= day.begins_at
