import sqlite3
from pathlib import Path

from tests.test_settings import manage


def test_the_demo_starts_twice_and_keeps_what_was_entered(tmp_path: Path) -> None:
    first = manage("start_demo", "--no-server", MAKEGOOD_DATA=str(tmp_path))
    assert first.returncode == 0, first.stderr
    rename_everything(tmp_path / "makegood.sqlite3")
    second = manage("start_demo", "--no-server", MAKEGOOD_DATA=str(tmp_path))
    assert second.returncode == 0, second.stderr
    assert "kept" in second.stdout
    assert names(tmp_path / "makegood.sqlite3") == {"Entered by hand"}


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
