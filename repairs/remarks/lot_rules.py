"""The rules for the lots of a batch."""

from __future__ import annotations

from decimal import Decimal

from .facts import BatchFacts, LotFacts
from .remark import Remark
from .words import PARTS, amount, day, short


def _name(lot: LotFacts) -> str:
    return f"lot {short(lot.number, 40)} ({PARTS.get(lot.part, lot.part)})"


def used_before_received(batch: BatchFacts) -> list[Remark]:
    """Impossible: taken from a lot on a day before it came in."""
    return [
        Remark(
            "used-before-received",
            "stop",
            f"Taken on {day(batch.used_on)} from {_name(lot)}, received on {day(lot.received_on)}.",
            "a lot is used on or after the day it was received",
            "what is possible",
            "Correct the day of the batch, or the day on which the lot was received.",
            about=lot.number,
        )
        for lot in batch.lots
        if batch.used_on < lot.received_on
    ]


def expired(batch: BatchFacts) -> list[Remark]:
    """Past its printed expiry, its shelf life or its opened life; that last day is still good."""
    found = []
    for lot in batch.lots:
        past = lot.shelf.days_past(batch.used_on)
        if lot.shelf.day is None or not past:
            continue
        days = "1 day" if past == 1 else f"{past} days"
        found.append(
            Remark(
                "expired",
                "warning",
                f"{_start(lot)} was used {days} past expiry.",
                f"{day(lot.shelf.day)}, by {lot.shelf.words}",
                "the tin" if lot.shelf.rule == "printed" else batch.sheet.source,
                "Say why it was used, and what a test batch showed: whether it grew warm, how "
                "soon it gelled, hard or soft the next day.",
                about=lot.number,
                holds=True,
            )
        )
    return found


def held_back(batch: BatchFacts) -> list[Remark]:
    """Taken from a lot that somebody held back."""
    return [
        Remark(
            "held-back",
            "warning",
            f"{_start(lot)} is held back.",
            short(lot.held_back_reason, 200) or "a lot held back is not used",
            "the lot's own record",
            "Say who allowed it, or use another lot and take out what this one touched.",
            about=lot.number,
            holds=True,
        )
        for lot in batch.lots
        if lot.held_back
    ]


def other_part(batch: BatchFacts) -> list[Remark]:
    """The lot holds one part and was used as the other."""
    return [
        Remark(
            "other-part",
            "warning",
            f"{_start(lot)} holds {PARTS.get(lot.part, lot.part)} and is entered as "
            f"{PARTS.get(lot.used_as, lot.used_as)}.",
            "A comes from a lot of A, B from a lot of B",
            "the lot's own record",
            "Pick the right lot. If it was really used so, nothing cures: take it out.",
            about=lot.number,
            holds=True,
        )
        for lot in batch.lots
        if lot.part != lot.used_as
    ]


def other_product(batch: BatchFacts) -> list[Remark]:
    """The lot is of another product than the sheet that the batch is judged by."""
    return [
        Remark(
            "other-product",
            "warning",
            f"{_start(lot)} is of {short(lot.product)}, the batch of {short(batch.sheet.product)}.",
            "all parts of a batch are of one product",
            batch.sheet.source,
            "Pick a lot of this product. If the two were really mixed, no sheet says what comes "
            "of it: take it out.",
            about=lot.number,
            holds=True,
        )
        for lot in batch.lots
        if lot.product != batch.sheet.product
    ]


def unlike_lots(batch: BatchFacts) -> list[Remark]:
    """A and B that came in different kits."""
    kits_a = {lot.parent for lot in batch.lots if lot.used_as == "a"}
    kits_b = {lot.parent for lot in batch.lots if lot.used_as == "b"}
    if not kits_a or not kits_b or kits_a == kits_b:
        return []
    return [
        Remark(
            "unlike-lots",
            "note",
            f"A from {_kits(kits_a)}, B from {_kits(kits_b)}.",
            "A and B of one kit belong together",
            "common practice, no source",
            "Keep the two parts of a kit together, and look at this batch again once it is hard.",
        )
    ]


def overdrawn(batch: BatchFacts) -> list[Remark]:
    """More taken than the ledger says the lot holds; kept, and somebody counts."""
    return [
        Remark(
            "overdrawn",
            "warning",
            f"{amount(lot.amount, lot.unit)} from {_name(lot)}, more than the lot holds.",
            f"{amount(max(lot.remaining, Decimal(0)), lot.unit)} left by the ledger",
            "the lot's ledger",
            "Look at the figure and its unit. If it is right, save it and count what is left of "
            "the lot.",
            about=lot.number,
        )
        for lot in batch.lots
        if lot.remaining is not None and lot.amount > lot.remaining
    ]


LOT_RULES = (
    used_before_received, other_product, other_part, unlike_lots, expired, held_back, overdrawn,
)  # fmt: skip


def _start(lot: LotFacts) -> str:
    return f"L{_name(lot)[1:]}"


def _kits(kits: set[str | None]) -> str:
    names = sorted(short(kit, 40) for kit in kits if kit is not None)
    if None in kits:
        names.append("no kit")
    return " and ".join(f"kit {name}" if name != "no kit" else name for name in names)
