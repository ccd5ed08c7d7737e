"""The sheet that is taken along on a round."""

from __future__ import annotations

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from config.quantities import UnitSystem
from properties.signed_in import signed_in
from properties.units import units_for
from repairs.access import find_round
from repairs.paper import chosen_sheet
from repairs.rounds.sheet import round_sheet
from repairs.rounds.sheet_pdf import round_sheet_pdf


@require_safe
@permission_required("repairs.view_round", raise_exception=True)
def round_sheet_file(request: HttpRequest, pk: int) -> HttpResponse:
    round, user = find_round(request.user, pk), signed_in(request)
    sheet = round_sheet(round, timezone.localdate())
    of = sheet.groups[0].place.property if sheet.groups else None
    usual = "letter" if units_for(user, of) == UnitSystem.US else "a4"
    made_by = user.get_full_name() or user.get_username()
    pdf = round_sheet_pdf(sheet, made_by, chosen_sheet(request, usual))
    name = slugify(f"round {round.name} {round.walk_on}") or "round"
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
