"""Who may open which address: the table that tests/test_access.py holds the URLconf to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from tests.two_properties import Side, World

VIEWER, CREW, MANAGER = "viewer", "crew", "manager"
ALL, WORKERS, MANAGERS = (VIEWER, CREW, MANAGER), (CREW, MANAGER), (MANAGER,)
SEEN, LED_ON, REFUSED, NOT_FOUND, ONLY_POST = 200, 302, 403, 404, 405
EXPORTS = ("_export=csv", "_export=xlsx")


@dataclass(frozen=True)
class Address:
    """Which roles open it, and what its arguments are about: each argument names something of
    the small world, or is a word that stands in the address itself (written with an `=`)."""

    who: tuple[str, ...]
    about: dict[str, str] = field(default_factory=dict)
    queries: tuple[str, ...] = ("",)
    only_post: bool = False
    leads_on: bool = False  # it shows nothing itself, and leads to another page
    own: str = ""  # the role whose own thing it is; nobody else finds it

    def of_one_property(self) -> bool:
        return bool(set(self.about.values()) & PLACED)

    def kwargs(self, world: World, side: Side) -> dict[str, Any]:
        rows = world.of(side)
        return {name: _argument(value, rows) for name, value in self.about.items()}


PLACED = {
    "property", "building", "elevation", "member", "defect", "plan", "repair",
    "remark", "photograph", "due", "inspection", "round", "stop", "work_move", "cost_line",
    "shared_cost", "owner",
}  # fmt: skip


def _argument(value: str, rows: dict[str, Any]) -> Any:
    if value.startswith("="):
        return value[1:]
    return rows[value].key if value in {"draft", "feed"} else rows[value].pk


def of(name: str) -> dict[str, str]:
    return {"pk": name}


ADDRESSES: dict[str, Address | tuple[Address, ...]] = {
    # People
    "log-out": Address(ALL, only_post=True),
    "password-change": Address(ALL),
    "password-changed": Address(ALL),
    "person-list": Address(MANAGERS),
    "person-new": Address(MANAGERS),
    "person-edit": Address(MANAGERS, of("user")),
    "record-list": Address(ALL),
    "calendar-feeds": Address(ALL, queries=("", "property=77000001")),
    "calendar-renew": Address(ALL, {"key": "feed"}, only_post=True, own=CREW),
    "calendar-remove": Address(ALL, {"key": "feed"}, only_post=True, own=CREW),
    "mail-choices": Address(ALL),
    "change-log": (
        *(
            Address(ALL, {"model": f"={model}", "pk": row})
            for model, row in {
                "property": "property",
                "building": "building",
                "elevation": "elevation",
                "member": "member",
                "defect": "defect",
                "repair": "repair",
                "plan": "plan",
                "inspection": "inspection",
                "due-date": "due",
            }.items()
        ),
        *(
            Address(WORKERS, {"model": f"={model}", "pk": row})
            for model, row in {
                "owner": "owner",
                "batch": "batch",
                "rule": "rule",
                "price-index": "price_index",
                "product": "product",
                "lot": "lot",
                "shared-cost": "shared_cost",
                "round": "round",
            }.items()
        ),
        Address(MANAGERS, {"model": "=person", "pk": "person"}),
    ),
    # Places
    "property-list": Address(ALL, queries=("", "show=all", *EXPORTS)),
    "property-detail": Address(ALL, of("property")),
    "property-new": Address(MANAGERS),
    "property-edit": Address(MANAGERS, of("property")),
    "property-change-owner": Address(MANAGERS, of("property")),
    "property-give-up": Address(MANAGERS, of("property")),
    "monthly-normals": Address(ALL, of("property")),
    "weather-file": Address(ALL, of("property")),
    "weather-remove": Address(MANAGERS, of("property"), only_post=True),
    "owner-list": Address(ALL, queries=("", *EXPORTS)),
    "owner-detail": Address(ALL, of("owner")),
    "owner-new": Address(MANAGERS),
    "owner-edit": Address(MANAGERS, of("owner")),
    "building-new": Address(MANAGERS, of("property")),
    "building-detail": Address(ALL, of("building"), ("", "show=all")),
    "building-edit": Address(MANAGERS, of("building")),
    "building-lots": Address(WORKERS, of("building")),
    "elevation-new": Address(MANAGERS, of("building")),
    "elevation-detail": Address(ALL, of("elevation")),
    "elevation-edit": Address(MANAGERS, of("elevation")),
    "member-new": Address(MANAGERS, of("building")),
    "member-detail": Address(ALL, of("member")),
    "member-edit": Address(MANAGERS, of("member")),
    "member-replace": Address(MANAGERS, of("member")),
    "defect-list": Address(ALL, queries=("", *EXPORTS)),
    "defect-new": Address(WORKERS, of("member")),
    "defect-detail": Address(ALL, of("defect")),
    "defect-edit": Address(WORKERS, of("defect")),
    "moisture-new": Address(WORKERS, of("member")),
    # Repairs
    "today": Address(ALL),
    "repair-list": Address(ALL, queries=("", *EXPORTS)),
    "repair-lives": Address(ALL, queries=("", "against=exposure:severe")),
    "repair-lives-file": tuple(
        Address(ALL, {"kind": f"={kind}"}) for kind in ("pdf", "xlsx", "csv")
    ),
    "repair-detail": Address(ALL, of("repair")),
    "repair-log": Address(WORKERS),
    "member-search": Address(WORKERS),
    "repair-sign-off": Address(WORKERS, of("repair")),
    "repair-finish": Address(WORKERS, of("repair")),
    "repair-withdraw": Address(MANAGERS, of("repair")),
    "repair-release": Address(WORKERS, {"pk": "repair", "remark_pk": "remark"}),
    "draft-list": Address(WORKERS),
    "draft-throw-away": Address(WORKERS, {"key": "draft"}, only_post=True, own=CREW),
    "photograph-file": Address(ALL, of("photograph"), ("", "size=small")),
    "draft-photograph-file": Address(ALL, of("held"), ("", "size=small"), own=CREW),
    # Plans
    "plan-new": Address(WORKERS, of("defect")),
    "plan-figures": Address(WORKERS, of("defect"), only_post=True),
    "plan-list": Address(ALL, queries=("", *EXPORTS)),
    "plan-detail": Address(ALL, of("plan")),
    "plan-edit": Address(WORKERS, of("plan")),
    "plan-drop": Address(WORKERS, of("plan"), only_post=True),
    "plan-sheet": Address(ALL, of("plan")),
    # Inspections
    "inspection-list": Address(ALL, queries=("", "state=done", "state=off", *EXPORTS)),
    "inspection-calendar": Address(ALL),
    "inspection-new": Address(WORKERS),
    "inspection-detail": Address(ALL, of("inspection")),
    "due-detail": Address(ALL, of("due")),
    "due-edit": Address(MANAGERS, of("due")),
    "due-new": Address(MANAGERS, of("member")),
    "rule-list": Address(ALL),
    "rule-dates": Address(MANAGERS, queries=("", "property=77000001")),
    "rule-new": Address(MANAGERS),
    "rule-edit": Address(MANAGERS, of("rule")),
    "rule-move": Address(MANAGERS, of("rule"), only_post=True),
    "member-interval": Address(MANAGERS, of("member")),
    # Rounds
    "round-list": Address(WORKERS, queries=("", "state=ended")),
    "round-new": Address(WORKERS, queries=("", "until=2027-01-01")),
    "round-detail": Address(WORKERS, of("round")),
    "round-edit": Address(WORKERS, of("round")),
    "round-end": Address(WORKERS, of("round")),
    "round-walk": Address(WORKERS, of("round"), leads_on=True),
    "round-stop": Address(WORKERS, {"pk": "round", "stop": "stop"}),
    "round-sheet": Address(WORKERS, of("round")),
    # The years ahead
    "ahead-list": Address(ALL, queries=("", "years=30&rise=3")),
    "ahead-list-file": tuple(Address(ALL, {"kind": f"={kind}"}) for kind in ("pdf", "xlsx", "csv")),
    "ahead-property": Address(ALL, of("property"), ("", "years=30&rise=3&year=2030")),
    "ahead-property-file": tuple(
        Address(ALL, {**of("property"), "kind": f"={kind}"}) for kind in ("pdf", "xlsx", "csv")
    ),
    "work-rates": Address(ALL, of("property")),
    "work-move-new": Address(MANAGERS, of("property")),
    "work-move-drop": Address(MANAGERS, of("work_move"), only_post=True),
    # Costs and history
    "cost-list": Address(ALL, queries=("", *EXPORTS)),
    "cost-portfolio": Address(ALL),
    "cost-portfolio-file": tuple(Address(ALL, {"kind": f"={kind}"}) for kind in ("pdf", "xlsx")),
    "cost-property": Address(ALL, of("property")),
    "cost-property-file": tuple(
        Address(ALL, {**of("property"), "kind": f"={kind}"}) for kind in ("pdf", "xlsx")
    ),
    "cost-building": Address(ALL, of("building")),
    "cost-building-file": tuple(
        Address(ALL, {**of("building"), "kind": f"={kind}"}) for kind in ("pdf", "xlsx")
    ),
    "cost-line-list": Address(ALL, queries=("", *EXPORTS)),
    "cost-line-detail": Address(ALL, of("cost_line")),
    "cost-line-new": Address(MANAGERS, of("building")),
    "cost-shared-new": Address(MANAGERS, of("building")),
    "cost-shared-detail": Address(ALL, of("shared_cost")),
    "cost-shared-credit": Address(MANAGERS, of("shared_cost")),
    "cost-shared-take-back": Address(MANAGERS, of("shared_cost")),
    "cost-line-reverse": Address(MANAGERS, of("cost_line")),
    "price-index-list": Address(MANAGERS),
    "price-index-new": Address(MANAGERS),
    "price-index-detail": Address(MANAGERS, of("price_index")),
    "price-index-edit": Address(MANAGERS, of("price_index")),
    "price-index-load": Address(MANAGERS, of("price_index")),
    "history-page": Address(ALL, of("property"), ("", "all_owners=on")),
    "history-pdf": Address(ALL, of("property"), ("", "all_owners=on")),
    # Stores
    "store-list": Address(WORKERS, queries=("", *EXPORTS)),
    "recall-choose": Address(WORKERS),
    "recall": tuple(
        Address(WORKERS, {"what": f"={what}", "pk": what}) for what in ("lot", "product")
    ),
    "recall-file": tuple(
        Address(WORKERS, {"what": "=lot", "pk": "lot", "kind": f"={kind}"})
        for kind in ("pdf", "xlsx", "csv")
    ),
    "recall-looks": Address(MANAGERS, {"what": "=lot", "pk": "lot"}),
    "lot-receive": Address(MANAGERS),
    "lot-detail": Address(WORKERS, of("lot")),
    "lot-edit": Address(MANAGERS, of("lot")),
    "lot-count": Address(WORKERS, of("lot")),
    "lot-waste": Address(WORKERS, of("lot")),
    "lot-discard": Address(MANAGERS, of("lot")),
    "lot-move": Address(WORKERS, of("lot")),
    "lot-open": Address(WORKERS, of("lot")),
    "lot-hold-back": Address(MANAGERS, of("lot")),
    "lot-release": Address(MANAGERS, of("lot")),
    "movement-correct": Address(MANAGERS, {"pk": "lot", "movement_pk": "movement"}),
    "product-list": Address(WORKERS, queries=("", *EXPORTS)),
    "product-new": Address(MANAGERS),
    "product-detail": Address(WORKERS, of("product")),
    "product-edit": Address(MANAGERS, of("product")),
    "sheet-new": Address(MANAGERS, of("product")),
    "kit-new": Address(MANAGERS, of("product")),
    "kit-edit": Address(MANAGERS, of("kit")),
}
# What a stranger opens; a calendar only by its secret address.
FOR_STRANGERS = {"log-in", "calendar-file"}
