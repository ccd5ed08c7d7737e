"""Two properties side by side: one given to a viewer, and one that must stay hidden.

Whatever is of the hidden one carries HIDDEN in its words and a row number that begins with
HIDDEN_PK, so that a page which lets anything of it through can be told by reading it."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.apps import apps
from django.contrib.auth.models import User

from materials.models import Kit, Lot, Movement
from properties.models import Property
from tests import factories as make

HIDDEN = "Zwielicht"
HIDDEN_PK = 77_000_001


@dataclass
class Side:
    """One property with one of everything on it; `words` go into every text of it."""

    words: str
    pk: int | None
    rows: dict[str, Any] = field(default_factory=dict)

    def put(self, row_name: str, factory: Any, /, **facts: Any) -> Any:
        row = factory(**facts, **({} if self.pk is None else {"pk": self.pk}))
        self.rows[row_name] = row
        return row

    @property
    def property(self) -> Property:
        found: Property = self.rows["property"]
        return found


def make_side(words: str, pk: int | None = None) -> Side:
    side = Side(words, pk)
    _places(side)
    _damage(side)
    _repair(side)
    _looks_and_costs(side)
    return side


def _places(side: Side) -> None:
    words = side.words
    owner = side.put("owner", make.OwnerFactory, name=f"{words} Trust", contact=words, notes=words)
    of = side.put("property", make.PropertyFactory, name=f"{words} Yard", address=f"{words} Lane",
                  notes=words)  # fmt: skip
    make.OwnershipFactory(property=of, owner=owner, note=words)
    building = side.put("building", make.BuildingFactory, property=of, name=f"{words} Barn",
                        notes=words)  # fmt: skip
    elevation = side.put("elevation", make.ElevationFactory, building=building,
                         name=f"{words} side", notes=words)  # fmt: skip
    side.put("member", make.MemberFactory, building=building, elevation=elevation,
             mark=f"{words}-SILL", species=words, notes=words)  # fmt: skip


def _damage(side: Side) -> None:
    words, member = side.words, side.rows["member"]
    side.put("defect", make.DefectFactory, member=member, notes=words, found_by=words,
             cause_note=words)  # fmt: skip
    side.put("plan", make.PlanFactory, defect=side.rows["defect"], notes=words)
    side.put("reading", make.MoistureReadingFactory, member=member, defect=side.rows["defect"],
             note=words, taken_by=words)  # fmt: skip


def _repair(side: Side) -> None:
    words = side.words
    repair = side.put("repair", make.RepairFactory, member=side.rows["member"], done_by=words,
                      notes=words)  # fmt: skip
    repair.defects.add(side.rows["defect"])
    side.put("stage", make.StageFactory, repair=repair, notes=words, done_by=words)
    side.put("labour", make.LabourFactory, repair=repair, who=words)
    side.put("remark", make.KeptRemarkFactory, repair=repair, holds=True, reason=words,
             found=words)  # fmt: skip
    side.put("sign_off", make.SignOffFactory, repair=repair, name=words, note=words)
    side.put("photograph", make.PhotographFactory, repair=repair, caption=words,
             original_name=words)  # fmt: skip


def _looks_and_costs(side: Side) -> None:
    words, member = side.words, side.rows["member"]
    side.put("due", make.DueDateFactory, member=member, set_because=words)
    side.put("round", make.RoundFactory, name=words, notes=words)
    side.put("stop", make.RoundStopFactory, round=side.rows["round"], due=side.rows["due"])
    side.put("inspection", make.InspectionFactory, member=member, looked_by_name=words)
    side.put("cost_line", make.CostLineFactory, building=side.rows["building"], member=member,
             description=words, supplier=words, invoice=words)  # fmt: skip
    side.put("work_rate", make.WorkRateFactory, property=side.property, source=words)
    side.put("work_move", make.WorkMoveFactory, elevation=side.rows["elevation"], reason=words)
    shared = side.put("shared_cost", make.SharedCostFactory, description=words)
    make.CostLineFactory(building=side.rows["building"], shared=shared, description=words)


@dataclass
class World:
    given: Side
    hidden: Side
    viewer: User
    crew: User
    manager: User
    lot: Lot
    movement: Movement
    kit: Kit
    rows: dict[str, Any]

    def of(self, side: Side) -> dict[str, Any]:
        """What an address can be about: on that side, or common to all."""
        return {**self.rows, **side.rows}


def make_world() -> World:
    given, hidden = make_side("Larkfield"), make_side(HIDDEN, HIDDEN_PK)
    lot = make.LotFactory()
    kit = make.KitFactory(product=lot.product)
    sheet = make.SheetRevisionFactory(product=lot.product)
    batch = _shared_batch(sheet, lot, given, hidden)
    crew = make.make_crew()
    draft = make.DraftFactory(user=crew, kept=True, member=given.rows["member"])
    held = make.DraftPhotographFactory(draft=draft)
    # The stranger sees the hidden property only, so the viewer has no business with the name.
    stranger = make.make_viewer(hidden.property, last_name=f"{HIDDEN} the tenant")
    movement = lot.movements.get(kind=Movement.Kind.RECEIVED)
    rule = make.DueRuleFactory()
    rows = {
        "lot": lot, "movement": movement, "kit": kit, "product": lot.product, "batch": batch,
        "draft": draft, "held": held, "rule": rule, "user": stranger, "person": stranger.person,
        "price_index": make.PriceIndexYearFactory().index,
        "feed": make.CalendarFeedFactory(user=crew),
    }  # fmt: skip
    return World(
        given, hidden, make.make_viewer(given.property), crew, make.make_manager(), lot, movement,
        kit, rows,
    )  # fmt: skip


def _shared_batch(sheet: Any, lot: Lot, *sides: Side) -> Any:
    """One batch that went into a repair of each side: the honest way in which they touch."""
    batch = make.BatchFactory(sheet=sheet, mixed_for=sides[0].rows["stage"])
    make.BatchPartFactory(batch=batch, lot=lot, amount=Decimal(100))
    for side in sides:
        make.BatchShareFactory(batch=batch, stage=side.rows["stage"], amount=Decimal(50))
    return batch


def all_rows() -> dict[str, list[Any]]:
    """Every row of every record, to tell whether anything at all was changed."""
    ours = {"materials", "properties", "repairs"}
    models = [model for model in apps.get_models() if model._meta.app_label in ours]
    kept = {model.__name__: list(model._base_manager.order_by("pk").values()) for model in models}
    people = User.objects.order_by("pk").values("pk", "username", "password", "is_active")
    return {**kept, "User": list(people)}
