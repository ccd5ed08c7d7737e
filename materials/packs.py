"""What one pack of a product holds, and in which unit its lots are kept."""

from __future__ import annotations

from decimal import Decimal

from config.quantities import Quantity, UnitSystem, show
from materials.models import Kit, Lot, Product


def is_one_part(kit: Kit) -> bool:
    return kit.product.parts == Product.Parts.ONE


def by_weight(kit: Kit) -> bool:
    """Whether all that the pack holds is known by weight; scales are truer than jugs."""
    return kit.mass_a_g is not None and (is_one_part(kit) or kit.mass_b_g is not None)


def is_complete(kit: Kit) -> bool:
    """Whether the pack says, in one kind of unit, how much of each part it holds."""
    in_volume = kit.volume_a_ml is not None and (is_one_part(kit) or kit.volume_b_ml is not None)
    return by_weight(kit) or in_volume


def unit_of(kit: Kit) -> Lot.Unit:
    return Lot.Unit.GRAM if by_weight(kit) else Lot.Unit.MILLILITRE


def in_one_pack(kit: Kit, letter: str) -> Decimal | None:
    """How much of part a or b one pack holds, in the unit of its lots."""
    names = ("mass_a_g", "mass_b_g") if by_weight(kit) else ("volume_a_ml", "volume_b_ml")
    found: Decimal | None = getattr(kit, names["ab".index(letter)])
    return found


def contents_in_words(kit: Kit, system: UnitSystem | str) -> str:
    """`A 1,000 g, B 330 g`, or for a one-part product `2,500 ml`."""
    kind = Quantity.MASS if by_weight(kit) else Quantity.VOLUME
    amounts = {letter: in_one_pack(kit, letter) for letter in "ab"}
    shown = {
        letter: show(amount, kind, system)
        for letter, amount in amounts.items() if amount is not None
    }  # fmt: skip
    if is_one_part(kit):
        return shown.get("a", "not recorded")
    return ", ".join(f"{letter.upper()} {shown.get(letter, 'not recorded')}" for letter in "ab")
