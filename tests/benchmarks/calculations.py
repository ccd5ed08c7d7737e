"""The calculations, each beside the bare arithmetic or an independent library."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from io import StringIO

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
import pvlib
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from materials.conduction import conduct
from materials.fill_heat import resin_from
from materials.rates import GAS_CONSTANT, ZERO_C
from properties.models import Defect
from properties.sun import Irradiance, extraterrestrial, on_face, sun_position
from properties.weather_file import read_weather
from properties.wood_water import emc_pct
from repairs.cure_series import AirSeries, equivalent_age_h
from repairs.demo.places import build_places
from repairs.demo.plans import FILLED_MARK, PAINTED_MARK, plan_ahead
from repairs.demo.stores import fill_stores
from repairs.forms.plan_typed import as_typed
from repairs.life_cycle.options import Option, Study
from repairs.life_cycle.spread import draw_spread
from repairs.models import Plan
from repairs.plans.prepare import prepare
from repairs.plans.rows import PlanRows
from tests.benchmarks.stopwatch import Ratio, compare
from tests.properties.weather_samples import GREENSBORO, tmy3, year_of

NOW = datetime(2026, 5, 4, 9, tzinfo=UTC)
HOURS = 8760
Hours = NDArray[np.float64]


def calculations() -> Iterator[Ratio]:
    yield from plans()
    yield sun_on_a_face()
    yield weather_file()
    yield wood_moisture()
    yield equivalent_age()
    yield draws()
    yield layer()


def plans() -> Iterator[Ratio]:
    """The example's planned repair: seven stages, three products with lots, four options."""
    user, client = User.objects.get(), Client()
    client.force_login(user)
    members = build_places(NOW).members
    fill_stores(NOW, user)
    for mark in (FILLED_MARK, PAINTED_MARK):
        Defect.objects.create(member=members[mark], kind="decay", found_on=NOW.date())
    plan_ahead(NOW, user)
    plan = Plan.objects.whole().get(defect__member=members[FILLED_MARK])
    yield compare(
        "a plan worked out, against an empty logged-in page",
        lambda: prepare(PlanRows.of(plan), NOW),
        lambda: client.get(reverse("empty")),
        rounds=25,
    )
    yield compare(
        "the page of a plan, against an empty logged-in page",
        lambda: client.get(plan.get_absolute_url()),
        lambda: client.get(reverse("empty")),
        rounds=25,
    )
    address = reverse("plan-figures", args=[plan.defect_id])
    typed = as_typed(PlanRows.of(plan), "metric").dict()
    answer = client.post(address, typed, headers={"HX-Request": "true"})
    assert "The choices over 30 years" in answer.content.decode()
    yield compare(
        "a plan worked out anew while it is typed, against an empty logged-in page",
        lambda: client.post(address, typed, headers={"HX-Request": "true"}),
        lambda: client.get(reverse("empty")),
        rounds=25,
    )


def sun_on_a_face() -> Ratio:
    year, tilt, bearing = year_of(), 90, 200
    day_of_year = np.repeat(np.arange(1.0, 366.0), 24)
    sky = Irradiance(year.ghi, year.dni, year.dhi)
    begun = pd.Timestamp("1990-01-01 00:30") - pd.Timedelta(hours=year.utc_offset_h)
    times = pd.date_range(begun, periods=HOURS, freq="h", tz="UTC")
    days = (times - pd.Timestamp("2000-01-01 12:00", tz="UTC")) / pd.Timedelta(days=1)

    def ours() -> object:
        sun = sun_position(np.asarray(days), year.latitude, year.longitude)
        extra = extraterrestrial(day_of_year)
        return on_face(sun, sky, extra, bearing_deg=bearing, tilt_deg=tilt)

    def theirs() -> object:
        sun = pvlib.solarposition.get_solarposition(times, year.latitude, year.longitude)
        return pvlib.irradiance.get_total_irradiance(
            tilt,
            bearing,
            sun["apparent_zenith"],
            sun["azimuth"],
            *(pd.Series(each, times) for each in (year.dni, year.ghi, year.dhi)),
            dni_extra=pvlib.irradiance.get_extra_radiation(times),
            model="haydavies",
        )

    return compare("sun on a face through a year of hours, against pvlib", ours, theirs)


