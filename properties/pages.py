"""How many rows a page of a list shows."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator

ROWS = 50


class FiftyRows(Paginator):
    """Always fifty: the tables take `?per_page=` from the address, which may ask for none at
    all or for a whole database."""

    def __init__(self, object_list: Any, per_page: int = ROWS, *args: Any, **kwargs: Any) -> None:
        super().__init__(object_list, ROWS, *args, **kwargs)


ROWS_OF_A_TABLE = {"per_page": ROWS, "paginator_class": FiftyRows}
