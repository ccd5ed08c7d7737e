"""A property's history as a PDF: its parts in order, pictures at print size, a version."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from io import BytesIO
from typing import Any

from django.core.files.storage import Storage, default_storage
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from PIL import Image, UnidentifiedImageError

from properties.classes import (
    EN_335_STATUS,
    EN_16096_STATUS,
    ISO_2409_STATUS,
    ISO_4628_STATUS,
)
from repairs.history.dossier import BuildingTold, Dossier, MemberTold, dossier_of
from repairs.history.parts import ELSEWHERE, Pages, bound
from repairs.history.scope import Scope, ownership_on
from repairs.history.telling import RepairTold
from repairs.history.unknowns import gaps
from repairs.paper import pdf_from_html
from repairs.remarks.repair_rules import lead_ban

# Half a page's width is 83 mm: 200 dots to the inch is as much as a print shows.
PRINT_PIXELS = 660
SCHEME = "photograph:"
MOST_LETTERS = 6
# Up to this much is set at once; a longer history is set in parts (measured: a page of layout
# takes about 3 MB until it is written).
SHORT_REPAIRS, SHORT_ENTRIES = 60, 1000
REPAIRS_AT_ONCE = 25
ENTRIES_AT_ONCE = 500
STANDARDS = (
    f"Condition and urgency classes: {EN_16096_STATUS}",
    f"Ratings of coatings, 0 nothing to 5 worst: {ISO_4628_STATUS}",
    f"Cross-cut, 0 best to 5 worst: {ISO_2409_STATUS}",
    f"Use classes: {EN_335_STATUS}",
)


@dataclass(frozen=True)
class MemberSlice:
    """A member with some of its repairs; the first slice has its facts, the last its end."""

    told: MemberTold
    repairs: tuple[RepairTold, ...]
    begins: bool
    ends: bool


@dataclass(frozen=True)
class Part:
    """A stretch of the document, and the chapter that it carries on, if it begins none."""

    html: str
    chapter: str = ""


@dataclass(frozen=True)
class ContentsLine:
    address: str
    words: str
    page: int | None
    under: tuple[ContentsLine, ...] = ()


@dataclass(frozen=True)
class HistoryParts:
    """The document before it is set, and the pictures that it asks for."""

    dossier: Dossier
    parts: tuple[Part, ...]
    pictures: dict[str, bytes]
    context: dict[str, Any]

    @property
    def is_long(self) -> bool:
        return is_long(self.dossier)


def history_pdf(scope: Scope, made_by: str, sheet: str) -> bytes:
    history = history_parts(scope, made_by)
    if not history.is_long:
        return pdf_from_html(whole(history), sheet, history.pictures)
    pages = [_page_of(part, history) for part in history.parts]
    return bound(pages, partial(_front, history), sheet, history.pictures)


def history_parts(scope: Scope, made_by: str) -> HistoryParts:
    dossier = dossier_of(scope)
    pictures = print_pictures((each.source for each in dossier.pictures), default_storage)
    context = _context(dossier, made_by) | {"stored": pictures, "linked": not is_long(dossier)}
    parts = tuple(_parts(dossier, context))
    context["version"] = f"{scope.on:%-d %B %Y}, {fingerprint(parts, dossier)}"
    by_address = {f"{SCHEME}{name}": picture for name, picture in pictures.items()}
    return HistoryParts(dossier, parts, by_address, context)


def whole(history: HistoryParts) -> str:
    """The HTML of a document that is set at once."""
    body = SafeString("".join(part.html for part in history.parts))
    return _front(history, None, body)


def is_long(dossier: Dossier) -> bool:
    return dossier.repair_count > SHORT_REPAIRS or len(dossier.entries) > SHORT_ENTRIES


def _front(history: HistoryParts, pages: Pages | None, body: str = "") -> str:
    contents = tuple(_contents(history.dossier, pages))
    context = history.context | {"body": body, "pages": pages, "contents": contents}
    return render_to_string("repairs/history_pdf.html", context)


def _page_of(part: Part, history: HistoryParts) -> str:
    context = history.context | {"chapter": part.chapter, "body": SafeString(part.html)}
    return render_to_string("repairs/_history_part.html", context)


def _context(dossier: Dossier, made_by: str) -> dict[str, Any]:
    scope = dossier.scope
    return {
        "dossier": dossier,
        "scope": scope,
        "property": scope.of,
        "owner": ownership_on(dossier.ownerships, scope.as_at),
        "holds": _holds(dossier),
        "gaps": gaps(dossier),
        "made_by": made_by,
        "lead_ban": lead_ban(scope.of.lead_paint_ban_year, scope.of.country),
        "standards": STANDARDS,
    }


def _holds(dossier: Dossier) -> str:
    counts = (
        (len(dossier.buildings), "building"),
        (dossier.member_count, "member"),
        (dossier.repair_count, "repair"),
        (dossier.look_count, "inspection"),
        (len(dossier.pictures), "photograph"),
    )
    return ", ".join(f"{count} {word}{'' if count == 1 else 's'}" for count, word in counts)


def _parts(dossier: Dossier, context: dict[str, Any]) -> Iterator[Part]:
    def part(name: str, chapter: str = "", **extra: Any) -> Part:
        return Part(render_to_string(f"repairs/_history_{name}.html", context | extra), chapter)

    yield part("begin")
    if not dossier.buildings:
        yield part("no_building")
    for each in dossier.buildings:
        yield part("building", each=each)
        for slices in _groups(each):
            yield part("group", each.building.name, slices=slices)
    starts = range(0, max(len(dossier.entries), 1), ENTRIES_AT_ONCE)
    for start in starts:
        entries = dossier.entries[start : start + ENTRIES_AT_ONCE]
        chapter = "" if start == 0 else "Register of all entries by date"
        yield part("register", chapter, entries=entries, begins=start == 0)
    yield part("end")


def _groups(building: BuildingTold) -> Iterator[list[MemberSlice]]:
    """Members one after the other, cut where a group holds as many repairs as are set at once."""
    group: list[MemberSlice] = []
    weight = 0
    for told in building.told:
        for each in _slices(told):
            if group and weight + len(each.repairs) > REPAIRS_AT_ONCE:
                yield group
                group, weight = [], 0
            group.append(each)
            # A member without repairs still takes about half a page.
            weight += max(len(each.repairs), 1)
    if group:
        yield group


def _slices(told: MemberTold) -> Iterator[MemberSlice]:
    repairs: Sequence[RepairTold] = told.repairs
    starts = range(0, max(len(repairs), 1), REPAIRS_AT_ONCE)
    for start in starts:
        some = tuple(repairs[start : start + REPAIRS_AT_ONCE])
        yield MemberSlice(told, some, start == 0, start == starts[-1])


def _contents(dossier: Dossier, pages: Pages | None) -> Iterator[ContentsLine]:
    def line(anchor: str, words: str, *under: ContentsLine) -> ContentsLine:
        if pages is None:
            return ContentsLine(f"#{anchor}", words, None, under)
        return ContentsLine(f"{ELSEWHERE}{anchor}", words, pages.of.get(anchor, 1), under)

    yield line("open", "What was open")
    yield line("owners", "Owners, and how to read this")
    for each in dossier.buildings:
        members = (
            line(f"member-{told.member.pk}",
                 f"{told.member.mark}, {told.member.get_kind_display().lower()}")
            for told in each.told
        )  # fmt: skip
        yield line(f"building-{each.building.pk}", each.building.name, *members)
    yield line("register", "Register of all entries by date")
    yield line("costs", "Costs")
    yield line("not-known", "What is not known")
    yield line("sources", "Sources and cautions")


def fingerprint(parts: Iterable[Part], dossier: Dossier) -> str:
    """The same content gives the same letters, whoever makes it and when."""
    digest = sha256("".join(part.html for part in parts).encode())
    for picture in dossier.pictures:
        digest.update(picture.photograph.sha256.encode())
    return digest.hexdigest()[:MOST_LETTERS]


def print_pictures(names: Iterable[str], storage: Storage) -> dict[str, bytes]:
    """Each picture at print size, by its name in the store; what is missing or broken is left
    out, so that the document can say so."""
    made: dict[str, bytes] = {}
    for name in dict.fromkeys(names):
        try:
            with storage.open(name) as file:
                made[name] = _at_print_size(file)
        except (OSError, UnidentifiedImageError, Image.DecompressionBombError):
            continue
    return made


def _at_print_size(file: Any) -> bytes:
    out = BytesIO()
    with Image.open(file) as image:
        # A JPEG is then read at a fraction of its size, which is most of the time saved.
        image.draft("RGB", (PRINT_PIXELS, PRINT_PIXELS))
        image.thumbnail((PRINT_PIXELS, PRINT_PIXELS))
        image.convert("RGB").save(out, "JPEG", quality=80)
    return out.getvalue()