def weather_file() -> Ratio:
    data = tmy3(GREENSBORO)
    return compare(
        "a TMY3 file read, against pvlib",
        lambda: read_weather(data, GREENSBORO),
        lambda: pvlib.iotools.read_tmy3(StringIO(data.decode()), map_variables=True),
    )


def wood_moisture() -> Ratio:
    air, humidity = np.linspace(0, 40, HOURS), np.linspace(20, 90, HOURS)

    def raw() -> object:
        h = humidity / 100
        w = 349 + 1.29 * air + 0.0135 * air**2
        kh = (0.805 + 0.000736 * air - 0.00000273 * air**2) * h
        k1 = 6.27 - 0.00938 * air - 0.000303 * air**2
        k2 = 1.91 + 0.0407 * air - 0.000293 * air**2
        one, two = k1 * kh, k1 * k2 * kh**2
        return 1800 / w * (kh / (1 - kh) + (one + 2 * two) / (1 + one + two))

    name = "wood moisture of 8,760 hours, against the bare expression in numpy"
    return compare(name, lambda: emc_pct(air, humidity), raw, rounds=101)


def equivalent_age() -> Ratio:
    hours = 30 * 24
    celsius = 12 + 8 * np.sin(np.arange(hours) / 24 * 2 * np.pi)
    air, end = AirSeries(NOW, tuple(celsius)), NOW + timedelta(hours=hours)

    def raw() -> object:
        slowness = 1 / (celsius + ZERO_C) - 1 / (20 + ZERO_C)
        return np.exp(-55_000 / GAS_CONSTANT * slowness).sum()

    return compare(
        "equivalent age of 30 days of hours, against the bare sum in numpy",
        lambda: equivalent_age_h(NOW, end, 20, air),
        raw,
        rounds=101,
    )


def draws() -> Ratio:
    """Five inputs of each of four options."""
    count, study, chance = 4000, Study(30, 0.035), np.random.default_rng(1)
    options = [
        Option(kind, kind, 500, 60, 12, 7, 18, upkeep=8, repaint=90, repaint_years=6)
        for kind in ("repair", "splice", "replace", "watch")
    ]

    def raw() -> None:
        for _ in range(len(options) * 5):
            chance.triangular(7, 12, 18, count)

    return compare(
        "4,000 draws of a comparison, against numpy drawing the numbers alone",
        lambda: draw_spread(options, study, 1, count),
        raw,
        rounds=25,
    )


def layer() -> Ratio:
    """A layer of 25 mm, 80 figures in its state, against a plain bar of as many that reacts and
    cools at one end; both take some 1,200 looks at their slope."""
    resin = resin_from(pot_life=timedelta(minutes=60), pot_life_at_c=20)
    conductance, rise, slow = 500.0, 267.0, 55_000 / GAS_CONSTANT

    def slope(_: float, state: Hours) -> Hours:
        warm, change = state[::2], np.empty_like(state)
        speed = np.exp(-slow * (1 / (warm + ZERO_C) - 1 / (20 + ZERO_C)))
        change[1::2] = resin.rate_per_h * np.minimum(speed, 1e4) * (1 - state[1::2])
        change[::2] = rise * change[1::2]
        flow = conductance * np.diff(warm)
        change[:-2:2] += flow
        change[2::2] -= flow
        change[0] += 20 - warm[0]
        return change

    begin, span = np.tile([20.0, 0.0], 40), (0, 40 / resin.rate_per_h)
    return compare(
        "heat in one layer, against scipy given a bare equation of as many unknowns",
        lambda: conduct(25, resin, 20),
        lambda: solve_ivp(slope, span, begin, "LSODA", lband=2, uband=2, rtol=1e-5, atol=1e-6),
        rounds=25,
    )
