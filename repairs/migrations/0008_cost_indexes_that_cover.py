"""Sums over a million cost lines, of some days too, read an index alone.

Until now a sum of some days looked up each line, and what members cost and who bears it read the
whole table: three seconds for a million lines. The index on the member alone is given up for the
one that begins with the member."""

import django.db.models.deletion
from django.db import migrations, models

COVERING = {
    "cost_building": ["building", "year", "kind", "cause"],
    "cost_year": ["year", "kind", "cause"],
    "cost_member": ["building", "member"],
    "cost_of_member": ["member"],
    "cost_bearer": ["borne_by", "money_class", "currency", "rate", "tax_minor"],
}
WIDENED = ("cost_building", "cost_year", "cost_member", "cost_repair")


class Migration(migrations.Migration):
    dependencies = [("repairs", "0007_sizes_of_coating_defects")]

    operations = [
        *(migrations.RemoveIndex("costline", name) for name in WIDENED),
        migrations.AlterField(
            model_name="costline",
            name="member",
            field=models.ForeignKey(
                blank=True,
                db_index=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="cost_lines",
                to="properties.member",
            ),
        ),
        *(
            migrations.AddIndex(
                "costline", models.Index(fields=[*fields, "home_minor", "counts_on"], name=name)
            )
            for name, fields in COVERING.items()
        ),
        migrations.AddIndex(
            "costline",
            models.Index(
                fields=["repair", "home_minor", "counts_on"],
                name="cost_repair",
                condition=models.Q(repair__isnull=False),
            ),
        ),
    ]
