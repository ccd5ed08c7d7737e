"""The page of one lot, and what may be done with it."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from materials import stock
from materials.forms import movements as typed
from materials.forms.lot_edit import LotEditForm
from materials.lot_state import read_kit, remaining_in_words
from materials.models import Lot, Movement
from materials.stock import Occasion, StockRefusal
from properties.access import find_building, properties_for
from properties.signed_in import signed_in
from properties.units import units_for
from properties.views.form_page import FormPage, answer_form, sent, show_form, today
from repairs.stories.lot_page import lots_of, story_of
from repairs.stories.lot_trace import batch_of
from repairs.views.stores import RESIN_CAUTIONS

if TYPE_CHECKING:
    from properties.access import Visitor

WRITE = "materials.add_movement"
DECIDE = "materials.change_lot"
FORM = "materials/stores_form.html"


@dataclass(frozen=True)
class Act:
    """One thing that may be done with a lot: what it asks, who may, and what it does."""

    title: str
    lead: str
    save: str
    done: str
    form: type[typed.LotForm]
    do: Callable[[Lot, dict[str, Any], Occasion], object]
    permission: str = WRITE
    on_parts_only: bool = False


ACTS = {
    "count": Act(
        "Count what is left",
        "Type what you find, and the ledger takes the difference.",
        "Save this count",
        "Counted. The ledger says what you found.",
        typed.CountForm,
        lambda lot, data, when: stock.count(lot, data["found"], when),
        on_parts_only=True,
    ),
    "waste": Act(
        "Write off waste",
        "What was lost in the stores, outside any batch.",
        "Write it off",
        "Written off.",
        typed.WasteForm,
        lambda lot, data, when: stock.waste(lot, data["amount"], when),
        on_parts_only=True,
    ),
    "discard": Act(
        "Throw it all away",
        "All that is left of it leaves the stores. What was done with it before stays readable.",
        "Throw all of it away",
        "Thrown away; nothing of it is left in the stores.",
        typed.DiscardForm,
        lambda lot, data, when: stock.discard(lot, when),
        DECIDE,
    ),
    "move": Act(
        "Move it",
        "Where it is kept from now on.",
        "Save the new place",
        "Moved.",
        typed.MoveForm,
        lambda lot, data, when: stock.put_elsewhere(lot, data["place"], when),
    ),
    "open": Act(
        "Open it",
        "The day on which it was first opened; its life once opened runs from then.",
        "Save this day",
        "Opened.",
        typed.OpenForm,
        lambda lot, data, when: stock.open_lot(lot, data["opened_on"]),
    ),
    "hold-back": Act(
        "Hold it back",
        "Nobody should use it until it is released. It stays in the stores.",
        "Hold it back",
        "Held back.",
        typed.HoldBackForm,
        lambda lot, data, when: stock.hold_back(lot, data["reason"]),
        DECIDE,
    ),
    "release": Act(
        "Release it",
        "It may be used again, as far as its expiry goes.",
        "Release it",
        "Released.",
        typed.ReleaseForm,
        lambda lot, data, when: stock.release(lot),
        DECIDE,
    ),
}


def find_lot(pk: int) -> Lot:
    lot = get_object_or_404(Lot.objects.for_page(), pk=pk)
    read_kit(lot)
    return lot


def properties_seen_by(user: Visitor) -> set[int] | None:
    """The properties that a person may see; None for all of them."""
    if user.has_perm("properties.view_every_property"):
        return None
    return set(properties_for(user).values_list("pk", flat=True))


@permission_required("materials.view_lot", raise_exception=True)
def lot_detail(request: HttpRequest, pk: int) -> HttpResponse:
    lot, system = find_lot(pk), units_for(request.user)
    story = story_of(lot, today(), system, properties_seen_by(request.user))
    return render(
        request,
        "repairs/lot_detail.html",
        {"lot": lot, "story": story, "system": system, "cautions": RESIN_CAUTIONS},
    )


@permission_required("materials.view_lot", raise_exception=True)
def building_lots(request: HttpRequest, pk: int) -> HttpResponse:
    """The way back: from a building to the lots that stand in it."""
    building = find_building(request.user, pk)
    units = units_for(request.user, building.property)
    context = {"building": building, "lots": lots_of(building, today(building.property), units)}
    return render(request, "repairs/building_lots.html", context)


@permission_required("materials.view_lot", raise_exception=True)
def lot_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    chosen = ACTS[act]
    if not request.user.has_perm(chosen.permission):
        raise PermissionDenied
    lot = find_lot(pk)
    if chosen.on_parts_only and lot.part == Lot.Part.KIT:
        messages.info(request, "A kit has two ledgers: do this on its A lot or its B lot.")
        return redirect(lot)
    units = units_for(request.user)
    initial = {"opened_on": lot.opened_on or today(), "place": lot.kept_at}
    form = chosen.form(sent(request), lot=lot, on=today(), units=units, initial=initial)
    page = FormPage(
        title=f"{chosen.title}: lot {lot.number}",
        lead=f"{lot.product.name}, {lot.get_part_display()}; the ledger says "
        f"{remaining_in_words(lot, units)}. {chosen.lead}",
        save=chosen.save,
        template=FORM,
        trail=(lot,),
        also={"cautions": RESIN_CAUTIONS if act in ("waste", "discard", "open") else ()},
    )
    return _do(request, form, page, lot, chosen)


def _do(
    request: HttpRequest, form: typed.LotForm, page: FormPage, lot: Lot, act: Act
) -> HttpResponse:
    if request.method != "POST" or not form.is_valid():
        return show_form(request, form, page)
    note = form.cleaned_data.get("note", "")
    try:
        act.do(lot, form.cleaned_data, Occasion(timezone.now(), signed_in(request), note))
    except StockRefusal as refusal:
        form.add_error(None, str(refusal))
        return show_form(request, form, page)
    messages.success(request, act.done)
    return redirect(lot)


@permission_required(DECIDE, raise_exception=True)
def movement_correct(request: HttpRequest, pk: int, movement_pk: int) -> HttpResponse:
    lot = find_lot(pk)
    line = get_object_or_404(Movement.objects.select_related("lot"), pk=movement_pk, lot=lot)
    if booked := batch_of(line):
        messages.error(request, "This line belongs to a batch: it is put right in its repair.")
        mixed_for = booked.batch.mixed_for
        return redirect(mixed_for.repair if mixed_for else lot)
    act = Act(
        f"Take back a line of {line.at:%-d %B %Y}",
        f"{line.get_kind_display()}, {line.amount.normalize():f} {lot.unit}.",
        "Take this line back",
        "Taken back by a further line.",
        typed.CorrectForm,
        lambda lot, data, when: stock.reverse(line, when),
        DECIDE,
    )
    form = typed.CorrectForm(sent(request), lot=lot, on=today())
    page = FormPage(act.title, act.lead, act.save, FORM, trail=(lot,))
    return _do(request, form, page, lot, act)


@permission_required(DECIDE, raise_exception=True)
def lot_edit(request: HttpRequest, pk: int) -> HttpResponse:
    lot = find_lot(pk)
    form = LotEditForm(sent(request), instance=lot, on=today())
    page = FormPage(
        title=f"Change lot {lot.number}",
        lead="What was written about it and was wrong. How much is left is put right by a count, "
        "a line of the ledger by taking it back.",
        save="Save this lot",
        template=FORM,
        trail=(copy(lot),),
    )
    return answer_form(request, form, page, form.save)
