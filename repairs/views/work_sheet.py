"""The sheet that a crew takes along for a planned repair."""

from __future__ import annotations

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from config.quantities import UnitSystem
from properties.signed_in import signed_in
from properties.units import units_for
from repairs.access import find_plan
from repairs.paper import chosen_sheet
from repairs.plans.work_sheet import work_sheet_of
from repairs.plans.work_sheet_pdf import work_sheet_pdf


@require_safe
@permission_required("repairs.view_plan", raise_exception=True)
def work_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    plan = find_plan(request.user, pk)
    user = signed_in(request)
    member = plan.defect.member
    units = units_for(user, member.building.property)
    work = work_sheet_of(plan, units, timezone.now())
    paper = chosen_sheet(request, "letter" if units == UnitSystem.US else "a4")
    made_by = user.get_full_name() or user.get_username()
    pdf = work_sheet_pdf(work, made_by, paper)
    name = slugify(f"work sheet {member.mark} {work.planned_on}") or "work-sheet"
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
