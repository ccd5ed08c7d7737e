"""A long document set in parts, so that memory holds one part at a time, and bound into one PDF.

The parts are set without page numbers; once all are set, the contents are set with the pages
found, and a stamp with 'page x of y' is laid on each page. The tags of the parts are joined into
one tree, so that the whole reads aloud as a single document."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any

from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    Fit,
    IndirectObject,
    NameObject,
    NumberObject,
)

from repairs.paper import only_these, stylesheets

# A link to a page of another part; its address is turned into that page when all is bound.
ELSEWHERE = "elsewhere:"
TAGGED = re.compile(rb"/\w+\s*<<\s*/MCID \d+\s*>>\s*BDC")
NO_NUMBER = "@page { @bottom-right { content: none } }"
ONLY_NUMBER = """
@page { @top-left { content: none; border: none } @top-right { content: none; border: none }
        @bottom-left { content: none } }
"""


@dataclass(frozen=True)
class Pages:
    """Where each anchor stands, counted from 1, and how many pages there are."""

    total: int = 0
    of: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class SetPart:
    pdf: bytes
    count: int
    anchors: dict[str, int]


def bound(
    parts: Sequence[str], front: Callable[[Pages], str], sheet: str, pictures: Mapping[str, bytes]
) -> bytes:
    """`parts` are whole HTML pages; `front` makes the cover and contents for the pages found."""
    bodies = [_set(html, sheet, pictures) for html in parts]
    cover = _set(front(Pages()), sheet, pictures)
    while True:
        pages = _pages(cover.count, bodies)
        set_again = _set(front(pages), sheet, pictures)
        # Wider numbers can push the contents over to one more page.
        if set_again.count == cover.count:
            break
        cover = set_again
    writer = PdfWriter(clone_from=BytesIO(set_again.pdf))
    while bodies:
        # Let go of as soon as it is bound: the photographs weigh.
        _append(writer, PdfReader(BytesIO(bodies.pop(0).pdf)))
    _join_links(writer, pages)
    _stamp(writer, sheet)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def _set(html: str, sheet: str, pictures: Mapping[str, bytes], extra: str = NO_NUMBER) -> SetPart:
    from weasyprint import CSS, HTML

    page = HTML(string=html, url_fetcher=only_these(pictures))
    styles = [*stylesheets(sheet), CSS(string=extra)]
    document = page.render(stylesheets=styles, pdf_variant="pdf/ua-1")
    anchors: dict[str, int] = {}
    for place, each in enumerate(document.pages):
        for name in each.anchors:
            # A section that runs over several pages begins on the first of them.
            anchors.setdefault(name, place)
    return SetPart(document.write_pdf(pdf_variant="pdf/ua-1"), len(document.pages), anchors)


def _pages(start: int, bodies: Sequence[SetPart]) -> Pages:
    found: dict[str, int] = {}
    for body in bodies:
        found |= {name: start + place + 1 for name, place in body.anchors.items()}
        start += body.count
    return Pages(start, found)


def _append(writer: PdfWriter, reader: PdfReader) -> None:
    """Pages, bookmarks and tags of a part, behind those already there."""
    before = len(writer.pages)
    tags = _tags(writer.root_object)
    numbers = tags["/ParentTree"]["/Nums"]
    offset = numbers[-2] + 1 if numbers else 0
    writer.append(reader)
    part = _tags(reader.root_object)
    tops = part["/K"].clone(writer)
    for top in tops:
        top.get_object()[NameObject("/P")] = tags.indirect_reference
        tags["/K"].append(top)
    keys = part["/ParentTree"]["/Nums"]
    for place in range(0, len(keys), 2):
        numbers.append(NumberObject(keys[place] + offset))
        numbers.append(keys[place + 1].clone(writer))
    for page, as_set in zip(writer.pages[before:], reader.pages, strict=True):
        # Left out when a page is copied, since it has no meaning without the tree.
        page[NameObject("/StructParents")] = NumberObject(
            int(str(as_set["/StructParents"])) + offset
        )
        for annotation in page.get("/Annots", ()):
            link = annotation.get_object()
            link[NameObject("/StructParent")] = NumberObject(link["/StructParent"] + offset)


def _tags(root: Any) -> Any:
    return root["/StructTreeRoot"].get_object()


def _join_links(writer: PdfWriter, pages: Pages) -> None:
    for page in writer.pages:
        for annotation in _links(page):
            name = str(annotation["/A"]["/URI"]).removeprefix(ELSEWHERE)
            target = writer.pages[pages.of[name] - 1]
            annotation[NameObject("/Dest")] = ArrayObject(
                [target.indirect_reference, NameObject(Fit.fit().fit_type)]
            )
            del annotation["/A"]


def _links(page: PageObject) -> Iterator[Any]:
    for each in page.get("/Annots", ()):
        annotation = each.get_object()
        if str(annotation.get("/A", {}).get("/URI", "")).startswith(ELSEWHERE):
            yield annotation


def _stamp(writer: PdfWriter, sheet: str) -> None:
    """'Page x of y' on each page, drawn as on any document of ours.

    Laid on as a drawing of its own, so that no page has to be read in again."""
    leaves = "<div class='new-page'></div>" * len(writer.pages)
    html = f"<!doctype html><html lang='en'><title>Numbers</title><body>{leaves}"
    stamps = PdfReader(BytesIO(_set(html, sheet, {}, ONLY_NUMBER).pdf))
    before, after = _stream(writer, b"q"), "Q q {} Do Q"
    for number, (page, stamp) in enumerate(zip(writer.pages, stamps.pages, strict=True)):
        name = f"/PageNumber{number}"
        resources: Any = page["/Resources"]
        drawings = resources.setdefault(NameObject("/XObject"), DictionaryObject())
        drawings.get_object()[NameObject(name)] = _drawing(writer, stamp)
        shown: Any = page.raw_get("/Contents")
        contents = shown if isinstance(shown.get_object(), ArrayObject) else [shown]
        page[NameObject("/Contents")] = ArrayObject(
            [before, *contents, _stream(writer, after.format(name).encode())]
        )


def _drawing(writer: PdfWriter, stamp: PageObject) -> IndirectObject:
    drawn: Any = stamp["/Contents"]
    form = DecodedStreamObject()
    # A page number is no part of the text: it carries no tag of its own.
    form.set_data(TAGGED.sub(b"/Artifact BMC", drawn.get_data()))
    form[NameObject("/Type")] = NameObject("/XObject")
    form[NameObject("/Subtype")] = NameObject("/Form")
    form[NameObject("/BBox")] = ArrayObject(stamp.mediabox)
    form[NameObject("/Resources")] = stamp.raw_get("/Resources").clone(writer)
    return writer._add_object(form)


def _stream(writer: PdfWriter, data: bytes) -> IndirectObject:
    stream = DecodedStreamObject()
    stream.set_data(data)
    return writer._add_object(stream)
