"""A property's history as a PDF: pictures at print size, contents, version, page by page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from typing import Any

from django.core.files.storage import Storage, default_storage
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from PIL import Image, UnidentifiedImageError

from properties.classes import EN_16096_STATUS
from repairs.history.dossier import Dossier, dossier_of
from repairs.history.scope import Scope, ownership_on
from repairs.history.unknowns import gaps
from repairs.paper import pdf_from_html
from repairs.remarks.repair_rules import lead_ban

# Half a page's width is 83 mm: 200 dots to the inch is as much as a print shows.
PRINT_PIXELS = 660
SCHEME = "photograph:"
MOST_LETTERS = 6


@dataclass(frozen=True)
class HistoryHtml:
    """The document before it is set, and the pictures that it asks for."""

    html: str
    pictures: dict[str, bytes]
    version: str


def history_pdf(scope: Scope, made_by: str, sheet: str) -> bytes:
    document = history_html(scope, made_by)
    return pdf_from_html(document.html, sheet, document.pictures)


def history_html(scope: Scope, made_by: str) -> HistoryHtml:
    dossier = dossier_of(scope)
    pictures = print_pictures((each.source for each in dossier.pictures), default_storage)
    context = _context(dossier, made_by) | {"stored": pictures}
    body = render_to_string("repairs/_history_body.html", context)
    version = f"{scope.on:%-d %B %Y}, {fingerprint(body, dossier)}"
    context |= {"body": SafeString(body), "version": version}
    html = render_to_string("repairs/history_pdf.html", context)
    by_address = {f"{SCHEME}{name}": picture for name, picture in pictures.items()}
    return HistoryHtml(html, by_address, version)


def _context(dossier: Dossier, made_by: str) -> dict[str, Any]:
    scope = dossier.scope
    return {
        "dossier": dossier,
        "scope": scope,
        "property": scope.property,
        "owner": ownership_on(dossier.ownerships, scope.as_at),
        "holds": _holds(dossier),
        "gaps": gaps(dossier),
        "made_by": made_by,
        "lead_ban": lead_ban(scope.property.lead_paint_ban_year, scope.property.country),
        "en_16096": EN_16096_STATUS,
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


def fingerprint(body: str, dossier: Dossier) -> str:
    """The same content gives the same letters, whoever makes it and when."""
    digest = sha256(body.encode())
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
