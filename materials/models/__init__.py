"""What a maker sells, what lies in the stores, and what became of it."""

from .lots import Lot
from .movements import Movement
from .products import Kit, Product, SheetRevision

__all__ = ["Kit", "Lot", "Movement", "Product", "SheetRevision"]
