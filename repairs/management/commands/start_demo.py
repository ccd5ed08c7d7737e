import os
import socket
import sys
from argparse import ArgumentParser
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from config.quantities import UnitSystem
from materials.money import show_money
from properties.models import Building, Property
from repairs.costs.reports import building_totals
from repairs.demo import PASSWORD, PEOPLE, load_demo
from repairs.history.pdf import history_pdf
from repairs.history.scope import Scope
from repairs.models import CostLine


class Command(BaseCommand):
    help = "Prepare the database, enter an invented example if it is empty, and serve the pages."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port on 127.0.0.1")
        parser.add_argument("--no-server", action="store_true", help="prepare only")

    def handle(self, *args: Any, port: int, no_server: bool, **options: Any) -> None:
        if not (no_server or is_free(port)):
            raise CommandError(
                f"Port {port} is in use. Choose another: start_demo --port {port + 1}"
            )
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        now = timezone.now()
        if Property.objects.exists():
            self.stdout.write("The records entered earlier are kept.")
        else:
            with transaction.atomic():
                load_demo(now)
            self.stdout.write("An invented example was entered.")
        self.tell_costs()
        self.stdout.write(f"A property's history, as a PDF: {write_history(now)}")
        if no_server:
            return
        self.stdout.write(f"Open http://127.0.0.1:{port}/ and stop with Ctrl-C.")
        names = ", ".join(f"{username} ({role})" for username, _, _, role in PEOPLE)
        self.stdout.write(f"Log in as {names}; the password is {PASSWORD}")
        self.stdout.flush()
        serve(port)

    def tell_costs(self) -> None:
        buildings = Building.objects.select_related("property").order_by("property", "name")
        totals = building_totals(CostLine.objects.all())
        for building in buildings[:50]:
            cost = show_money(totals.get(building.pk, 0), building.property.currency)
            self.stdout.write(f"Lifetime cost of {building}: {cost}")


def write_history(now: datetime) -> Path:
    """The history of the property entered first, beside the database."""
    property = Property.objects.earliest("pk")
    scope = Scope(
        of=property,
        on=timezone.localdate(now, property.zone),
        system=UnitSystem(property.unit_system),
    )
    path = Path(settings.DATA_DIR) / "history.pdf"
    path.write_bytes(history_pdf(scope, "the demo", "a4"))
    return path


def is_free(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) != 0


def serve(port: int) -> None:
    """Become the web server, so that stopping it leaves nothing behind."""
    gunicorn = [sys.executable, "-m", "gunicorn", "config.wsgi", "--threads", "4"]
    gunicorn += ["--bind", f"127.0.0.1:{port}", "--log-level", "warning", "--no-control-socket"]
    os.execv(sys.executable, gunicorn)
