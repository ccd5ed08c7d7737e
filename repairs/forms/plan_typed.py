"""What is typed on the page of a plan, as one flat set of names and values.

Names: `kind` (the repair), `shape-0-length`, `station-0-at`, `stage-0-product`, `repair-first`
(an option, by its kind). A saved plan and a fresh one are set out as if they had been typed, so
that one page serves both; a button that adds or leaves out a row is a function on these values."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import tzinfo
from decimal import Decimal
from functools import partial
from typing import Any

from django.http import QueryDict

from config.quantities import Quantity, UnitSystem, show_exactly, usual_unit
from config.quantity_fields import PLACES
from materials.money import from_minor
from repairs.forecast import from_rows
from repairs.models import Plan, PlanOption
from repairs.plans.reached import reached
from repairs.plans.rows import PlanRows

from .log_typed import drop, numbers

MOST_ROWS = 30
FAR = Decimal(10) ** 7
BLOCKS = ("shape", "station", "stage")
# A row that was added is seen by the one name that it brings.
FIRST_NAME = {"shape": "shape", "station": "at", "stage": "kind"}
FIRST_VALUE = {"shape": "box"}


def rows_typed(typed: QueryDict, block: str) -> list[int]:
    return numbers(typed, f"{block}-", MOST_ROWS + 1)


def add_row(typed: QueryDict, block: str) -> None:
    number = max(rows_typed(typed, block), default=-1) + 1
    if number <= 999 and len(rows_typed(typed, block)) < MOST_ROWS:
        typed[f"{block}-{number}-{FIRST_NAME[block]}"] = FIRST_VALUE.get(block, "")


def change(typed: QueryDict, act: str) -> None:
    """Do what a small button says; other acts change nothing."""
    if (added := act.removeprefix("add-")) in BLOCKS and act.startswith("add-"):
        add_row(typed, added)
    elif match := re.fullmatch(r"drop-((?:shape|station|stage)-\d{1,3})", act):
        drop(typed, match[1])
    typed.pop("act", None)


class Setting:
    """Writes stored figures as a person would type them."""

    def __init__(self, typed: QueryDict, system: UnitSystem | str, currency: str) -> None:
        self.typed, self.system, self.currency = typed, system, currency

    def text(self, name: str, value: Any) -> None:
        self.typed[name] = "" if value is None else str(value)

    def plain(self, name: str, value: Decimal | None) -> None:
        self.typed[name] = "" if value is None else f"{Decimal(value).normalize():f}"

    def figure(
        self, name: str, value: Decimal | None, kind: Quantity, places: int | None = None
    ) -> None:
        digits = PLACES[kind] if places is None else places
        # A bare weight is grams in both systems, as a scale shows it.
        system = UnitSystem.METRIC if kind is Quantity.MASS else self.system
        shown = "" if value is None else show_exactly(Decimal(value), kind, system, digits)
        # The unit stands beside the field; only another one is written into it.
        self.typed[name] = shown.removesuffix(f" {usual_unit(kind, self.system)}")

    def money(self, name: str, minor: int | None) -> None:
        self.typed[name] = "" if minor is None else f"{from_minor(minor, self.currency)}"


def as_typed(rows: PlanRows, system: UnitSystem | str) -> QueryDict:
    """The whole page as it would stand typed."""
    typed = QueryDict(mutable=True)
    plan, place = rows.plan, rows.member.building.property
    put = Setting(typed, system, place.currency)
    starts = plan.starts_at.astimezone(place.zone)
    put.text("key", plan.submission)
    for name in ("kind", "zone", "measured", "filling", "study_years", "notes"):
        put.text(name, getattr(plan, name))
    put.text("on", f"{starts:%Y-%m-%d}")
    put.text("at", f"{starts:%H:%M}")
    if starts.replace(fold=0).utcoffset() != starts.replace(fold=1).utcoffset():
        put.text("again", "second" if starts.fold else "first")
    _cavity(put, rows)
    _stages(put, rows)
    _weather(put, plan, place.zone)
    _mixing_and_money(put, plan)
    for option in rows.options:
        _option(put, option)
    return typed


def _cavity(put: Setting, rows: PlanRows) -> None:
    plan = rows.plan
    for number, shape in enumerate(rows.shapes):
        mine = f"shape-{number}-"
        put.text(f"{mine}shape", shape.shape)
        if shape.taken_off:
            put.text(f"{mine}off", "on")
        for name in ("length", "width", "depth"):
            put.figure(f"{mine}{name}", getattr(shape, f"{name}_mm"), Quantity.LENGTH)
    for number, station in enumerate(_profile(plan)):
        for name, value in zip(("at", "width", "depth"), station, strict=False):
            put.figure(f"station-{number}-{name}", value, Quantity.LENGTH)
    put.figure("poured", plan.poured_ml, Quantity.VOLUME, 1)
    put.figure("shell", plan.shell_mm, Quantity.LENGTH)
    for name in ("end_grain", "side_grain"):
        mm2 = getattr(plan, f"{name}_mm2")
        put.text(name, "" if mm2 is None else f"{(Decimal(mm2) / 100).normalize():f} cm²")
    put.figure("paint", plan.paint_m2, Quantity.AREA)


def _profile(plan: Plan) -> list[list[Decimal]]:
    """None of it where the rows on record are not what this page writes."""
    try:
        rows = [[Decimal(str(figure)) for figure in row] for row in plan.profile]
        return rows if all(abs(figure) < FAR for row in rows for figure in row) else []
    except (TypeError, ArithmeticError):
        return []


def _stages(put: Setting, rows: PlanRows) -> None:
    for number, stage in enumerate(rows.stages):
        mine = f"stage-{number}-"
        put.text(f"{mine}kind", stage.kind)
        put.text(f"{mine}product", stage.sheet.product_id if stage.sheet else "")
        put.text(f"{mine}coats", stage.coats if stage.coats != 1 else "")
        put.figure(f"{mine}layer", stage.layer_mm, Quantity.LENGTH)


def _weather(put: Setting, plan: Plan, zone: tzinfo) -> None:
    put.figure("air_day", plan.air_day_c, Quantity.TEMPERATURE)
    put.figure("air_night", plan.air_night_c, Quantity.TEMPERATURE)
    put.plain("humidity", plan.humidity_pct)
    put.plain("wood_moisture", plan.wood_moisture_pct)
    put.text("forecast", "\n".join(_forecast_lines(put, plan, zone)))


def _forecast_lines(put: Setting, plan: Plan, zone: tzinfo) -> Iterable[str]:
    us = put.system == UnitSystem.US
    hours, _ = reached(partial(from_rows, plan.forecast, zone))
    for hour in hours or ():
        warmth = hour.air_c * 9 / 5 + 32 if us else hour.air_c
        rain = hour.rain_mm / 25.4 if us and hour.rain_mm is not None else hour.rain_mm
        figures = [f"{round(warmth, 2):g}"]
        figures += ["" if value is None else f"{round(value, 4):g}"
                    for value in (hour.humidity_pct, rain)]  # fmt: skip
        yield f"{hour.at:%Y-%m-%d %H:%M}; {'; '.join(figures)}"


def _mixing_and_money(put: Setting, plan: Plan) -> None:
    put.figure("scale_step", plan.scale_step_g, Quantity.MASS)
    put.figure("pace", plan.pace_g_min, Quantity.MASS)
    put.plain("loss", plan.loss_pct)
    put.plain("hours", plan.labour_hours)
    put.money("rate", plan.labour_rate_minor)
    put.money("access", plan.access_minor)
    put.plain("real_rate", plan.real_rate_pct)
    put.plain("price_rise", plan.price_rise_pct)


def _option(put: Setting, option: PlanOption) -> None:
    mine = f"{option.kind}-"
    for name in ("first", "access", "upkeep", "repaint"):
        put.money(f"{mine}{name}", getattr(option, f"{name}_minor"))
    for name in ("life", "life_low", "life_high", "repaint"):
        put.plain(f"{mine}{name}_years", getattr(option, f"{name}_years"))
    put.plain(f"{mine}spread", option.cost_spread_pct)
