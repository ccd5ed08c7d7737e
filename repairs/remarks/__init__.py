"""Whether an entry is sound: one function per rule, the same for form, API, import and print."""

from .batch_rules import batch_remarks, scale_too_coarse
from .facts import (
    BatchFacts,
    CauseFacts,
    LayerFacts,
    LotFacts,
    RepairFacts,
    SheetFacts,
    StageFacts,
)
from .limits import DEFAULT_LIMITS, cautions_for
from .remark import Level, Remark
from .repair_rules import paint_presumed_leaded, repair_remarks
from .stage_rules import layer_cure, stage_remarks

__all__ = [
    "DEFAULT_LIMITS", "BatchFacts", "CauseFacts", "LayerFacts", "Level", "LotFacts", "Remark",
    "RepairFacts", "SheetFacts", "StageFacts", "batch_remarks", "cautions_for", "layer_cure",
    "paint_presumed_leaded", "repair_remarks", "scale_too_coarse", "stage_remarks",
]  # fmt: skip
