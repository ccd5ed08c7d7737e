"""A shared cost: entered once, split over members, credited or taken back as a whole."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from materials.money import to_minor
from properties.access import find_building
from properties.signed_in import signed_in
from repairs.access import cost_lines_for, find_shared_cost
from repairs.costs import ledger
from repairs.forms.costs import CreditForm, SharedCostForm, TakeBackForm
from repairs.models import CostLine, SharedCost

may_write = permission_required("repairs.add_costline", raise_exception=True)


@may_write
def cost_shared_new(request: HttpRequest, pk: int) -> HttpResponse:
    building = find_building(request.user, pk)
    today = timezone.localdate(timezone=building.property.zone)
    form = SharedCostForm(building, request.POST or None, initial={"worked_on": today})
    if request.method == "POST" and form.is_valid():
        try:
            lines = _post_shared(form, request)
        except ledger.LedgerRefusal as refusal:
            form.add_error("members", str(refusal))
        else:
            messages.success(request, f"Split over {len(lines)} members, to the cent.")
            return redirect("cost-building", pk=building.pk)
    context = {"form": form, "building": building, "shared": True}
    return render(request, "repairs/cost_line_new.html", context)


def _post_shared(form: SharedCostForm, request: HttpRequest) -> list[CostLine]:
    data = form.cleaned_data
    weights = ledger.weights_for(data["rule"], data["members"], data.get("stated"))
    return ledger.split_shared(
        form.shared(), weights, form.line(), signed_in(request), data["rate"]
    )


@permission_required("repairs.view_costline", raise_exception=True)
def cost_shared_detail(request: HttpRequest, pk: int) -> HttpResponse:
    return _show(request, find_shared_cost(request.user, pk))


@may_write
def cost_shared_credit(request: HttpRequest, pk: int) -> HttpResponse:
    shared = find_shared_cost(request.user, pk)
    form = CreditForm(shared.currency, request.POST or None)

    def credit() -> SharedCost:
        data = form.cleaned_data
        tax = data["tax"]
        return ledger.credit_shared(
            shared,
            to_minor(data["amount"], shared.currency),
            signed_in(request),
            data["on"],
            data["reason"],
            None if tax is None else to_minor(tax, shared.currency),
            data["invoice"],
        )

    said = "The credit is split over the members by the same shares."
    return _act(request, shared, form, credit, said, credit_form=form)


@may_write
def cost_shared_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    shared = find_shared_cost(request.user, pk)
    form = TakeBackForm(request.POST or None)

    def take_back() -> list[CostLine]:
        data = form.cleaned_data
        return ledger.reverse_shared(shared, signed_in(request), data["on"], data["reason"])

    said = "Every share is taken back by a reversing line."
    return _act(request, shared, form, take_back, said, take_back_form=form)


def _act(
    request: HttpRequest,
    shared: SharedCost,
    form: Form,
    act: Callable[[], object],
    said: str,
    **forms: Form,
) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        try:
            act()
        except ledger.LedgerRefusal as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, said)
            return redirect("cost-shared-detail", pk=shared.pk)
    return _show(request, shared, **forms)


def _show(request: HttpRequest, shared: SharedCost, **forms: Form) -> HttpResponse:
    lines = cost_lines_for(request.user).filter(shared=shared).with_place().order_by("pk")
    context = {
        "shared": shared,
        "lines": lines,
        "stands": any(not line.is_taken_back for line in lines),
        "credit_form": CreditForm(shared.currency),
        "take_back_form": TakeBackForm(),
        **forms,
    }
    return render(request, "repairs/cost_shared_detail.html", context)
