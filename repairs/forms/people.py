"""Adding a person, and what they may do."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.models import AnonymousUser, Group, User
from django.contrib.auth.password_validation import validate_password
from django.db import transaction

from properties.forms.many import ManyOf
from properties.models import Person, Property
from repairs.roles import MANAGERS, ROLE_WORDS, VIEWERS, role_of

UNITS = Person._meta.get_field("unit_system")


class PersonForm(forms.ModelForm):
    role = forms.ChoiceField(choices=list(ROLE_WORDS.items()), widget=forms.RadioSelect)
    properties = ManyOf(
        Property.objects.all(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="For a viewer: the only properties that they may read.",
    )
    unit_system = forms.ChoiceField(
        label="Units",
        required=False,
        choices=[("", "Those of each property"), *(UNITS.choices or [])],
    )
    new_password = forms.CharField(
        label="New password",
        required=False,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least eight characters. They can change it themselves once logged in.",
    )

    class Meta:
        model = User
        fields = ("first_name", "last_name", "username", "email", "is_active")
        labels = {"username": "Log-in name", "is_active": "May log in"}
        help_texts = {
            "username": "Letters, digits and @ . + - _ only.",
            "is_active": "Take the tick away when somebody leaves; what they entered stays.",
        }

    def __init__(self, *args: Any, editor: User | AnonymousUser, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.editor = editor
        user = self.instance
        if user.pk is None:
            self.fields["new_password"].required = True
            return
        self.fields["new_password"].help_text += " Empty keeps the one they have."
        self.fields["role"].initial = role_of(user)
        if hasattr(user, "person"):
            self.fields["unit_system"].initial = user.person.unit_system
            self.fields["properties"].initial = user.person.properties.all()

    def clean_new_password(self) -> str:
        password: str = self.cleaned_data["new_password"]
        if password:
            validate_password(password, self.instance)
        return password

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        if cleaned.get("role") == VIEWERS and not cleaned.get("properties"):
            self.add_error("properties", "Tick at least one property for this viewer to read.")
        if self.instance.pk == self.editor.pk and (
            cleaned.get("role") != MANAGERS or not cleaned.get("is_active")
        ):
            self.add_error(
                None,
                "You cannot take your own rights away: another manager has to do it, "
                "so that somebody is always left who can.",
            )
        return cleaned

    @transaction.atomic
    def save(self, commit: bool = True) -> User:
        user = super().save(commit=False)
        if self.cleaned_data["new_password"]:
            user.set_password(self.cleaned_data["new_password"])
        user.save()
        user.groups.set([Group.objects.get(name=self.cleaned_data["role"])])
        person, _ = Person.objects.get_or_create(user=user)
        person.unit_system = self.cleaned_data["unit_system"]
        person.save()
        person.properties.set(self.cleaned_data["properties"])
        return user
