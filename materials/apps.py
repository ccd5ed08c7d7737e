from django.apps import AppConfig
from django.db.models.signals import post_migrate


class MaterialsConfig(AppConfig):
    name = "materials"

    def ready(self) -> None:
        from materials.append_only import guard_ledgers

        post_migrate.connect(guard_ledgers, sender=self, dispatch_uid="makegood-lot-ledger")
