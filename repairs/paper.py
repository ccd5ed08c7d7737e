"""Turning a page's HTML into a PDF, on A4 or US Letter, without fetching anything from outside."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlparse

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.text import slugify

SHEETS = {"a4": "A4", "letter": "US Letter"}


def chosen_sheet(request: HttpRequest) -> str:
    """The paper asked for in the address, A4 unless it names another that there is."""
    sheet = request.GET.get("paper", "a4")
    return sheet if sheet in SHEETS else "a4"


def local_files_only(url: str, *args: Any, **kwargs: Any) -> dict[str, Any]:
    """WeasyPrint's fetcher: pictures from the media folder and the house styles, nothing else."""
    parsed = urlparse(url)
    path = Path(unquote(parsed.path)).resolve()
    allowed = [Path(settings.MEDIA_ROOT).resolve(), (settings.BASE_DIR / "config" / "static")]
    if parsed.scheme != "file" or not any(path.is_relative_to(folder) for folder in allowed):
        raise ValueError(f"A document may not fetch {url}")
    return {"file_obj": path.open("rb")}


def stylesheets(sheet: str) -> list[Any]:
    from weasyprint import CSS

    names = ("pdf.css", f"pdf-{sheet}.css")
    return [CSS(filename=finders.find(name)) for name in names]


def pdf_from_html(html: str, sheet: str) -> bytes:
    # WeasyPrint takes most of a second to import; only documents pay for it.
    from weasyprint import HTML

    document = HTML(string=html, base_url=str(settings.MEDIA_ROOT), url_fetcher=local_files_only)
    pdf: bytes = document.write_pdf(
        stylesheets=stylesheets(sheet), pdf_variant="pdf/ua-1", optimize_images=True
    )
    return pdf


def pdf_response(template: str, context: dict[str, Any], sheet: str, name: str) -> HttpResponse:
    html = render_to_string(template, context)
    response = HttpResponse(pdf_from_html(html, sheet), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{slugify(name) or "document"}.pdf"'
    return response
