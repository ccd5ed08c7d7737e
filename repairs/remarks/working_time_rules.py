"""The rules for the time and the mass of one batch."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from materials.working_time import LONGEST, PotLife, WorkingTime, pot_life_of, working_time

from .facts import BatchFacts, SheetFacts
from .remark import Remark
from .words import amount, degrees, number, span


def after_working_time(batch: BatchFacts) -> list[Remark]:
    """The last of it went on after its working time, or its pot life where that is all there is.

    A warning past the longest time that the sheet gives, a pot life in the mass that was mixed. A
    note past the time of a thick piece, or of a day warmer than the sheet's."""
    sheet = batch.sheet
    working = _working(batch)
    if batch.applied_at is None or working is None:
        return []
    taken = batch.applied_at - batch.mixed_at
    name = "working time" if _in_the_piece(sheet) else "pot life"
    found = f"The last of it went on {span(taken)} after mixing."
    if taken > working.by_sheet:
        return [
            Remark(
                "after-working-time",
                "warning",
                found,
                f"{name} {span(working.by_sheet)}{_of_the_mass(batch, working)}",
                sheet.source,
                "What went on late may not have wetted the wood: tap it and try the edge once "
                "it is hard, and take out what is loose.",
                holds=True,
            )
        ]
    shorter = _shorter_time(sheet, working)
    if shorter is None or taken <= shorter[0]:
        return []
    return [
        Remark(
            "working-time-near",
            "note",
            found,
            f"{name} {span(shorter[0])} {shorter[1]}",
            sheet.source,
            "Look at the edge once it is hard.",
        )
    ]


def too_much_at_once(batch: BatchFacts) -> list[Remark]:
    """More mixed at once than the sheet allows."""
    most = batch.sheet.batch_mass_max_g
    if batch.unit != "g" or most is None or batch.total <= most:
        return []
    return [
        Remark(
            "too-much-at-once",
            "warning",
            f"{amount(batch.total, 'g')} mixed at once.",
            f"at most {amount(most, 'g')} at once",
            batch.sheet.source,
            "A large mass heats itself and goes off early: mix smaller batches, or spread it in a "
            "flat tray at once. Let what is left over go hard outdoors, away from "
            "all that burns.",
        )
    ]


def pot_life_mass(batch: BatchFacts) -> list[Remark]:
    """More mixed than any pot life of the sheet was measured with, where it names no greatest
    mass."""
    pot = pot_life_of(batch.sheet)
    if batch.unit != "g" or batch.sheet.batch_mass_max_g is not None:
        return []
    if pot is None or pot.largest_g is None or batch.total <= Decimal(str(pot.largest_g)):
        return []
    most = Decimal(str(pot.largest_g))
    return [
        Remark(
            "pot-life-mass",
            "note",
            f"{amount(batch.total, 'g')} mixed at once.",
            f"pot life {span(working_time(pot, None, most).by_sheet)} holds for "
            f"{amount(most, 'g')}",
            batch.sheet.source,
            "A larger mass goes off sooner: spread it in a flat tray.",
        )
    ]


WORKING_TIME_RULES = (after_working_time, too_much_at_once, pot_life_mass)


def _in_the_piece(sheet: SheetFacts) -> timedelta | None:
    """The longest time to work it in the piece, as against in the pot."""
    return sheet.working_time_thin or sheet.working_time_thick


def _pot(sheet: SheetFacts) -> PotLife | None:
    """The time that a batch is judged by: what has left the pot has that of the piece."""
    in_the_piece = _in_the_piece(sheet)
    if in_the_piece is None:
        return pot_life_of(sheet)
    at_c, energy = sheet.working_time_at_c, sheet.activation_energy_kj_mol
    return PotLife(
        min(in_the_piece, LONGEST),
        None if at_c is None else float(at_c),
        activation_kj_mol=None if energy is None else float(energy),
    )


def _working(batch: BatchFacts) -> WorkingTime | None:
    """Its working time at its own temperature and in its own mass. A temperature that no weather
    has, or an energy that no resin has, is not reckoned with."""
    pot = _pot(batch.sheet)
    if pot is None:
        return None
    mass = batch.total if batch.unit == "g" and batch.total > 0 else None
    surface = batch.surface_c if batch.surface_c is not None else batch.air_c
    try:
        return working_time(pot, surface, mass)
    except ValueError:
        return working_time(pot, None, mass)


def _of_the_mass(batch: BatchFacts, working: WorkingTime) -> str:
    pot = _pot(batch.sheet)
    shortened = pot is not None and working.by_sheet < pot.time
    return f" in a mass of {amount(batch.total, 'g')}" if shortened else ""


def _shorter_time(sheet: SheetFacts, working: WorkingTime) -> tuple[timedelta, str] | None:
    """A shorter time than the sheet's longest, and what shortens it."""
    thick = sheet.working_time_thick
    if thick is not None and thick < working.by_sheet:
        return thick, "in a thick piece"
    celsius, speed = working.temperature_c, working.speed
    if celsius is None or speed is None or working.to_use_within == working.by_sheet:
        return None
    faster = f"{number(Decimal(speed), '0.01')} times as fast"
    return working.to_use_within, f"at {degrees(Decimal(str(celsius)))}, {faster}"
