"""How many batches have a line on a work sheet: one that nobody carries takes minutes to print."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from repairs.plans.work_sheet import MixTable

# Some four pages of them, shared out evenly among the stages that are mixed.
MOST_LINES = 160


def few_enough(table: MixTable, stages: int) -> MixTable:
    """The table of one of so many mixed stages, with no more lines than are its share."""
    most = left = max(MOST_LINES // stages, 1)
    count = sum(len(layer.rows) for layer in table.layers)
    layers = []
    for layer in table.layers:
        if left <= 0:
            break
        layers.append(replace(layer, rows=layer.rows[:left]))
        left -= max(len(layer.rows), 1)
    if count <= most:
        return replace(table, layers=tuple(layers))
    told = f"Only the first {most} of {count} batches have a line here; the others weigh the same."
    return replace(table, layers=tuple(layers), remark=f"{table.remark} {told}".strip())
