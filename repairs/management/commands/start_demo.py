import os
import socket
import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from properties.models import Property
from repairs.demo import PASSWORD, USERNAME, load_demo


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
        if Property.objects.exists():
            self.stdout.write("The records entered earlier are kept.")
        else:
            with transaction.atomic():
                load_demo(timezone.now())
            self.stdout.write("An invented example was entered.")
        if no_server:
            return
        self.stdout.write(f"Open http://127.0.0.1:{port}/ and stop with Ctrl-C.")
        self.stdout.write(f"Log in as {USERNAME} with the password {PASSWORD}")
        self.stdout.flush()
        serve(port)


def is_free(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) != 0


def serve(port: int) -> None:
    """Become the web server, so that stopping it leaves nothing behind."""
    gunicorn = [sys.executable, "-m", "gunicorn", "config.wsgi", "--threads", "4"]
    gunicorn += ["--bind", f"127.0.0.1:{port}", "--log-level", "warning", "--no-control-socket"]
    os.execv(sys.executable, gunicorn)
