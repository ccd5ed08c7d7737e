from django.apps import AppConfig
from django.db.models.signals import post_migrate


class RepairsConfig(AppConfig):
    name = "repairs"

    def ready(self) -> None:
        from materials.append_only import guard_ledgers
        from repairs.due.default_rules import seed_rules
        from repairs.roles import make_roles

        # This app stands last, so that the permissions of all three exist by then.
        post_migrate.connect(make_roles, sender=self, dispatch_uid="makegood-roles")
        post_migrate.connect(seed_rules, sender=self, dispatch_uid="makegood-rules")
        post_migrate.connect(guard_ledgers, sender=self, dispatch_uid="makegood-cost-ledger")
