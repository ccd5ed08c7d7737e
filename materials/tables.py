"""The lists of the stores as tables."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.template.loader import render_to_string
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from config.quantities import UnitSystem
from materials.lot_state import kits_remaining, last_day, parts_of, remaining_in_words, states_of
from materials.models import Lot, Product
from materials.money import show_money
from materials.sheet_figures import in_one_line

NUMBER = {"td": {"class": "num"}}
FINE = {"td": {"class": "fine"}}
DATE = {"td": {"class": "date"}}


class LotTable(tables.Table):
    """Wants lots `with_remaining`, their product, and the parts of kits `with_remaining` too."""

    number = tables.Column("Lot", linkify=True)
    product = tables.Column("Product", order_by=("product__name", "number"))
    part = tables.Column("Part", attrs=FINE)
    remaining = tables.Column("Left", accessor="number", orderable=False, attrs=NUMBER)
    unit = tables.Column("Unit", visible=False)
    soonest_day = tables.Column("Usable until", attrs=DATE, default="Not recorded")
    state = tables.Column("State", accessor="number", orderable=False)
    kept_at = tables.Column("Where kept", default="Not recorded", attrs=FINE)
    price_minor = tables.Column("Paid", attrs=NUMBER, default="Not recorded")

    class Meta:
        model = Lot
        fields = (
            "number", "product", "part", "remaining", "unit", "soonest_day", "state", "kept_at",
            "price_minor",
        )  # fmt: skip
        order_by = "soonest_day"
        empty_text = (
            "No lot is here. Lots stand here with what is left of them and until when they may "
            "be used; begin with 'Receive a lot'."
        )

    def __init__(self, *args: Any, on: date, units: UnitSystem | str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on, self.units = on, units

    def order_soonest_day(self, rows: Any, is_descending: bool) -> tuple[Any, bool]:
        return rows.in_order_of_last_day(descending=is_descending), True

    def render_number(self, record: Lot) -> SafeString:
        numbers = format_html_join("", "<br><small>{}</small>", _part_numbers(record))
        return format_html("{}{}", record.number, numbers)

    def value_number(self, record: Lot) -> str:
        numbers = ", ".join(words for (words,) in _part_numbers(record))
        return f"{record.number} ({numbers})" if numbers else record.number

    def render_remaining(self, record: Lot) -> str:
        return remaining_in_words(record, self.units)

    def value_remaining(self, record: Lot) -> Decimal:
        """A bare number; the unit is a column of its own in what is downloaded."""
        kits = kits_remaining(record)
        return (record.remaining() if kits is None else kits).quantize(Decimal("0.001"))

    def value_unit(self, record: Lot) -> str:
        return "kits" if record.part == Lot.Part.KIT else record.unit

    def render_soonest_day(self, record: Lot) -> str:
        day = last_day(record)
        return f"{day:%-d %b %Y}" if day else "Not recorded"

    def value_soonest_day(self, record: Lot) -> str:
        day = last_day(record)
        return day.isoformat() if day else ""

    def render_state(self, record: Lot) -> SafeString:
        marks = [
            (render_to_string("_state.html", {"state": state.mark, "word": state.word}),)
            for state in states_of(record, self.on)
        ]
        return format_html_join(" ", "{}", marks)

    def value_state(self, record: Lot) -> str:
        return ", ".join(state.word for state in states_of(record, self.on))

    def render_price_minor(self, value: int, record: Lot) -> str:
        return show_money(value, record.currency)

    def value_price_minor(self, value: int, record: Lot) -> str:
        return show_money(value, record.currency)


def _part_numbers(lot: Lot) -> list[tuple[str]]:
    """Of a kit, `A 4711` and `B 0815`."""
    if lot.part != Lot.Part.KIT:
        return []
    return [(f"{part.part.upper()} {part.number}",) for part in parts_of(lot)]


class ProductTable(tables.Table):
    """Wants products `with_current_sheet` and `with_lot_count`."""

    name = tables.Column("Product", linkify=True)
    maker = tables.Column("Maker", default="Not recorded")
    kind = tables.Column("Kind", attrs=FINE)
    parts = tables.Column("Parts", attrs=FINE)
    figures = tables.Column("By its latest sheet", accessor="name", orderable=False, attrs=FINE)
    lot_count = tables.Column("Lots in stores", attrs=NUMBER)

    class Meta:
        model = Product
        fields = ("name", "maker", "kind", "parts", "figures", "lot_count")
        order_by = "name"
        empty_text = (
            "No product is here. Products stand here with the figures of their data sheets; "
            "begin with 'Enter a product'."
        )

    def render_parts(self, record: Product) -> str:
        return "A and B" if record.parts == Product.Parts.TWO else "One"

    def value_parts(self, record: Product) -> int:
        return record.parts

    def render_figures(self, record: Product) -> str:
        sheets = record.sheets_newest_first  # type: ignore[attr-defined]
        return in_one_line(sheets[0]) if sheets else "No sheet entered yet"

    def value_figures(self, record: Product) -> str:
        return self.render_figures(record)
