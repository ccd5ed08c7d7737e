"""The example's products, their sheets, and what lies in the stores."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from materials.models import Kit, Lot, Product, SheetRevision
from materials.receive import Delivery, NumberedPart, receive
from materials.stock import Occasion, hold_back

if TYPE_CHECKING:
    from django.contrib.auth.models import User

COMMON = "Common practice, no source: an invented product with usual figures"
HAZARDS = (
    "Uncured resin and hardener irritate the skin and can sensitise it. Wear nitrile gloves and "
    "eye protection, ventilate, keep dust down. The maker's safety data sheet rules."
)


@dataclass(frozen=True)
class Stores:
    """One lot each of what the work uses, by year; kits by their parent."""

    resin: SheetRevision
    putty: SheetRevision
    primer: SheetRevision
    paint: SheetRevision
    lots: dict[tuple[str, int], Lot]

    def kit(self, name: str, on: date) -> Lot:
        """The newest delivery of a product that had come by a day."""
        years = sorted(
            year
            for key, year in self.lots
            if key == name and self.lots[key, year].received_on <= on
        )
        return self.lots[name, years[-1]]


def _minutes(count: int) -> timedelta:
    return timedelta(minutes=count)


def _hours(count: int) -> timedelta:
    return timedelta(hours=count)


RESIN: dict[str, Any] = {
    "weight_a": 100, "weight_b": 33, "density_a_g_ml": "1.15", "density_b_g_ml": "0.98",
    "density_mixed_g_ml": "1.1", "ratio_tolerance_pct": 5,
    "pot_life": _minutes(60), "pot_life_mass_g": 133, "pot_life_at_c": 20,
    "pot_life_large": _minutes(30), "pot_life_large_mass_g": 400, "batch_mass_max_g": 400,
    "cure_time": _hours(24), "cure_at_c": 20, "heat_of_reaction_j_g": 400,
    "recoat_from": _hours(4), "recoat_to": _hours(36), "apply_min_c": 10, "apply_max_c": 30,
    "wood_moisture_max_pct": 15, "heat_deflection_c": 60,
    "coverage_m2_per_l": 6, "coverage_end_grain_m2_per_l": "2.5",
    "shelf_life_unopened_months": 24, "shelf_life_opened_months": 12,
}  # fmt: skip
PUTTY: dict[str, Any] = {
    "weight_a": 2, "weight_b": 1, "volume_a": 2, "volume_b": 1, "ratio_tolerance_pct": 5,
    "density_a_g_ml": "0.7", "density_b_g_ml": "0.7", "density_mixed_g_ml": "0.7",
    "pot_life": _minutes(90), "pot_life_mass_g": 150, "pot_life_at_c": 20,
    "pot_life_large": _minutes(45), "pot_life_large_mass_g": 600, "batch_mass_max_g": 600,
    "working_time_thick": _minutes(90), "working_time_thin": _minutes(180),
    "working_time_at_c": 20, "cure_time": _hours(24), "cure_at_c": 20,
    "heat_of_reaction_j_g": 200, "recoat_from": _hours(6), "recoat_to": _hours(72),
    "layer_min_mm": 13, "layer_max_mm": 50, "apply_min_c": 10, "apply_max_c": 32,
    "wood_moisture_max_pct": 15, "heat_deflection_c": 82,
    "heat_deflection_method": "ISO 75, 0.45 MPa (invented)",
    "shelf_life_unopened_months": 24, "shelf_life_opened_months": 12,
}  # fmt: skip
PAINT: dict[str, Any] = {
    "density_a_g_ml": "1.25", "cure_time": _hours(16), "cure_at_c": 20, "recoat_from": _hours(16),
    "apply_min_c": 8, "apply_max_c": 30, "wood_moisture_max_pct": 18, "coverage_m2_per_l": 12,
    "shelf_life_unopened_months": 36, "shelf_life_opened_months": 24,
    "not_applicable": ["layer_min_mm", "layer_max_mm", "heat_deflection_c"],
}  # fmt: skip


def fill_stores(at: datetime, by: User) -> Stores:
    stores = Stores(
        resin=_sheet("Invented Laminating Resin", "laminating_resin", 2, RESIN),
        putty=_sheet("Invented Filling Putty", "filler", 2, PUTTY),
        primer=_sheet("Invented Wood Undercoat", "paint_primer", 1, PAINT),
        paint=_sheet("Invented Exterior Gloss", "paint", 1, PAINT),
        lots={},
    )
    for years_ago in range(5, -1, -1):
        _deliveries_of_a_year(stores, at, years_ago, by)
    _what_needs_care(stores, at, by)
    return stores


def _sheet(name: str, kind: str, parts: int, figures: dict[str, Any]) -> SheetRevision:
    product = Product.objects.create(
        name=name, maker="Example Makers (invented)", kind=kind, parts=parts
    )
    sheet = SheetRevision(
        product=product,
        revision="Issue 1",
        issued_on=date(2015, 1, 1),
        hazards=HAZARDS,
        source_note=COMMON,
        safety_sheet_url="https://example.invalid/safety",
        **figures,
    )
    sheet.full_clean()
    sheet.save()
    return sheet


def _deliveries_of_a_year(stores: Stores, at: datetime, years_ago: int, by: User) -> None:
    came = Occasion(at - timedelta(days=365 * years_ago + 240), by)
    for name, sheet, packs, a, b, price in (
        ("resin", stores.resin, 2, 600, 198, 8400),
        ("putty", stores.putty, 3, 400, 200, 10800),
    ):
        kit, _ = Kit.objects.get_or_create(
            product=sheet.product, name=f"{a + b} g kit",
            defaults={"mass_a_g": a, "mass_b_g": b, "price_minor": price // packs},
        )  # fmt: skip
        stores.lots[name, -years_ago] = _kits(name, kit, packs, price, came)
    for name, sheet, price in (("primer", stores.primer, 3900), ("paint", stores.paint, 5200)):
        stores.lots[name, -years_ago] = _tin(name, sheet, price, came)


def _number(name: str, came: Occasion) -> str:
    return f"{name.upper()}-{came.at:%y%j}"


def _kits(name: str, kit: Kit, packs: int, price: int, came: Occasion) -> Lot:
    day, number = came.at.date(), _number(name[:1], came)
    parts = (
        NumberedPart("a", f"{number}-A", _in_months(day, 24), Decimal(kit.mass_a_g or 0) * packs),
        NumberedPart("b", f"{number}-B", _in_months(day, 18), Decimal(kit.mass_b_g or 0) * packs),
    )
    delivery = Delivery(
        kit.product, parts, "g", day, kit=kit, packs=Decimal(packs), number=number,
        price_minor=price, supplier="Example Supplies (invented)", kept_at="Yard store, shelf 2",
    )  # fmt: skip
    return receive(delivery, came)


def _tin(name: str, sheet: SheetRevision, price: int, came: Occasion) -> Lot:
    part = NumberedPart("one", _number(name[:2], came), None, Decimal(2500), low_below=Decimal(500))
    delivery = Delivery(
        sheet.product, (part,), "ml", came.at.date(), price_minor=price,
        supplier="Example Supplies (invented)", kept_at="Yard store, shelf 1",
    )  # fmt: skip
    return receive(delivery, came)


def _in_months(day: date, months: int) -> date:
    return day + timedelta(days=round(months * 30.44))


def _what_needs_care(stores: Stores, at: datetime, by: User) -> None:
    """A lot about to expire and one held back, so that Today has something to say."""
    soon = NumberedPart(
        Lot.Part.ONE, "PR-SOON", at.date() + timedelta(days=20), Decimal(900), Decimal(500)
    )
    receive(
        Delivery(
            stores.primer.product, (soon,), "ml", at.date() - timedelta(days=200), price_minor=1450
        ),
        Occasion(at - timedelta(days=200), by),
    )
    doubtful = NumberedPart(Lot.Part.ONE, "GL-LUMPS", None, Decimal(1000))
    lot = receive(
        Delivery(stores.paint.product, (doubtful,), "ml", at.date() - timedelta(days=30)),
        Occasion(at - timedelta(days=30), by),
    )
    hold_back(lot, "Lumps in the tin; the supplier is asked")
