"""A recall as one table: a line for each repair, lot and batch, and as a workbook with the account
of every lot."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from properties.exports import csv_of, workbook_of
from repairs.stories.recall import Affected, Recall, Use

HEAD = (
    "Property", "Address", "Owner", "Contact", "Building", "Elevation", "Member", "Kind of member",
    "Where on it", "Repair", "Kind of repair", "State of the repair", "Standing", "Lot", "Part",
    "Amount", "Unit", "Mixed on", "Stage", "Certain", "Repair number", "Batch number",
)  # fmt: skip
ACCOUNT = (
    "Lot", "Part", "Unit", "Received", "In repairs", "Waste of batches",
    "Mixed and not yet placed", "In no batch", "In no batch: what it was", "Left in the stores",
)  # fmt: skip


def recall_csv(recall: Recall) -> bytes:
    return csv_of(HEAD, _lines(recall))


def recall_workbook(recall: Recall) -> bytes:
    summary = [(recall.lead,), (f"As of {recall.on:%-d %B %Y}",)]
    return workbook_of(
        (
            ("Recall", summary),
            ("Repairs", [HEAD, *_lines(recall)]),
            ("Lots", [ACCOUNT, *_accounts(recall)]),
        )
    )


def _lines(recall: Recall) -> Iterator[tuple[Any, ...]]:
    for row in recall.affected:
        for use in row.uses:
            yield (*_of_repair(row), *_of_use(row, use))


def _of_repair(row: Affected) -> tuple[Any, ...]:
    repair = row.repair
    member = repair.member
    return (
        row.place.name, row.place.address, row.owner, row.contact, member.building.name,
        member.elevation.name if member.elevation else "", member.mark, member.get_kind_display(),
        repair.get_zone_display(), row.place.day_of(repair.began_at), repair.get_kind_display(),
        row.state, row.standing,
    )  # fmt: skip


def _of_use(row: Affected, use: Use) -> tuple[Any, ...]:
    return (
        use.lot.number if use.lot else "", use.lot.get_part_display() if use.lot else "",
        use.amount, use.unit, row.place.day_of(use.batch.mixed_at), use.stage.get_kind_display(),
        "no lot recorded" if use.lot is None else "yes", row.repair.pk, use.batch.pk,
    )  # fmt: skip


def _accounts(recall: Recall) -> Iterator[tuple[Any, ...]]:
    for each in recall.accounts:
        words = "; ".join(f"{words}: {amount.normalize():f}" for words, amount in each.not_linked)
        yield (
            each.lot.number, each.lot.get_part_display(), each.lot.unit, each.received,
            each.in_repairs, each.wasted, each.not_placed,
            sum(amount for _, amount in each.not_linked), words, each.remaining,
        )  # fmt: skip
