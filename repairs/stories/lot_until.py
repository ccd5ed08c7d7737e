"""Until when a lot may be used, and what sets that day."""

from __future__ import annotations

from datetime import date

from django.utils.formats import date_format

from config.figures import Figure, Formula, figure
from materials.models import Lot
from materials.shelf_life import LastUsableDay

LAST_USABLE_DAY = Formula(
    words="The earliest of what is printed on it, its shelf life unopened (only where nothing is "
    "printed) and its life once opened. That day itself is still good.",
    symbols="min(printed, or made or else received + months unopened; opened + months opened)",
    source="the label and the data sheet; that the day itself counts: common practice, no source",
)


def until_figure(lot: Lot, shelf: LastUsableDay) -> Figure | None:
    """The last usable day; None where nothing sets one."""
    if shelf.day is None:
        return None
    sheet = lot.product.sheet_on(lot.received_on)
    revision = f"Sheet {sheet.revision}" if sheet else "Sheet"
    return figure(
        "Last day on which it may be used",
        _day(shelf.day),
        LAST_USABLE_DAY,
        ("Set by", shelf.words),
        ("Printed expiry", _day(lot.expires_on)),
        ("Made", _day(lot.made_on)),
        ("Received", _day(lot.received_on)),
        ("Opened", _day(lot.opened_on)),
        (f"{revision}, unopened", _months(sheet.shelf_life_unopened_months if sheet else None)),
        (f"{revision}, once opened", _months(sheet.shelf_life_opened_months if sheet else None)),
    )


def _day(day: date | None) -> str:
    return "not recorded" if day is None else date_format(day, "j F Y")


def _months(months: int | None) -> str:
    return "not recorded" if months is None else f"{months} month{'' if months == 1 else 's'}"
