"""Figures of the pages of members and repairs that are computed, each with how it came about."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from config.figures import Figure, Formula, figure
from config.measured_words import in_units
from config.quantities import Quantity, UnitSystem, show, show_duration
from materials.money import show_money
from materials.rates import ARRHENIUS
from properties.climate import DEW_MARGIN, DEW_POINT, dew_margin, dew_point_c
from properties.models import MoistureReading
from properties.moisture import READ_ON_ANOTHER, TEMPERATURE
from properties.wood_resistance import RESISTANCE
from repairs.cure_series import READY
from repairs.models import Batch, BatchPart, Stage

NOT_RECORDED = "not recorded"
Input = tuple[str, str]

BATCH_COST = Formula(
    words="The price of the lot, shared by what was received for it; of a kit, the part of the kit "
    "that was taken, shared between A and B by weight.",
    symbols="cost = price · amount ÷ all received for that price; of a kit, price · kits taken",
    source="the price entered for the lot; a choice for kits",
)


def moisture_figure(reading: MoistureReading, system: UnitSystem | str) -> Figure:
    """What a reading counts as; reads its member."""
    judged = reading.judged()
    formula = Formula("Taken as it is.", "", judged.basis.rstrip("."))
    if reading.meter != MoistureReading.Meter.OVEN:
        formula = TEMPERATURE
        if READ_ON_ANOTHER in judged.basis:
            formula = _then(TEMPERATURE, RESISTANCE)
    return figure(
        "Moisture in % of oven-dry mass, as it counts",
        judged.shown,
        formula,
        ("As read", reading.raw_shown()),
        ("Temperature of the wood", _degrees(reading.wood_c, system)),
        ("Meter", reading.get_meter_display()),
        ("Treated", reading.get_treated_display().lower()),
        ("Species of the member", reading.member.species or NOT_RECORDED),
        ("How", in_units(judged.basis, system)),
    )


def dew_figure(row: Stage | Batch, system: UnitSystem | str) -> Figure | None:
    """The dew point of the air at a stage or batch, and how far the surface stood above it; None
    without the air and its humidity, a remark where these are out of range."""
    air, humidity, surface = row.air_c, row.humidity_pct, row.surface_c
    if air is None or humidity is None:
        return None
    inputs = (
        ("Air", _degrees(air, system)),
        ("Relative humidity", f"{humidity.normalize():f} %"),
        ("Surface", _degrees(surface, system)),
    )
    try:
        if surface is None:
            value = _tenth(dew_point_c(air, humidity), system)
            return figure("Dew point", value, DEW_POINT, *inputs)
        found = dew_margin(air, humidity, surface)
    except ValueError as why:
        return figure("Dew point", f"No figure: it holds for {why}", DEW_POINT, *inputs)
    side = "above" if found.margin_k >= 0 else "below"
    apart = in_units(f"{abs(found.margin_k):.1f} K", system)
    value = f"{_tenth(found.dew_point_c, system)}; the surface {apart} {side} it"
    value += "" if found.enough else f", where {in_units('3 K', system)} are wanted"
    return figure("Dew point and margin", value, _then(DEW_POINT, DEW_MARGIN), *inputs)


def ready_figure(
    word: str, stage: Stage, batches: Iterable[Batch], system: UnitSystem | str
) -> Figure | None:
    """From when a stage is cured, as it was reckoned when it was logged; None where no cure
    belongs to it."""
    if not word:
        return None
    inputs: list[Input] = [("As reckoned", in_units(stage.ready_basis, system))]
    for batch in batches:
        if not batch.abandoned:
            inputs += _cure_inputs(stage, batch, system)
    return figure("When this stage is cured", word, _then(READY, ARRHENIUS), *inputs)


def _cure_inputs(stage: Stage, batch: Batch, system: UnitSystem | str) -> list[Input]:
    sheet = batch.sheet
    time = show_duration(sheet.cure_time) if sheet.cure_time is not None else NOT_RECORDED
    warmth = next(
        (
            each
            for each in (batch.surface_c, stage.surface_c, batch.air_c, stage.air_c)
            if each is not None
        ),
        None,
    )
    energy = sheet.activation_energy_kj_mol
    return [
        (f"Full cure by the sheet of {sheet.product}", time),
        ("At", _degrees(sheet.cure_at_c, system)),
        ("Lowest temperature by the sheet", _degrees(sheet.apply_min_c, system)),
        ("Temperature there was", _degrees(warmth, system)),
        ("Activation energy", f"{energy.normalize():f} kJ/mol" if energy else "typical"),
    ]


def part_cost_figure(part: BatchPart, amount: str) -> Figure | None:
    """What one part of a batch cost; None where no price is recorded. Reads its lot and kit."""
    if part.cost_minor is None:
        return None
    lot = part.lot
    priced = lot if lot.parent is None or lot.price_minor is not None else lot.parent
    of = f"Paid for {'kit' if priced.part == 'kit' else 'lot'} {priced.number}"
    inputs: list[Input] = [("Amount", amount)]
    if priced.price_minor is not None:
        inputs.append((of, show_money(priced.price_minor, priced.currency)))
    if part.kit_fraction is not None:
        inputs.append(("Kits taken", f"{part.kit_fraction.normalize():f}"))
    value = show_money(part.cost_minor, priced.currency)
    return figure("What this part cost", value, BATCH_COST, *inputs)


def _degrees(celsius: Decimal | None, system: UnitSystem | str) -> str:
    return NOT_RECORDED if celsius is None else show(celsius, Quantity.TEMPERATURE, system)


def _tenth(celsius: float, system: UnitSystem | str) -> str:
    return show(Decimal(repr(celsius)), Quantity.TEMPERATURE, system, 1)


def _then(first: Formula, second: Formula) -> Formula:
    """Two steps, one after the other."""
    return Formula(
        words=f"{first.words} {second.words}",
        symbols="; ".join(filter(None, [first.symbols, second.symbols])),
        source="; ".join(dict.fromkeys([first.source, second.source])),
        holds="; ".join(filter(None, [first.holds, second.holds])),
    )
