"""The ratio that a saved batch was mixed at, against the sheet of its day."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from config.figures import Figure, Formula, figure
from config.quantities import Quantity, UnitSystem, show
from materials.mixing import MixRatio, deviation, measured
from materials.models import Lot
from repairs.models import Batch
from repairs.remarks.limits import DEFAULT_LIMITS

MEASURED_RATIO = Formula(
    words="What was taken of B for 100 of A, and how far that is from what the sheet asks. Never "
    "change the ratio to change the speed.",
    symbols="ratio = 100 · B/A; off by (B/A) ÷ (B/A by the sheet) − 1",
    source="definition of a ratio; the sheet of the product",
    holds="for weights against a ratio by weight, and volumes against one by volume",
)


@dataclass(frozen=True)
class MeasuredMix:
    """`off` is a fraction of the wanted B to A, None where the sheet is silent."""

    actual: MixRatio
    wanted: MixRatio | None
    off: Decimal | None

    @property
    def words(self) -> str:
        if self.wanted is None or self.off is None:
            return f"{self.actual}; the sheet gives no ratio by {self.actual.by}"
        percent = f"{abs(self.off) * 100:.1f}".removesuffix(".0")
        if percent == "0":
            return f"{self.actual}, as the sheet asks"
        more_or_less = "more" if self.off > 0 else "less"
        return f"{self.actual}, {percent} % {more_or_less} B than the sheet’s {self.wanted}"


def measured_mix(batch: Batch) -> MeasuredMix | None:
    """None for a one-part product, or where one of the parts is not recorded."""
    parts = list(batch.parts.all())
    a = sum((part.amount for part in parts if part.part == Lot.Part.A), Decimal(0))
    b = sum((part.amount for part in parts if part.part == Lot.Part.B), Decimal(0))
    if not a or not b:
        return None
    by_weight = parts[0].lot.unit == Lot.Unit.GRAM
    wanted = batch.sheet.weight_ratio() if by_weight else batch.sheet.volume_ratio()
    actual = measured(a, b, "weight" if by_weight else "volume")
    return MeasuredMix(actual, wanted, deviation(actual, wanted) if wanted else None)


def mix_figure(batch: Batch, system: UnitSystem | str) -> Figure | None:
    """The measured ratio with what it was reckoned from; None as `measured_mix`."""
    mix = measured_mix(batch)
    if mix is None:
        return None
    sheet, pct = batch.sheet, batch.sheet.ratio_tolerance_pct
    usual = DEFAULT_LIMITS["ratio_tolerance_pct"]
    tolerance = (
        f"{usual.value} %: {usual.source}" if pct is None else f"{pct.normalize():f} % by the sheet"
    )
    kind = Quantity.MASS if mix.actual.by == "weight" else Quantity.VOLUME
    amounts = (
        (part.get_part_display(), show(part.amount, kind, system)) for part in batch.parts.all()
    )
    return figure(
        "Ratio as measured",
        mix.words,
        MEASURED_RATIO,
        *amounts,
        (f"Ratio by sheet {sheet.revision}", str(mix.wanted) if mix.wanted else "none of its kind"),
        ("It may be off by", tolerance),
    )
