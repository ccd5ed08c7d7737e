"""How much sealer or paint an area takes. Areas in mm² or m², coverage in m² per litre, ml out."""

from __future__ import annotations

from decimal import Decimal

from config.figures import Formula

END_GRAIN_SHARE = Decimal("0.5")
MM2_PER_M2 = 1_000_000
ML_PER_L = 1000

SEALER = Formula(
    words="The end grain and the side grain, each divided by what a litre covers of it, times the "
    "coats.",
    symbols="V = n × (A_end/c_end + A_side/c_side)",
    source="data sheet; where it is silent on end grain a litre covers half of what it covers on "
    "side grain (common practice, no source)",
    holds="sound wood; decayed wood takes twice as much or more (common practice, no source)",
)
PAINT = Formula(
    words="The area divided by what a litre covers, times the coats.",
    symbols="V = n × A / c",
    source="data sheet",
    holds="planed wood; sawn wood takes more",
)


def sealer_ml(
    end_mm2: Decimal,
    side_mm2: Decimal,
    end_m2_per_l: Decimal | None,
    side_m2_per_l: Decimal,
    coats: int = 1,
) -> Decimal:
    """What sealing the walls of a cavity takes, in ml.

    Areas are zero or more, coverages above zero, coats at least 1, else ValueError; None for end
    grain takes half of the side figure. See `SEALER`."""
    end = side_m2_per_l * END_GRAIN_SHARE if end_m2_per_l is None else end_m2_per_l
    return paint_ml(end_mm2 / MM2_PER_M2, end, coats) + paint_ml(
        side_mm2 / MM2_PER_M2, side_m2_per_l, coats
    )


def paint_ml(area_m2: Decimal, m2_per_l: Decimal, coats: int = 1) -> Decimal:
    """What an area takes in so many coats, in ml. Limits as in `sealer_ml`. See `PAINT`."""
    if not (area_m2.is_finite() and area_m2 >= 0):
        raise ValueError("An area is zero or more.")
    if not (m2_per_l.is_finite() and m2_per_l > 0):
        raise ValueError("What a litre covers is above zero.")
    if coats < 1:
        raise ValueError("There is at least one coat.")
    return area_m2 / m2_per_l * ML_PER_L * coats
