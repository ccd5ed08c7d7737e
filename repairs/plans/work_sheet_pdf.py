"""The work sheet as a PDF, with the newest photograph of the defect or of its member."""

from __future__ import annotations

from django.core.files.storage import default_storage
from django.template.loader import render_to_string

from repairs.history.pdf import SCHEME, print_pictures
from repairs.models import Photograph, Plan
from repairs.paper import pdf_from_html
from repairs.plans.work_sheet import WorkSheet


def work_sheet_pdf(work: WorkSheet, made_by: str, paper: str) -> bytes:
    photograph = photograph_for(work.plan)
    pictures = {}
    if photograph is not None and photograph.file.name:
        stored = print_pictures([photograph.file.name], default_storage)
        pictures = {f"{SCHEME}{name}": picture for name, picture in stored.items()}
    context = {
        "work": work,
        "plan": work.plan,
        "member": work.member,
        "place": work.member.building.property,
        "photograph": photograph if pictures else None,
        "picture": next(iter(pictures), ""),
        "made_by": made_by,
    }
    html = render_to_string("repairs/work_sheet.html", context)
    return pdf_from_html(html, paper, pictures, also=("work-sheet.css",))


def photograph_for(plan: Plan) -> Photograph | None:
    """The newest of the defect itself, else of its member."""
    of_member = Photograph.objects.filter(member=plan.defect.member_id).order_by("-pk")
    return of_member.filter(defect=plan.defect_id).first() or of_member.first()
