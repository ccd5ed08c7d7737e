"""Measures Makegood against the raw limit, in one run: `python -m tests.benchmarks`.

Prints the table that DEVELOPERS.md keeps. A database of its own is filled first (some
minutes); with DATABASE_URL set to an empty PostgreSQL, it is measured there. With the word
`calculations` behind it, only those are measured, and nothing is filled."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.benchmarks.stopwatch import Ratio


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="makegood-benchmarks-") as folder:
        os.environ["MAKEGOOD_DATA"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "tests.benchmarks.settings"
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connection

        call_command("migrate", verbosity=0)
        from tests.benchmarks import measure
        from tests.benchmarks.calculations import calculations
        from tests.benchmarks.fill import fill
        from tests.factories import make_manager

        make_manager(username="measurer")
        if sys.argv[1:] == ["calculations"]:
            table(calculations())
            return
        begun = time.perf_counter()
        fill()
        say(f"Filled {connection.vendor} in {time.perf_counter() - begun:.0f} s")
        say("")
        table(measure.everything())
        say("")
        for line in measure.query_counts():
            say(line)


def table(ratios: Iterable[Ratio]) -> None:
    say("| what | ours, ms | raw, ms | ratio | aim |")
    say("|---|---:|---:|---:|---|")
    for ratio in ratios:
        say(ratio.row())


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
