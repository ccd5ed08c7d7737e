"""The years ahead of the example: rates, a round of today, and one scaffold for a whole face."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import uuid4

from properties.models import Elevation, Member
from repairs.demo.places import Places
from repairs.due.first_looks import set_first_looks
from repairs.models import DueDate, WorkMove, WorkRate
from repairs.rounds.act import make_round

if TYPE_CHECKING:
    from django.contrib.auth.models import User

QUOTED = "Quotation 12 of Example Painters (invented)"


def look_ahead(at: datetime, places: Places, manager: User, crew: User) -> None:
    unlooked = Member.objects.exclude(due_dates__in=DueDate.objects.outstanding())
    set_first_looks(list(unlooked.with_place()), manager)
    _rates(places)
    _one_scaffold(at.date(), places, manager)
    _round_of_today(at, places, manager, crew)


def _rates(places: Places) -> None:
    for what, per, low, likely, high in (
        ("look", "member", None, 600, None),
        ("repair", "member", 24000, 32000, 52000),
        ("ladder", "elevation", None, 9000, None),
        ("tower", "elevation", 32000, 38000, 45000),
    ):
        WorkRate.objects.create(
            property=places.granary, what=what, per=per, low_minor=low, likely_minor=likely,
            high_minor=high, source=QUOTED,
        )  # fmt: skip


def _one_scaffold(today: date, places: Places, manager: User) -> None:
    """Where the sills are overdue and the gable follows a year later."""
    west = Elevation.objects.get(building__property=places.granary, name="West",
                                 building__name="Granary")  # fmt: skip
    WorkMove.objects.create(
        property=places.granary, elevation=west, kind=WorkMove.Kind.BOTH,
        first_year=today.year, last_year=today.year + 1, to_year=today.year + 1,
        reason="One scaffold for sills and gable", made_by=manager,
    )  # fmt: skip


def _round_of_today(at: datetime, places: Places, manager: User, crew: User) -> None:
    today = places.granary.day_of(at)
    looks = DueDate.objects.reminding(today).looks()
    nearly = looks.filter(due_on__lte=today + timedelta(days=30)).order_by("due_on")
    here = nearly.filter(member__building__property=places.granary)
    dues = [due.pk for due in here]
    make_round(f"{places.granary.name}: what is due", today, crew, dues, manager, uuid4())
