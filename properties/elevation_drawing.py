"""An elevation as a line drawing: its members in courses from the eaves to the ground, each drawn
by its kind, with the spots of its open defects hatched.

It is a sketch by kind and order, not to scale: nobody records where on the face a member is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from properties.classes import URGENCY_WORDS
from properties.models import Defect, Member

Kind = Member.Kind


@dataclass(frozen=True)
class Box:
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True)
class Shape:
    """A drawing's size, the timber in it, and the lines that make it a sash or a door."""

    name: str
    width: int
    height: int
    timber: Box
    lines: tuple[str, ...] = ()

    def spot(self, zone: str) -> Box:
        """Where on the timber a zone is, as seen from outside facing the wall."""
        box = self.timber
        third, half = box.width // 3, box.height // 2
        return {
            "left": Box(box.x, box.y, third, box.height),
            "mid": Box(box.x + third, box.y, third, box.height),
            "right": Box(box.x + 2 * third, box.y, third, box.height),
            "upper": Box(box.x, box.y, box.width, half),
            "lower": Box(box.x, box.y + half, box.width, half),
        }.get(zone, box)


LONG = Shape("long", 180, 34, Box(2, 8, 176, 18))
UPRIGHT = Shape("upright", 60, 110, Box(20, 3, 20, 104))
OPENING = Shape("opening", 90, 110, Box(5, 3, 80, 104), ("M15 13H75V97H15Z", "M45 13V97M15 55H75"))
DOORWAY = Shape("doorway", 80, 110, Box(8, 3, 64, 104), ("M17 12V107M63 12V107M17 12H63",))
END = Shape("end", 60, 50, Box(10, 8, 40, 34), ("M10 8L50 42M50 8L10 42",))

SHAPES = {
    Kind.POST: UPRIGHT, Kind.JAMB: UPRIGHT, Kind.CORNER_BOARD: UPRIGHT,
    Kind.SASH: OPENING, Kind.WINDOW_FRAME: OPENING,
    Kind.DOOR: DOORWAY, Kind.DOOR_FRAME: DOORWAY,
    Kind.BEAM_END: END, Kind.RAFTER_TAIL: END, Kind.POST_BASE: END, Kind.BRACKET: END,
}  # fmt: skip
COURSES = (
    ("Roof edge", (Kind.BARGEBOARD, Kind.FASCIA, Kind.SOFFIT, Kind.RAFTER_TAIL)),
    ("Frame", (Kind.BEAM, Kind.BEAM_END, Kind.BRACKET, Kind.POST)),
    ("Wall", (Kind.CORNER_BOARD, Kind.CLADDING, Kind.OTHER)),
    (
        "Openings",
        (Kind.LINTEL, Kind.WINDOW_FRAME, Kind.SASH, Kind.JAMB, Kind.DOOR_FRAME, Kind.DOOR),
    ),
    ("Sills and rails", (Kind.SILL, Kind.THRESHOLD, Kind.HANDRAIL)),
    ("At the ground", (Kind.POST_BASE,)),
)  # fmt: skip


@dataclass(frozen=True)
class DrawnMember:
    member: Member
    shape: Shape
    spots: tuple[Box, ...]
    state: str
    words: str

    @property
    def key(self) -> str:
        return f"member-{self.member.pk}"


@dataclass(frozen=True)
class Course:
    name: str
    members: tuple[DrawnMember, ...]


def draw(members: Iterable[Member], defects: Iterable[Defect]) -> list[Course]:
    """The courses that have members; `defects` are the open ones of these members."""
    by_member: dict[int, list[Defect]] = {}
    for defect in defects:
        by_member.setdefault(defect.member_id, []).append(defect)
    drawn = [_drawn(member, by_member.get(member.pk, [])) for member in members]
    courses = [
        Course(name, tuple(each for each in drawn if each.member.kind in kinds))
        for name, kinds in COURSES
    ]
    return [course for course in courses if course.members]


def _drawn(member: Member, defects: Sequence[Defect]) -> DrawnMember:
    shape = SHAPES.get(Kind(member.kind), LONG)
    spots = tuple(shape.spot(zone) for zone in sorted({defect.zone for defect in defects}))
    return DrawnMember(member, shape, spots, *_state(defects))


def _state(defects: Sequence[Defect]) -> tuple[str, str]:
    """A shape and words for the open defects; of none, only that none is recorded."""
    if not defects:
        return "", "No open defect"
    urgency = max(defect.urgency for defect in defects)
    counted = "1 open defect" if len(defects) == 1 else f"{len(defects)} open defects"
    words = f"{counted}, {URGENCY_WORDS.get(urgency, 'urgency not recorded')}"
    return {"UC3": "overdue", "UC2": "due"}.get(urgency, "open"), words
