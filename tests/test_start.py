import sqlite3
import subprocess
import sys
from pathlib import Path

from tests.test_settings import ROOT, manage

# What only calculations need; a plain page waits for none of it.
HEAVY = ("numpy", "scipy", "weasyprint", "openpyxl")


def test_plain_pages_start_without_the_heavy_libraries(tmp_path: Path) -> None:
    loads_all_pages = (
        "import django, sys; django.setup(); from django.urls import get_resolver; "
        "get_resolver().url_patterns; "
        f"print(*(name for name in {HEAVY} if name in sys.modules))"
    )
    answer = subprocess.run(
        [sys.executable, "-c", loads_all_pages],
        cwd=ROOT,
        env={
            "DJANGO_SETTINGS_MODULE": "config.settings",
            "MAKEGOOD_DEBUG": "1",
            "MAKEGOOD_DATA": str(tmp_path),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 0, answer.stderr
    assert answer.stdout.split() == []


def test_the_demo_starts_twice_and_keeps_what_was_entered(tmp_path: Path) -> None:
    first = manage("start_demo", "--no-server", MAKEGOOD_DATA=str(tmp_path))
    assert first.returncode == 0, first.stderr
    rename_everything(tmp_path / "makegood.sqlite3")
    second = manage("start_demo", "--no-server", MAKEGOOD_DATA=str(tmp_path))
    assert second.returncode == 0, second.stderr
    assert "kept" in second.stdout
    assert names(tmp_path / "makegood.sqlite3") == {"Entered by hand"}
    assert counts(tmp_path / "makegood.sqlite3") == {
        "repairs_plan": 4, "repairs_planoption": 12, "properties_monthlynormal": 12,
        "repairs_priceindex": 1,
    }  # fmt: skip


def test_the_demo_stays_away_from_an_installation_in_use(tmp_path: Path) -> None:
    answer = manage("start_demo", MAKEGOOD_SECRET_KEY="real", MAKEGOOD_DATA=str(tmp_path))
    assert answer.returncode != 0
    assert "does not start here" in answer.stderr
    assert not (tmp_path / "makegood.sqlite3").exists()


def rename_everything(database: Path) -> None:
    with sqlite3.connect(database) as connection:
        connection.execute("UPDATE properties_property SET name = 'Entered by hand'")


def names(database: Path) -> set[str]:
    with sqlite3.connect(database) as connection:
        return {row[0] for row in connection.execute("SELECT name FROM properties_property")}


def counts(database: Path) -> dict[str, int]:
    tables = ("repairs_plan", "repairs_planoption", "properties_monthlynormal",
              "repairs_priceindex")  # fmt: skip
    with sqlite3.connect(database) as connection:
        return {
            table: connection.execute(f"SELECT COUNT(*) FROM {table}").fetchone()[0]
            for table in tables
        }
