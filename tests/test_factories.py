"""Every model has a factory, and what a factory makes is sound."""

import inspect
from typing import Any

import pytest
from django.apps import apps
from django.db import models
from factory.django import DjangoModelFactory

from tests import factories

CLASSES: list[tuple[str, Any]] = inspect.getmembers(factories, inspect.isclass)
FACTORIES: dict[type[models.Model], Any] = {
    factory._meta.model: factory
    for _, factory in CLASSES
    if issubclass(factory, DjangoModelFactory) and factory is not DjangoModelFactory
}
MODELS = [
    model
    for app in ("materials", "properties", "repairs")
    for model in apps.get_app_config(app).get_models()
    if not model.__name__.startswith("Historical") and not model._meta.auto_created
]  # fmt: skip


@pytest.mark.django_db
@pytest.mark.parametrize("model", MODELS)
def test_every_model_has_a_factory_of_sound_rows(model: type[models.Model]) -> None:
    made = FACTORIES[model]()
    not_recorded = {field.name for field in model._meta.fields if getattr(made, field.name) is None}
    made.full_clean(exclude=not_recorded)
    assert model._base_manager.filter(pk=made.pk).exists()
