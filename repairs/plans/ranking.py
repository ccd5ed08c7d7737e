"""The heat of a face in the sun against the resins on hand."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from decimal import Decimal

from materials.models import Lot, Product, SheetRevision
from properties.heat import MARGIN_K, ExpectedSurface, margin_k
from repairs.plans.prepared import RankedProduct

RESINS = (
    Product.Kind.SEALER,
    Product.Kind.LAMINATING_RESIN,
    Product.Kind.FILLER,
    Product.Kind.ADHESIVE,
)


def ranking_of(
    face: ExpectedSurface | None, planned: Collection[SheetRevision], on: date
) -> tuple[RankedProduct, ...]:
    """The resins in the stores and those of the plan, by how far their heat deflection temperature
    lies above what the face is expected to reach; those whose sheet is silent last."""
    sheets = {sheet.product_id: sheet for sheet in _resins_on_hand(on)}
    mine = {sheet.product_id: sheet for sheet in planned if sheet.product.kind in RESINS}
    found = [
        _ranked(sheet, face, sheet.product_id in mine) for sheet in {**sheets, **mine}.values()
    ]
    return tuple(sorted(found, key=_coolest_last))


def _resins_on_hand(on: date) -> list[SheetRevision]:
    """The sheet in force of each resin of which a lot may be used on a day; two queries."""
    lots = Lot.objects.holding_stock().usable(on).with_something_left().order_by()
    products = Product.objects.filter(
        kind__in=RESINS, pk__in=lots.values("product")
    ).prefetch_related("sheets")
    sheets = []
    for product in products:
        if sheet := product.sheet_on(on):
            sheet.product = product
            sheets.append(sheet)
    return sheets


def _ranked(sheet: SheetRevision, face: ExpectedSurface | None, in_plan: bool) -> RankedProduct:
    margin = margin_k(sheet.heat_deflection_c, face)
    return RankedProduct(sheet, margin, None if margin is None else margin >= MARGIN_K, in_plan)


def _coolest_last(ranked: RankedProduct) -> tuple[bool, Decimal, str]:
    margin = ranked.margin_k
    return margin is None, -(margin or Decimal(0)), str(ranked.sheet.product)
