"""What a crew member types into the log page, and what the page says."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

NOW = datetime(2026, 5, 6, 15, 0, tzinfo=UTC)
LOG = "/repairs/log/"


def typed(member_, kit, **more):
    """What a crew member types for one sealed member; later names overwrite earlier ones."""
    return {
        "key": str(uuid.uuid4()),
        "member": str(member_.pk),
        "zone": "left",
        "kind": "resin",
        "relation": "auto",
        "finished": "on",
        "done_by": "Robin Larch",
        "stage-0-kind": "seal",
        "stage-0-on": "2026-05-06",
        "stage-0-batch-0-lot": str(kit.pk),
        "stage-0-batch-0-amount": "100 g + 33 g",
        "stage-0-batch-0-mixed": "10:00",
        "stage-0-batch-0-used": "10:30",
        "act": "save",
        **more,
    }


def said(answer) -> str:
    return " ".join(answer.content.decode().split())
