"""The form that chooses whose lives are told, and what they are compared with."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.models import AnonymousUser, User

from materials.models import Product
from properties.access import properties_for
from properties.models import Member, Property
from repairs.lives.report import Against, Chosen
from repairs.lives.rows import MOST_OF_A_CREW, NO_CREW
from repairs.models import BatchShare, Repair

CREWS = [
    *((str(n), "One person" if n == 1 else f"{n} people") for n in range(1, MOST_OF_A_CREW)),
    (str(MOST_OF_A_CREW), f"{MOST_OF_A_CREW} people or more"),
    (NO_CREW, "Not recorded"),
]
KINDS = [(kind, label) for kind, label in Repair.Kind.choices if kind != Repair.Kind.MAKE_SAFE]


def products_for(user: User | AnonymousUser) -> list[tuple[str, str]]:
    """The products that a person may read of: all, or those in the repairs that they may see."""
    products = Product.objects.all()
    if not user.has_perm("properties.view_every_property"):
        seen = BatchShare.objects.filter(
            stage__repair__member__building__property__in=properties_for(user)
        )
        products = products.filter(pk__in=seen.order_by().values("batch__sheet__product"))
    return [(str(pk), f"{name} ({maker})" if maker else name) for pk, name, maker in
            products.values_list("pk", "name", "maker")]  # fmt: skip


class LivesForm(forms.Form):
    """One choice that fails leaves the others standing."""

    kind = forms.ChoiceField(choices=[("", "All"), *KINDS], required=False, label="Kind")
    product = forms.ChoiceField(required=False, label="Main product")
    exposure = forms.ChoiceField(
        choices=[("", "All"), *Member.Exposure.choices], required=False, label="Exposure"
    )
    crew = forms.ChoiceField(choices=[("", "All"), *CREWS], required=False, label="Done by")
    property = forms.ModelChoiceField(
        Property.objects.none(), required=False, empty_label="All", label="Property"
    )
    against = forms.ChoiceField(required=False, label="Beside it")
    again = forms.BooleanField(
        required=False, label="Damage again at the same spot counts as failed"
    )

    def __init__(self, *args: Any, user: User | AnonymousUser, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        products = products_for(user)
        self.named: dict[str, dict[str, str]] = {
            "kind": dict(KINDS),
            "exposure": dict(Member.Exposure.choices),
            "product": dict(products),
            "crew": dict(CREWS),
        }
        self.fields["product"].choices = [("", "All"), *products]  # type: ignore[attr-defined]
        self.fields["property"].queryset = properties_for(user)  # type: ignore[attr-defined]
        self.fields["against"].choices = [("", "Nothing"), *self._groups()]  # type: ignore[attr-defined]

    def _groups(self) -> list[tuple[str, list[tuple[str, str]]]]:
        return [
            (
                str(self.fields[name].label),
                [(f"{name}:{value}", str(label)) for value, label in named.items()],
            )
            for name, named in self.named.items()
            if named
        ]

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        name, _, value = (typed.get("against") or "").partition(":")
        if name and typed.get(name) == value:
            self.add_error("against", "This is the group chosen already. Choose another.")
        return typed

    def typed(self) -> dict[str, Any]:
        self.is_valid()
        return getattr(self, "cleaned_data", {})

    def chosen(self) -> Chosen:
        typed = self.typed()
        return Chosen(**{name: typed.get(name) or "" for name in self.named})

    def against_what(self) -> Against | None:
        name, _, value = (self.typed().get("against") or "").partition(":")
        if not name:
            return None
        own = getattr(self.chosen(), name)
        words = self._words(name, value)
        first = self._words(name, own) if own else f"all but {words}"
        return Against(name, value, first, words)

    def what(self) -> str:
        """'resin repairs, sheltered, at Larkfield Yard': the words of the group chosen."""
        chosen = self.chosen()
        kind = self._words("kind", chosen.kind) if chosen.kind else "repairs"
        words = [
            self._words(name, getattr(chosen, name))
            for name in ("product", "exposure", "crew")
            if getattr(chosen, name)
        ]
        place = self.typed().get("property")
        return ", ".join([kind, *words, *([f"at {place}"] if place else [])])

    def _words(self, name: str, value: str) -> str:
        label = self.named[name][value]
        if name == "kind":
            return KIND_WORDS[value]
        return {
            "exposure": f"exposure {label.partition(' (')[0].lower()}",
            "crew": f"done by {label.lower()}" if value != NO_CREW else "crew not recorded",
        }.get(name, label)


KIND_WORDS = {
    "resin": "resin repairs",
    "splice": "timber splices",
    "replacement": "replacements",
    "repaint": "repaints",
}
