"""A small round at an invented mill, and what a person sends from its pages."""

import uuid
from datetime import UTC, date, datetime
from typing import Any

from django.urls import reverse

from repairs.models import DueDate, Round, RoundStop
from repairs.models.due_dates import DueKind
from tests import factories as make

NOW = datetime(2027, 5, 3, 9, 0, tzinfo=UTC)
TODAY = NOW.date()
DUE_ON = date(2027, 5, 10)


def mill() -> Any:
    return make.BuildingFactory(property__name="Mill Row", name="Granary")


def face(building: Any, name: str, bearing: int | None = None, access: str = "ground") -> Any:
    return make.ElevationFactory(building=building, name=name, bearing_deg=bearing, access=access)


def look_due(elevation: Any, mark: str, **kwargs: Any) -> DueDate:
    member = make.MemberFactory(building=elevation.building, elevation=elevation, mark=mark)
    facts = {"kind": DueKind.MEMBER_LOOK, "due_on": DUE_ON, "counted_from": date(2026, 5, 10)}
    due: DueDate = make.DueDateFactory(member=member, **{**facts, **kwargs})
    return due


def round_of(*dues: DueDate, **kwargs: Any) -> Round:
    kwargs.setdefault("name", "Mill Row, tower")
    kwargs.setdefault("walk_on", TODAY)
    made: Round = make.RoundFactory(**kwargs)
    for position, due in enumerate(dues, 1):
        make.RoundStopFactory(round=made, due=due, position=position)
    return made


def stop_url(stop: RoundStop) -> str:
    return reverse("round-stop", args=[stop.round_id, stop.pk])


def new_round(*dues: DueDate, **changes: Any) -> dict[str, Any]:
    return {
        "key": str(uuid.uuid4()), "name": "Mill Row, tower", "walk_on": "2027-05-03",
        "person": "", "notes": "", "due": [str(due.pk) for due in dues], **changes,
    }  # fmt: skip


def look(**changes: Any) -> dict[str, Any]:
    """The fields of a look as the page of a stop sends them."""
    return {
        "key": str(uuid.uuid4()), "looked_on": TODAY.isoformat(), "looked_by_name": "Robin Larch",
        "occasion": "routine", "zone": "whole", "result": "sound", **changes,
    }  # fmt: skip


def text(answer: Any) -> str:
    """What a page says, its lines run together."""
    return " ".join(answer.content.decode().split())
