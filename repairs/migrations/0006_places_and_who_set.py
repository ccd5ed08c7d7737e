"""Gives every rule its place in the order that held until now, and tells who set each date."""

from typing import Any

from django.db import migrations

CONDITIONS = ("member_kind", "finish", "exposure")


def place_rules(apps: Any, schema_editor: Any) -> None:
    """Until now the rule that named most conditions won, and of equals the first code."""
    rule_model = apps.get_model("repairs", "DueRule")
    rules = sorted(rule_model.objects.all(), key=_order)
    places: dict[str, int] = {}
    for rule in rules:
        rule.place = places[rule.kind] = places.get(rule.kind, 0) + 10
    rule_model.objects.bulk_update(rules, ["place"])


def _order(rule: Any) -> tuple[int, str]:
    asked = sum(bool(getattr(rule, name)) for name in CONDITIONS)
    return -(asked + (rule.temporary is not None)), rule.code


def tell_who_set(apps: Any, schema_editor: Any) -> None:
    due_model = apps.get_model("repairs", "DueDate")
    by_hand = due_model.objects.filter(set_because__startswith="Set by ")
    by_hand.update(set_by="person")
    due_model.objects.filter(set_because__startswith="Recall of ").update(set_by="person")


class Migration(migrations.Migration):
    dependencies = [("repairs", "0005_rounds_and_years_ahead")]

    operations = [
        migrations.RunPython(place_rules, migrations.RunPython.noop),
        migrations.RunPython(tell_who_set, migrations.RunPython.noop),
    ]
