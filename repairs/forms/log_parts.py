"""From an amount as it was said to so much of each lot, in the unit of the lot's ledger."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from django.core.exceptions import ValidationError

from materials.amounts import Amount, Measured
from materials.models import Lot, SheetRevision
from repairs.logbook.entry import PartEntry

from .log_lots import Offer

THREE_PLACES = Decimal("0.001")


def kit_parts(offer: Offer, amount: Amount) -> tuple[PartEntry, ...]:
    kits = offer.kit.kits_received if offer.kit else None
    fraction = amount.kit_fraction
    if not kits or fraction is None or amount.kits is None:
        raise ValidationError(
            {"amount": "This lot is not a kit. Type what was weighed, such as 100 g + 33 g."}
        )
    return tuple(
        PartEntry(
            lot,
            lot.part,
            (lot.received() / kits * amount.kits.numerator / amount.kits.denominator).quantize(
                THREE_PLACES, ROUND_HALF_UP
            ),
            fraction.quantize(Decimal("0.000001"), ROUND_HALF_UP),
        )
        for lot in offer.lots()
    )


def one_part(offer: Offer, amount: Amount, sheet: SheetRevision | None) -> tuple[PartEntry, ...]:
    if len(amount.parts) != 1:
        raise ValidationError(
            {"amount": f"{offer.product.name} has one part. Type one amount, such as 250 ml."}
        )
    return (PartEntry(offer.a, Lot.Part.ONE, in_field(amount.parts[0], offer.a, sheet)),)


def two_parts(
    a: Lot, b: Lot | None, amount: Amount, sheet: SheetRevision | None
) -> tuple[PartEntry, ...]:
    if len(amount.parts) != 2:
        raise ValidationError(
            {"amount": "This product has two parts. Type A and B as measured: 100 g + 33 g."}
        )
    if b is None:
        raise ValidationError(
            {"b_number": "No lot of part B is in stores with it. Type the number of the B lot."}
        )
    first, second = amount.parts
    return (
        PartEntry(a, Lot.Part.A, in_field(first, a, sheet)),
        PartEntry(b, Lot.Part.B, in_field(second, b, sheet)),
    )


def in_field(measured: Measured, lot: Lot, sheet: SheetRevision | None) -> Decimal:
    try:
        return converted(measured, lot, sheet)
    except ValidationError as error:
        raise ValidationError({"amount": error}) from error


def converted(measured: Measured, lot: Lot, sheet: SheetRevision | None) -> Decimal:
    """A measured amount in the unit that the lot's ledger is kept in."""
    if measured.unit == lot.unit:
        return measured.value.quantize(THREE_PLACES, ROUND_HALF_UP)
    density = None
    if sheet:
        density = sheet.density_b_g_ml if lot.part == Lot.Part.B else sheet.density_a_g_ml
    if not density:
        unit, example = ("weight", "100 g") if lot.unit == Lot.Unit.GRAM else ("volume", "100 ml")
        raise ValidationError(
            f"Lot {lot.number} is kept by {unit}, and its data sheet gives no density. "
            f"Type it by {unit}, such as {example}.",
            code="no-density",
        )
    value = measured.value * density if lot.unit == Lot.Unit.GRAM else measured.value / density
    return value.quantize(THREE_PLACES, ROUND_HALF_UP)
