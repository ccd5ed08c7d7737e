"""One property whose years ahead can be told by hand."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from decimal import Decimal
from io import BytesIO
from typing import Any

from openpyxl import load_workbook
from pypdf import PdfReader

from properties.models import Elevation, Property
from repairs.models.due_dates import DueKind
from tests import factories as make

ON = datetime(2026, 11, 28, 9, tzinfo=UTC)


def yard(painted: int = 2028, **facts: Any) -> Property:
    """One elevation by scaffold with two members: one to be painted in the first year, one in the
    next, and a look in the year before. None of these dates has a rule: each falls once."""
    of: Property = make.PropertyFactory(**{"name": "Larkfield Yard", **facts})
    face = make.ElevationFactory(
        building__property=of, building__name="Granary", name="North",
        access=Elevation.Access.SCAFFOLD, area_m2=Decimal(20),
    )  # fmt: skip
    first = make.MemberFactory(building=face.building, elevation=face, mark="N-SILL-01")
    second = make.MemberFactory(building=face.building, elevation=face, mark="N-SILL-02")
    due(first, DueKind.REPAINT, date(painted, 5, 4))
    due(second, DueKind.REPAINT, date(painted + 1, 6, 4))
    due(first, DueKind.MEMBER_LOOK, date(painted - 1, 3, 4))
    return of


def due(member: Any, kind: str, on: date) -> Any:
    return make.DueDateFactory(
        member=member, kind=kind, due_on=on, counted_from=date(2026, 5, 4), rule=None
    )


def price(of: Property) -> None:
    """A look 10, a repaint 100 (80 to 150), the scaffold 1,000 each time."""
    make.WorkRateFactory(property=of, what="look", likely_minor=1_000)
    make.WorkRateFactory(
        property=of, what="repaint", low_minor=8_000, likely_minor=10_000, high_minor=15_000
    )
    make.WorkRateFactory(property=of, what="scaffold", per="elevation", likely_minor=100_000)


def face_of(of: Property) -> Elevation:
    return Elevation.objects.get(building__property=of, name="North")


def text(answer: Any) -> str:
    """What a page says, without its markup."""
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def pdf_text(answer: Any) -> str:
    pages = PdfReader(BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def sheets(answer: Any) -> dict[str, list[tuple[Any, ...]]]:
    return {sheet.title: list(sheet.values) for sheet in load_workbook(BytesIO(answer.content))}
