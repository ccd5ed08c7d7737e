"""Everything that must hold before a change is kept, one step after the other."""

import os
import re
import secrets
import signal
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from tests.postgres import binaries, throwaway_server

ROOT = Path(__file__).resolve().parent.parent
SUITE = ("-m", "pytest", "-q", "-n", "auto", "--dist", "loadfile")


@dataclass(frozen=True)
class Step:
    title: str
    arguments: tuple[str, ...]
    environment: dict[str, str] = field(default_factory=dict)

    def passes(self) -> bool:
        print(f"\n=== {self.title}", flush=True)
        command = [sys.executable, *self.arguments]
        environment = {**os.environ, **self.environment}
        finished = subprocess.run(command, cwd=ROOT, env=environment, check=False)
        return finished.returncode == 0


def run_tests() -> int:
    """Run every step, also after one has failed; 0 only if all of them passed."""
    # A plain kill must also stop the PostgreSQL server on its way out.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    for name in [name for name in os.environ if name.startswith("MAKEGOOD_")]:
        del os.environ[name]
    os.environ.pop("DATABASE_URL", None)
    with tempfile.TemporaryDirectory(prefix="makegood-tests-") as data:
        os.environ["MAKEGOOD_DATA"] = data
        results = {step.title: step.passes() for step in quick_steps()}
        results["Tests on SQLite, in Chromium too"] = Step(
            "Tests on SQLite, in Chromium too", SUITE
        ).passes()
        on_postgresql(results)
    return summary(results)


def quick_steps() -> list[Step]:
    developer = {"MAKEGOOD_DEBUG": "1"}
    return [
        Step("Lint", ("-m", "ruff", "check", ".")),
        Step("Format", ("-m", "ruff", "format", "--check", ".")),
        Step("Types", ("-m", "mypy")),
        Step("Templates", ("-m", "djlint", "templates", "--lint", "--quiet")),
        Step("Migrations", ("manage.py", "makemigrations", "--check", "--dry-run"), developer),
        Step(
            "Production settings",
            ("manage.py", "check", "--deploy", "--fail-level", "WARNING"),
            production_environment(),
        ),
    ]


def production_environment() -> dict[str, str]:
    """What README.md tells a reader to set, so that what is documented is what is checked."""
    readme = (ROOT / "README.md").read_text()
    lines = re.findall(r"^(MAKEGOOD_\w+|DATABASE_URL)=(\S*)", readme, re.MULTILINE)
    return {**dict(lines), "MAKEGOOD_SECRET_KEY": secrets.token_urlsafe(50)}


def on_postgresql(results: dict[str, bool]) -> None:
    programs = binaries()
    if programs is None:
        print("\nPostgreSQL is not installed here, so the tests were not run on it.", flush=True)
        return
    with throwaway_server(programs) as url:
        title = "Tests on PostgreSQL, in Chromium too"
        results[title] = Step(title, SUITE, {"DATABASE_URL": url}).passes()


def summary(results: dict[str, bool]) -> int:
    print("\n=== Summary")
    for title, passed in results.items():
        print(f"{'passed' if passed else 'FAILED'}  {title}")
    failed = list(results.values()).count(False)
    print(f"checks: {len(results) - failed} passed, {failed} failed", flush=True)
    return 1 if failed else 0
