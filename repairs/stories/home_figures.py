"""Money that was paid in another currency, in the property's own."""

from __future__ import annotations

from config.figures import Figure, Formula, figure
from materials.money import show_money
from repairs.models import CostLine

IN_HOME_MONEY = Formula(
    words="The amount at the rate of its day, rounded once to the smallest coin; of a cost that "
    "was shared, the shares add up to the whole.",
    symbols="amount · rate",
    source="the rate entered with the line",
)


def home_figure(line: CostLine) -> Figure | None:
    """None where it was paid in the property's own currency. Reads its building's property."""
    home = line.building.property.currency
    if line.currency == home or line.rate is None:
        return None
    return figure(
        f"The amount in {home}",
        show_money(line.home_minor, home),
        IN_HOME_MONEY,
        ("Amount", show_money(line.amount_minor, line.currency)),
        (f"1 {line.currency} in {home}", f"{line.rate.normalize():f}"),
    )
