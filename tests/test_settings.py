import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client

from tests.run import production_environment

ROOT = Path(__file__).resolve().parent.parent


def manage(*arguments: str, **environment: str) -> "subprocess.CompletedProcess[str]":
    """Run manage.py with these settings and none of the test's own."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("MAKEGOOD_", "DJANGO_", "DATABASE_URL"))
    }
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env={**kept, **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def test_it_refuses_to_start_without_a_secret_key(tmp_path: Path) -> None:
    answer = manage("check", MAKEGOOD_DATA=str(tmp_path))
    assert answer.returncode != 0
    assert "MAKEGOOD_SECRET_KEY is not set" in answer.stderr


def test_a_setting_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    answer = manage("check", MAKEGOOD_DATA=str(tmp_path), MAKEGOOD_DEBUG="perhaps")
    assert "MAKEGOOD_DEBUG must be 1 or 0, not 'perhaps'" in answer.stderr


def test_a_time_zone_that_does_not_exist_is_refused(tmp_path: Path) -> None:
    environment = {"MAKEGOOD_DATA": str(tmp_path), "MAKEGOOD_DEBUG": "1"}
    assert manage("check", MAKEGOOD_TIME_ZONE="Asia/Tokyo", **environment).returncode == 0
    answer = manage("check", MAKEGOOD_TIME_ZONE="Mars/Base", **environment)
    assert answer.returncode != 0
    assert "MAKEGOOD_TIME_ZONE must be a time zone such as Europe/London" in answer.stderr


@pytest.mark.parametrize(
    "url",
    ["records.example.org", "https://", "ftp://x", "https://x.example/makegood", "http://a b"],
)
def test_a_base_address_that_is_none_is_refused(tmp_path: Path, url: str) -> None:
    environment = {"MAKEGOOD_DATA": str(tmp_path), "MAKEGOOD_DEBUG": "1"}
    answer = manage("check", MAKEGOOD_BASE_URL=url, **environment)
    assert answer.returncode != 0
    assert "must be an address such as https://records.example.org" in answer.stderr
    for right in ("https://records.example.org/", "http://localhost:8000"):
        assert manage("check", MAKEGOOD_BASE_URL=right, **environment).returncode == 0


def test_the_documented_production_settings_pass_the_deployment_check(tmp_path: Path) -> None:
    environment = {**production_environment(), "MAKEGOOD_DATA": str(tmp_path)}
    answer = manage("check", "--deploy", "--fail-level", "WARNING", **environment)
    assert answer.returncode == 0, answer.stderr
    assert "no issues" in answer.stdout


def test_production_names_static_files_by_their_content(tmp_path: Path) -> None:
    environment = {
        **production_environment(),
        "MAKEGOOD_DATA": str(tmp_path),
        "MAKEGOOD_STATIC_ROOT": str(tmp_path / "static"),
    }
    assert manage("collectstatic", "--no-input", **environment).returncode == 0
    names = {path.name for path in (tmp_path / "static").iterdir()}
    assert any(name.startswith("makegood.") and name.endswith(".css.gz") for name in names)
    assert "staticfiles.json" in names


@pytest.mark.django_db
def test_sqlite_waits_its_turn_and_keeps_foreign_keys() -> None:
    if connection.vendor != "sqlite":
        assert settings.DATABASES["default"]["CONN_MAX_AGE"] > 0
        return
    expected = {"journal_mode": "wal", "busy_timeout": 20_000, "foreign_keys": 1}
    with connection.cursor() as cursor:
        found = {name: cursor.execute(f"PRAGMA {name}").fetchone()[0] for name in expected}
    assert found == expected
    assert connection.transaction_mode == "IMMEDIATE"  # type: ignore[attr-defined]


@pytest.mark.django_db
def test_a_stranger_is_sent_to_the_log_in_page(client: Client) -> None:
    answer = client.get("/")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/log-in/")


@pytest.mark.django_db
def test_pages_load_only_what_is_served_here(client: Client) -> None:
    policy = client.get("/log-in/")["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy


@pytest.mark.django_db
def test_a_form_left_empty_says_what_to_do_even_where_it_is_djangos_own(client: Client) -> None:
    page = client.post("/log-in/", {"username": "linnet"}).text
    assert "Still empty: type or choose what belongs here." in page
    assert "This field is required" not in page
