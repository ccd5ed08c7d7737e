"""Turning a page's HTML into a PDF, on A4 or US Letter, without fetching anything from outside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.text import slugify

SHEETS = {"a4": "A4", "letter": "US Letter"}


def chosen_sheet(request: HttpRequest, usual: str = "a4") -> str:
    """The paper asked for in the address, the usual one unless it names another that there is."""
    sheet = request.GET.get("paper", usual)
    return sheet if sheet in SHEETS else usual


def only_these(pictures: Mapping[str, bytes]) -> Any:
    """WeasyPrint's fetcher: the JPEGs given, by their addresses, and nothing from anywhere else."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class OnlyThese(URLFetcher):
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url not in pictures:
                raise ValueError(f"A document may not fetch {url}")
            return URLFetcherResponse(url, pictures[url], {"Content-Type": "image/jpeg"})

    return OnlyThese()


def stylesheets(sheet: str, also: Sequence[str] = ()) -> list[Any]:
    from weasyprint import CSS

    names = ("pdf.css", f"pdf-{sheet}.css", *also)
    return [CSS(filename=finders.find(name)) for name in names]


def pdf_from_html(
    html: str,
    sheet: str,
    pictures: Mapping[str, bytes] | None = None,
    also: Sequence[str] = (),
) -> bytes:
    """Tagged, with the title and language of the page. `pictures` are JPEGs by their addresses;
    `also` names style sheets that come after the usual ones."""
    # WeasyPrint takes most of a second to import; only documents pay for it.
    from weasyprint import HTML

    document = HTML(string=html, url_fetcher=only_these(pictures or {}))
    pdf: bytes = document.write_pdf(stylesheets=stylesheets(sheet, also), pdf_variant="pdf/ua-1")
    return pdf


def pdf_response(template: str, context: dict[str, Any], sheet: str, name: str) -> HttpResponse:
    html = render_to_string(template, context)
    response = HttpResponse(pdf_from_html(html, sheet), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{slugify(name) or "document"}.pdf"'
    return response
