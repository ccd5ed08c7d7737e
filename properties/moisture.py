"""Moisture readings of wood, in % of oven-dry mass: correction for temperature and species, and
which of several readings governs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from config.figures import Formula
from properties.wood_resistance import as_species, curve_for

REFERENCE_C = Decimal(20)
SLOPE_LOW, SLOPE_MID, SLOPE_HIGH = Decimal("0.10"), Decimal("0.125"), Decimal("0.15")
SLOPE_SOURCE = "Forsén & Tarvainen, VTT Publications 420 (2000), abstract: 0.10 to 0.15 % per °C"
# Above about fibre saturation a meter only says low, middle or high wet.
OVER_RANGE_PCT = Decimal(30)
OVER_RANGE_SOURCE = "James, FPL-GTR-6 (rev. 1988), abstract: meters hold good below about 30 %"
# The range that the VTT curves were measured in; outside it the slope is carried on.
MEASURED_FROM_PCT, MEASURED_TO_PCT = Decimal(8), Decimal(18)
RESISTANCE_METERS = frozenset({"pin", "pin_insulated"})
TENTH = Decimal("0.1")

# How a correction from one species to another begins, so that a page can tell that it was made.
READ_ON_ANOTHER = "as the meter was set"

TEMPERATURE = Formula(
    words="For each degree that the wood is colder than 20 °C, 0.125 % is added to what a meter "
    "with pins shows; for each degree warmer, as much is taken off. Above 30 % a meter only says "
    "that the wood is wet.",
    symbols="u = reading + 0.125 · (20 − T)",
    source=f"{SLOPE_SOURCE}; {OVER_RANGE_SOURCE}",
    holds="for meters with pins in untreated wood, measured at 8 to 18 % and carried on beyond; "
    "the slope gives or takes 0.025 % per °C; a chart after FPL-GTR-6 (secondary, weak) adds more "
    "to wet wood in the cold, about twice as much at 20 %",
)


@dataclass(frozen=True)
class CorrectedReading:
    """`pct` is None where no correction is known or the wood is wetter than a meter can tell."""

    raw_pct: Decimal
    pct: Decimal | None
    over_range: bool
    basis: str

    @property
    def shown(self) -> str:
        """What a person reads: the corrected figure, '>30 %', or the raw one said to be raw."""
        if self.over_range:
            return f">{OVER_RANGE_PCT} %"
        if self.pct is None:
            return f"{self.raw_pct.normalize():f} % as read"
        return f"{self.pct.normalize():f} %"

    @property
    def governs_at_pct(self) -> Decimal:
        """The figure by which readings are put in order: corrected if known, else as read."""
        return self.raw_pct if self.pct is None else self.pct


def correct(
    raw_pct: Decimal,
    *,
    wood_c: Decimal | None,
    treated: str,
    meter: str,
    species: str = "",
    set_for: str = "",
) -> CorrectedReading:
    """A pin meter's reading as it would be at 20 °C: add 0.125 % for each °C below, subtract above;
    then from the species that the meter is set for to that of the wood, where both are given.

    Resistance falls as wood warms, so cold wood reads too low (sign: a meter maker's page;
    size: the middle of VTT Publications 420, measured at 8 to 18 %). Raw from 0 to 200 %, wood
    from −40 to 60 °C, else ValueError. Error of the slope alone ±0.025 % per °C: 0.5 % at 0 °C."""
    if not 0 <= raw_pct <= 200:
        raise ValueError("a reading runs from 0 to 200 %")
    if wood_c is not None and not -40 <= wood_c <= 60:
        raise ValueError("wood temperature from -40 to 60 °C")
    if meter == "oven":
        return CorrectedReading(raw_pct, raw_pct, False, "Oven-dry sample: no correction.")
    if raw_pct > OVER_RANGE_PCT:
        return CorrectedReading(
            raw_pct, None, True, f"Wetter than a meter can tell. {OVER_RANGE_SOURCE}."
        )
    if unknown := _why_unknown(wood_c, treated, meter):
        return CorrectedReading(raw_pct, None, False, unknown)
    assert wood_c is not None
    at_20 = raw_pct + (REFERENCE_C - wood_c) * SLOPE_MID
    pct, in_words = _for_species(at_20, species, set_for)
    pct = pct.quantize(TENTH, ROUND_HALF_UP)
    if pct > OVER_RANGE_PCT:
        return CorrectedReading(
            raw_pct,
            None,
            True,
            f"Over {OVER_RANGE_PCT} % once corrected for {wood_c.normalize():f} °C. "
            f"{OVER_RANGE_SOURCE}.",
        )
    basis = " ".join(filter(None, [_basis(raw_pct, wood_c), in_words]))
    return CorrectedReading(raw_pct, max(pct, Decimal(0)), False, basis)


def _for_species(pct: Decimal, species: str, set_for: str) -> tuple[Decimal, str]:
    """The figure for the wood's own species, and how; as it is where no two curves are known.

    The temperature comes first, the species after it (from memory, after FPL-GTR-6)."""
    if not set_for or not species or set_for.casefold() == species.strip().casefold():
        return pct, ""
    wood, of_meter = curve_for(species), curve_for(set_for)
    if wood is not None and wood == of_meter:
        return pct, ""
    none_known = f"No correction from {set_for} to {species[:40]} is known."
    if wood is None or of_meter is None:
        return pct, none_known
    try:
        corrected = as_species(float(pct), of_meter, wood)
    except ValueError:
        return pct, none_known
    words = f"From {of_meter.species}, {READ_ON_ANOTHER}, to {wood.species}: {wood.series}."
    return Decimal(repr(corrected)), words


def governing(readings: Iterable[CorrectedReading]) -> CorrectedReading | None:
    """The worst reading: over range before any figure, then the wettest; None of none."""
    return max(
        readings, key=lambda reading: (reading.over_range, reading.governs_at_pct), default=None
    )


def _why_unknown(wood_c: Decimal | None, treated: str, meter: str) -> str:
    if treated == "yes":
        return (
            "Correction unknown: salts and preservatives raise a reading, each by its own amount."
        )
    if meter not in RESISTANCE_METERS:
        return "Correction unknown: the figures kept are for meters with pins."
    if wood_c is None:
        return "Correction unknown: the temperature of the wood is not recorded."
    return ""


def _basis(raw_pct: Decimal, wood_c: Decimal) -> str:
    spread = abs(REFERENCE_C - wood_c) * (SLOPE_HIGH - SLOPE_MID)
    words = (
        f"Corrected from {wood_c.normalize():f} °C to {REFERENCE_C} °C by {SLOPE_MID} % per °C, "
        f"give or take {spread.quantize(TENTH, ROUND_HALF_UP)} %. {SLOPE_SOURCE}"
    )
    if not MEASURED_FROM_PCT <= raw_pct <= MEASURED_TO_PCT:
        words += f"; measured at {MEASURED_FROM_PCT} to {MEASURED_TO_PCT} %, carried on beyond"
    return f"{words}."
