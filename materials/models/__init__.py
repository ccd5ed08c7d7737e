"""What a maker sells, what lies in the stores, and what became of it."""

from .kits import Kit
from .lots import Lot
from .movements import Movement
from .products import Product
from .sheets import SheetRevision

__all__ = ["Kit", "Lot", "Movement", "Product", "SheetRevision"]
