"""The one way in which a form page of this app shows, saves and goes on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Model
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone

from properties.models import Property


@dataclass(frozen=True)
class FormPage:
    """What stands on the page around the form."""

    title: str
    lead: str
    save: str
    template: str = "properties/form.html"
    saved: str = ""
    trail: tuple[Model, ...] = ()
    also: dict[str, Any] = field(default_factory=dict)


def show_form(request: HttpRequest, form: forms.BaseForm, page: FormPage) -> HttpResponse:
    """The form, or the form with what is wrong and all that was typed."""
    context = {"form": form, "page": page, **page.also}
    return render(request, page.template, context)


def answer_form(
    request: HttpRequest, form: forms.BaseForm, page: FormPage, save: Callable[[], Model]
) -> HttpResponse:
    """Show the form; when it was sent and is sound, save it and go to what was saved."""
    if request.method != "POST" or not form.is_valid():
        return show_form(request, form, page)
    saved = save()
    messages.success(request, page.saved or f"{saved} is saved.")
    return HttpResponseRedirect(saved.get_absolute_url())  # type: ignore[attr-defined]


def lay_errors(form: forms.BaseForm, refusal: ValidationError) -> None:
    """Lay each error of an act beside the field that it is about, else above the form."""
    found = refusal.error_dict if hasattr(refusal, "error_dict") else {"": refusal.error_list}
    for name, errors in found.items():
        for error in errors:
            form.add_error(name if name in form.fields else None, error)


def sent(request: HttpRequest) -> Any:
    """What was posted, or nothing where the page was only opened."""
    return request.POST if request.method == "POST" else None


def number_in(text: str) -> int | None:
    """The row number in a part of an address, which anybody may have typed."""
    return int(text) if text.isdecimal() and len(text) <= 18 else None


def today(of: Property | None = None) -> date:
    """The day on site, or by the clock of the installation where no one property is meant."""
    at = timezone.now()
    return of.day_of(at) if of else timezone.localdate(at)
