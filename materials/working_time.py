"""How long a mixed batch can be worked, at the day's temperature and in its mass.

Times are timedelta, temperatures °C of the material, masses grams. A pot life is data only with
its mass and its temperature (ASTM D2471 for the mass)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Protocol

from config.figures import Formula
from materials.rates import arrhenius, energy_of, ten_degree

Number = float | Decimal

LONGEST = timedelta(days=366)
HEAVIEST_G = 1e9

POT_LIFE = Formula(
    words="The sheet's pot life, divided by how much faster it reacts at the day's temperature, "
    "and shortened for a larger mass along the line through the sheet's two figures.",
    symbols="t = t₁ × (m/m₁)^−n ÷ (k/k_ref), n = ln(t₁/t₂) / ln(m₂/m₁) from m₁ to m₂",
    source="data sheet; Arrhenius; that a pot life depends on the mass: ASTM D2471-99; the "
    "straight line between logarithms is common practice, no source",
    holds="the material from −40 to 100 °C, masses up to the larger one that the sheet gives; "
    "used within the sheet's own time also on a colder day, since a mass in the pot warms itself",
)


@dataclass(frozen=True)
class PotLife:
    """What a sheet says: a time with its temperature and mass, and perhaps the shorter time of a
    larger mass. None means not told.

    Raises ValueError for a time of zero or less or above a year, a mass of zero or less, a larger
    mass that is smaller, or one that is workable for longer."""

    time: timedelta
    at_c: float | None = None
    mass_g: float | None = None
    large_time: timedelta | None = None
    large_mass_g: float | None = None
    activation_kj_mol: float | None = None

    def __post_init__(self) -> None:
        times = (self.time, self.large_time)
        if any(time is not None and not timedelta(0) < time <= LONGEST for time in times):
            raise ValueError("A pot life is above zero, and a year at most.")
        masses = (self.mass_g, self.large_mass_g)
        if any(mass is not None and not 0 < mass <= HEAVIEST_G for mass in masses):
            raise ValueError("The mass of a pot life is above zero, and 1,000 tonnes at most.")
        if self.large_time is not None and self.large_time > self.time:
            raise ValueError("A larger mass is workable for no longer than a small one.")
        if self.mass_g and self.large_mass_g and self.large_mass_g < self.mass_g:
            raise ValueError("The larger mass is smaller than the mass of the first pot life.")

    @property
    def largest_g(self) -> float | None:
        """The largest mass of which the sheet tells a time."""
        if self.large_time is not None and self.large_mass_g is not None:
            return self.large_mass_g
        return self.mass_g


@dataclass(frozen=True)
class WorkingTime:
    """`time` is the estimate, `shortest` and `longest` its band from that of the activation energy;
    `by_ten_degrees` the plain alternative. `by_sheet` is what the sheet itself says of that mass.
    `speed` is how many times as fast it reacts as at the sheet's temperature. `basis` is a phrase;
    `remark` a sentence where the sheet does not reach that far, else empty."""

    time: timedelta
    shortest: timedelta
    longest: timedelta
    by_ten_degrees: timedelta | None
    temperature_c: float | None
    mass_g: float | None
    basis: str
    remark: str
    by_sheet: timedelta
    speed: float | None = None

    @property
    def to_use_within(self) -> timedelta:
        """What is reckoned with: the estimate, and on a colder day no more than the sheet says,
        since a mass in the pot warms itself."""
        return min(self.time, self.by_sheet)


class TimesOfSheet(Protocol):
    """The figures of a data sheet that tell how long a batch can be worked."""

    @property
    def pot_life(self) -> timedelta | None: ...
    @property
    def pot_life_at_c(self) -> Decimal | None: ...
    @property
    def pot_life_mass_g(self) -> Decimal | None: ...
    @property
    def pot_life_large(self) -> timedelta | None: ...
    @property
    def pot_life_large_mass_g(self) -> Decimal | None: ...
    @property
    def working_time_thick(self) -> timedelta | None: ...
    @property
    def working_time_thin(self) -> timedelta | None: ...
    @property
    def working_time_at_c(self) -> Decimal | None: ...
    @property
    def activation_energy_kj_mol(self) -> Decimal | None: ...


def pot_life_of(sheet: TimesOfSheet) -> PotLife | None:
    """The time in the pot, else the shorter of the working times; None where neither is told.

    Raises ValueError for figures that `PotLife` refuses."""
    energy = _number(sheet.activation_energy_kj_mol)
    if sheet.pot_life:
        return PotLife(
            min(sheet.pot_life, LONGEST),
            _number(sheet.pot_life_at_c),
            _number(sheet.pot_life_mass_g),
            min(sheet.pot_life_large, LONGEST) if sheet.pot_life_large else None,
            _number(sheet.pot_life_large_mass_g),
            energy,
        )
    in_the_piece = sheet.working_time_thick or sheet.working_time_thin
    if not in_the_piece:
        return None
    return PotLife(
        min(in_the_piece, LONGEST), _number(sheet.working_time_at_c), activation_kj_mol=energy
    )


def working_time(pot: PotLife, temperature_c: Number | None, mass_g: Number | None) -> WorkingTime:
    """How long that mass can be worked at that temperature of the material.

    t₁ (m/m₁)^−n ÷ Arrhenius. Without a temperature, or a sheet's temperature, the sheet's time
    stands. A mass below the sheet's smaller one is not given longer; one past its largest gets a
    remark and no further shortening. Raises ValueError outside −40 to 100 °C, outside 10 to
    200 kJ/mol, and for a mass of zero or less. No time is given above a year. Sources:
    `POT_LIFE`."""
    mass, celsius = _number(mass_g), _number(temperature_c)
    if mass is not None and not 0 < mass < math.inf:
        raise ValueError("A mass is above zero.")
    by_sheet = _of_mass(pot, mass)
    remark = _remark(pot, mass)
    if celsius is None or pot.at_c is None:
        what = "the material" if celsius is None else "the sheet's pot life"
        basis = f"the sheet's own time; the temperature of {what} is not recorded"
        return WorkingTime(
            by_sheet, by_sheet, by_sheet, None, celsius, mass, basis, remark, by_sheet
        )
    energy = energy_of(pot.activation_kj_mol)
    low, speed, high = (
        arrhenius(celsius, pot.at_c, each) for each in (energy.low, energy.middle, energy.high)
    )
    return WorkingTime(
        time=_at_speed(by_sheet, speed),
        shortest=_at_speed(by_sheet, max(low, high)),
        longest=_at_speed(by_sheet, min(low, high)),
        by_ten_degrees=_at_speed(by_sheet, ten_degree(celsius, pot.at_c)),
        temperature_c=celsius,
        mass_g=mass,
        basis=f"Arrhenius, {energy.middle:g} kJ/mol ({energy.source})",
        remark=remark,
        by_sheet=by_sheet,
        speed=speed,
    )


def _at_speed(time: timedelta, speed: float) -> timedelta:
    """A year is as good as for ever."""
    return timedelta(seconds=min(time.total_seconds() / speed, LONGEST.total_seconds()))


def _of_mass(pot: PotLife, mass: float | None) -> timedelta:
    """The sheet's time for a mass, at the sheet's temperature."""
    large_time, large_mass = pot.large_time, pot.large_mass_g
    if mass is None or large_time is None or large_mass is None:
        return pot.time
    if pot.mass_g is None or mass >= large_mass:
        return large_time
    if mass <= pot.mass_g:
        return pot.time
    power = math.log(pot.time / large_time) / math.log(large_mass / pot.mass_g)
    return max(pot.time * math.pow(mass / pot.mass_g, -power), large_time)


def _remark(pot: PotLife, mass: float | None) -> str:
    """What the sheet leaves open about that mass."""
    largest = pot.largest_g
    if mass is None or largest is None or mass <= largest:
        return ""
    return (
        f"The sheet tells the pot life of {largest:g} g at most: a larger mass goes off sooner, "
        "by how much is not told. Mix less at once, or spread it in a flat tray at once."
    )


def _number(value: Number | None) -> float | None:
    return None if value is None else float(value)
