"""How warm a filling gets while it cures."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import partial

from materials.conduction import Resin
from materials.fill_heat import (
    LIMIT_C,
    LayerHeat,
    layer_heat,
    resin_from,
    thickest_mm,
)
from materials.models import SheetRevision
from repairs.plans.amounts import density_of
from repairs.plans.reached import reached

TENTH = Decimal("0.1")
USUAL_START_C = Decimal(20)


@dataclass(frozen=True)
class FillHeat:
    """`thickest_mm` stays below the limit; None where any layer does, or where it is not known."""

    heat: LayerHeat | None = None
    thickest_mm: Decimal | None = None
    missing: str = ""


def fill_heat_of(sheet: SheetRevision, layer_mm: Decimal | None, air_c: Decimal | None) -> FillHeat:
    """How warm one layer gets while it cures, begun as warm as the air, else at 20 °C."""
    resin, why = _resin(sheet)
    if resin is None:
        return FillHeat(missing=why)
    # To the degree, so that a forecast's tenths find what was worked out before.
    start = float(round(USUAL_START_C if air_c is None else air_c))
    most, no_most = reached(partial(thickest_mm, LIMIT_C, resin, start))
    thickest = None if most is None else Decimal(str(most)).quantize(TENTH)
    if layer_mm is None:
        return FillHeat(None, thickest, no_most)
    heat, why = reached(partial(layer_heat, float(layer_mm), resin, start))
    return FillHeat(heat, thickest, why)


def _resin(sheet: SheetRevision) -> tuple[Resin | None, str]:
    if sheet.product.parts != 2:
        return None, ""
    if sheet.pot_life is None or sheet.pot_life_at_c is None:
        return None, (
            f"How warm {sheet.product} gets is not told: its sheet gives no pot life with its "
            "temperature."
        )
    return reached(
        partial(
            resin_from,
            pot_life=sheet.pot_life,
            pot_life_at_c=float(sheet.pot_life_at_c),
            activation_kj_mol=_float(sheet.activation_energy_kj_mol),
            heat_j_g=_float(sheet.heat_of_reaction_j_g),
            density_g_ml=_float(density_of(sheet)),
            mass_g=_float(sheet.pot_life_mass_g),
        )
    )


def _float(number: Decimal | None) -> float | None:
    return None if number is None else float(number)
