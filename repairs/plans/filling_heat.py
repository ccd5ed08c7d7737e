"""How warm a filling gets while it cures."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from materials.models import SheetRevision

if TYPE_CHECKING:
    from materials.fill_heat import LayerHeat


@dataclass(frozen=True)
class FillHeat:
    heat: LayerHeat | None = None
    thickest_mm: Decimal | None = None
    missing: str = ""


def fill_heat_of(sheet: SheetRevision, layer_mm: Decimal | None, air_c: Decimal | None) -> FillHeat:
    """How warm one layer gets while it cures; not worked out yet."""
    return FillHeat()
