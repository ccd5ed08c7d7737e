"""Whatever is typed, a plan is worked out: what cannot be told is said in a sentence."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from repairs.models import Plan, PlanOption, Repair, Stage
from repairs.plans.plan_figures import figures_of
from repairs.plans.prepare import prepare
from tests.factories import MORNING, KitFactory, make_kit_lot
from tests.repairs.plans.made import plan_rows, shape, sheet_of, sill, stage

pytestmark = pytest.mark.django_db

SIZES = st.decimals("0.01", "9999999", places=2)
CELSIUS = st.none() | st.decimals("-99", "999", places=1)
PERCENT = st.none() | st.decimals(0, 100, places=1)
POSITIVE = st.none() | st.decimals("0.01", "9999", places=2)
MONEY = st.integers(0, 10**15)
TIMES = st.none() | st.integers(0, 10**6).map(lambda minutes: timedelta(minutes=minutes))


def values(choices):
    return st.sampled_from([value for value, _ in choices.choices])


SHEET = st.fixed_dictionaries(
    {
        "weight_a": POSITIVE,
        "volume_a": POSITIVE,
        "volume_b": POSITIVE,
        "density_a_g_ml": POSITIVE,
        "density_mixed_g_ml": POSITIVE,
        "ratio_tolerance_pct": PERCENT,
        "pot_life": TIMES,
        "pot_life_at_c": CELSIUS,
        "pot_life_mass_g": POSITIVE,
        "batch_mass_max_g": POSITIVE,
        "activation_energy_kj_mol": POSITIVE,
        "heat_of_reaction_j_g": POSITIVE,
        "cure_time": TIMES,
        "cure_at_c": CELSIUS,
        "recoat_from": TIMES,
        "recoat_to": TIMES,
        "layer_max_mm": POSITIVE,
        "apply_min_c": CELSIUS,
        "heat_deflection_c": CELSIUS,
        "coverage_m2_per_l": POSITIVE,
    }
)
PLAN = st.fixed_dictionaries(
    {
        "kind": values(Repair.Kind),
        "measured": values(Plan.Measured),
        "filling": values(Plan.Filling),
        "shell_mm": POSITIVE,
        "poured_ml": POSITIVE,
        "profile": st.lists(st.lists(st.floats(-1, 1e5), max_size=4), max_size=4),
        "end_grain_mm2": st.none() | st.decimals(0, "9999999999", places=1),
        "paint_m2": st.none() | st.decimals(0, 99999, places=3),
        "air_day_c": CELSIUS,
        "air_night_c": CELSIUS,
        "humidity_pct": PERCENT,
        "wood_moisture_pct": PERCENT,
        "scale_step_g": POSITIVE,
        "pace_g_min": POSITIVE,
        "loss_pct": PERCENT,
        "labour_hours": st.none() | st.decimals(0, 99999, places=2),
        "labour_rate_minor": st.none() | MONEY,
        "access_minor": st.none() | MONEY,
        "study_years": st.integers(1, 100),
        "real_rate_pct": st.decimals(-5, 25, places=2),
    }
)
STAGES = st.lists(
    st.tuples(values(Stage.Kind), st.booleans(), st.integers(1, 10), POSITIVE), max_size=4
)
OPTIONS = st.lists(
    st.tuples(values(PlanOption.Kind), MONEY, st.decimals("0.1", "9999", places=1)),
    max_size=3,
)


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(figures=SHEET, plan=PLAN, stages=STAGES, options=OPTIONS, size=SIZES)
def test_nothing_that_can_be_typed_breaks_it(figures, plan, stages, options, size):
    sheet = sheet_of("filler")
    make_kit_lot(sheet.product)
    KitFactory(product=sheet.product)
    for name, figure in figures.items():
        setattr(sheet, name, figure)
    rows = plan_rows(
        [
            stage(kind, sheet if chosen else None, coats=coats, layer_mm=layer if chosen else None)
            for kind, chosen, coats, layer in stages
        ],
        shapes=[shape(size, Decimal(60), Decimal(20))],
        options=[
            PlanOption(kind=kind, first_minor=first, life_years=life)
            for kind, first, life in options
        ],
        defect=sill(),
        **plan,
    )
    prepared = prepare(rows, MORNING)
    for units in ("metric", "us"):
        figures_of(prepared, rows, units)
    assert replace(prepared) == prepared
