"""The small buttons of the log page: each changes what is typed and saves nothing."""

from __future__ import annotations

import re

from django.http import QueryDict

from materials.money import from_minor

from . import log_typed
from .log_known import Known

BLOCK = r"(stage-\d{1,3}(?:-batch-\d{1,3})?|labour-\d{1,3}|cost-\d{1,3})"


def named_act(typed: QueryDict) -> str:
    """Which button was pressed. The Enter key in a field presses the first one of the form:
    then a search that is typed is made, else the repair is saved."""
    if typed.get("take"):
        return "take"
    act = typed.get("act", "save")
    if act == "enter":
        return "find" if typed.get("find") and not typed.get("member") else "save"
    return act


def change(typed: QueryDict, act: str) -> None:
    if act == "choose-again":
        for name in ("member", "defects", "zone", "continues", "plan"):
            typed.pop(name, None)
    elif act == "add-stage":
        log_typed.add_stage(typed)
    elif act in ("add-labour", "add-cost"):
        log_typed.add_line(typed, act.removeprefix("add-"))
    elif match := re.fullmatch(r"(add|repeat)-batch-(\d{1,3})", act):
        log_typed.add_batch(typed, int(match[2]), repeat=match[1] == "repeat")
    elif match := re.fullmatch(rf"drop-{BLOCK}", act):
        log_typed.drop(typed, match[1])
    elif match := re.fullmatch(r"swap-(stage-\d{1,3}-batch-\d{1,3})", act):
        log_typed.swap_amount(typed, match[1])
    for name in ("act", "take"):
        typed.pop(name, None)


def take(typed: QueryDict, known: Known, defect_number: str = "") -> None:
    """Choose the member, and set out what follows from it: its damage, the day where it stands,
    the rate of the last time."""
    if known.member is None:
        return
    asked = [defect for defect in known.defects if str(defect.pk) == defect_number]
    log_typed.take_member(typed, known.member.pk, asked or known.defects)
    if typed.get("stage-0-on") == f"{known.at:%Y-%m-%d}":
        typed["stage-0-on"] = f"{known.today:%Y-%m-%d}"
    offer_last_rate(typed, known)


def offer_last_rate(typed: QueryDict, known: Known) -> None:
    rate = known.last_rate_minor
    if rate is not None and "labour-0-hours" in typed and not typed.get("labour-0-rate"):
        typed["labour-0-rate"] = f"{from_minor(rate, known.currency)}"
