"""What a person types into the page of an inspection, and where that page is."""

import uuid
from datetime import UTC, datetime
from typing import Any

from django.urls import reverse

from repairs.models import DueDate, DueRule
from tests import factories as make

NOW = datetime(2026, 6, 4, 10, 0, tzinfo=UTC)
TODAY = NOW.date()


def due_look(**kwargs: Any) -> DueDate:
    repair = make.RepairFactory(member=make.MemberFactory(mark="N-SILL-03"))
    rule = DueRule.objects.get(code="repair-look")
    return make.DueDateFactory(member=repair.member, repair=repair, rule=rule, **kwargs)


def address(**subject: Any) -> str:
    query = "&".join(f"{name}={value}" for name, value in subject.items())
    return f"{reverse('inspection-new')}?{query}"


def typed(due: DueDate | None = None, **changes: Any) -> dict[str, Any]:
    return {
        "key": str(uuid.uuid4()), "looked_on": "2026-06-04", "looked_by_name": "Robin Larch",
        "occasion": "after_repair", "zone": "left", "due": due.pk if due else "",
        "result": "sound", **changes,
    }  # fmt: skip
