"""Makes what a bare Debian lacks, so that manage.py can be the first command on a new machine.

Only the standard library is used here: nothing else is installed when this runs.
"""

import hashlib
import importlib.metadata
import importlib.util
import os
import secrets
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
STAMP = VENV / "installed-locks"
LOCK = ROOT / "requirements.txt"
TEST_LOCK = ROOT / "requirements-dev.txt"

PDF_PACKAGES = ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0", "fonts-dejavu-core")


def prepare(argv: Sequence[str]) -> None:
    """Return when this very process can go on; otherwise start again inside .venv."""
    command = argv[1] if len(argv) > 1 else ""
    install_debian_packages(command)
    if is_other_environment():
        return
    lock = TEST_LOCK if command == "run_tests" else LOCK
    fresh = is_installed(lock)
    if not fresh:
        install_pins(lock)
    if not (fresh and is_inside()):
        os.execv(PYTHON, [str(PYTHON), *argv])


# Debian's packages


def install_debian_packages(command: str) -> None:
    missing = missing_debian_packages(command)
    if not missing:
        return
    line = f"apt-get install {' '.join(missing)}"
    if os.geteuid() != 0:
        stop(f"Debian packages are missing. Install them first, as root: {line}")
    say(f"Installing Debian packages: {' '.join(missing)}")
    run(["apt-get", "update", "-qq"], "apt-get could not read its package lists.")
    options = ["-y", "-qq", "--no-install-recommends", "-o", "Dpkg::Options::=--force-confold"]
    run(["apt-get", "install", *options, *missing], f"This did not work: {line}")


def missing_debian_packages(command: str) -> list[str]:
    if shutil.which("dpkg-query") is None:
        return []
    wanted: list[str] = []
    if not PYTHON.exists() and not is_other_environment() and not has_ensurepip():
        wanted += ["python3-venv"]
    if command in {"start_demo", "run_tests"}:
        wanted += PDF_PACKAGES
    if command == "run_tests":
        wanted += ["chromium"]
    if not wanted:
        return []
    query = ["dpkg-query", "--show", "--showformat", "${db:Status-Abbrev}${Package}\n", *wanted]
    answer = subprocess.run(query, capture_output=True, text=True, check=False)
    there = {line[3:] for line in answer.stdout.splitlines() if line.startswith("ii ")}
    return [name for name in wanted if name not in there]


def has_ensurepip() -> bool:
    return importlib.util.find_spec("ensurepip") is not None


# Python's packages


def is_inside() -> bool:
    return Path(sys.prefix).resolve() == VENV


def is_other_environment() -> bool:
    """Whether somebody else's environment or image already holds what is pinned."""
    if is_inside():
        return False
    return sys.prefix != sys.base_prefix or has_pinned_django()


def has_pinned_django() -> bool:
    try:
        return f"\ndjango=={importlib.metadata.version('django')} " in LOCK.read_text()
    except importlib.metadata.PackageNotFoundError:
        return False


def mark(lock: Path) -> str:
    python = f"{sys.version_info.major}.{sys.version_info.minor}"
    return f"python {python} {lock.name} {hashlib.sha256(lock.read_bytes()).hexdigest()}"


def is_installed(lock: Path) -> bool:
    return STAMP.exists() and mark(lock) in STAMP.read_text().splitlines()


def install_pins(lock: Path) -> None:
    if not PYTHON.exists():
        say("Making a virtual environment in .venv")
        run(
            [sys.executable, "-m", "venv", "--clear", str(VENV)], "No virtual environment was made."
        )
    say(f"Installing the Python packages pinned in {lock.name}; the first time takes a minute")
    STAMP.unlink(missing_ok=True)  # a run that breaks off half-way must not look finished
    pip = [str(PYTHON), "-m", "pip", "--quiet", "--no-input", "--disable-pip-version-check"]
    run(
        [*pip, "install", "--use-pep517", "--require-hashes", "-r", str(lock)],
        f"pip could not install {lock.name}.",
    )
    # The test lock holds every pin of the other one.
    STAMP.write_text("".join(f"{mark(each)}\n" for each in dict.fromkeys([LOCK, lock])))


# The demo's own settings


def demo_environment() -> None:
    """Settings like production's, for this machine alone; the key is made once and kept."""
    if os.environ.get("MAKEGOOD_SECRET_KEY"):
        stop(
            "MAKEGOOD_SECRET_KEY is set, so this looks like an installation in use. "
            "The demo brings log-ins with known passwords and does not start here."
        )
    key = Path(os.environ.get("MAKEGOOD_DATA", ROOT / "var")) / "demo-secret-key"
    if not key.exists():
        key.parent.mkdir(parents=True, exist_ok=True)
        key.touch(mode=0o600)
        key.write_text(secrets.token_urlsafe(50))
    os.environ["MAKEGOOD_SECRET_KEY"] = key.read_text()
    os.environ["MAKEGOOD_HTTPS"] = "0"
    os.environ["MAKEGOOD_ALLOWED_HOSTS"] = "127.0.0.1,localhost"


# Saying and doing


def run(command: list[str], complaint: str) -> None:
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    silent = subprocess.DEVNULL
    if subprocess.run(command, env=quiet, stdin=silent, stdout=silent, check=False).returncode:
        stop(complaint)


def say(sentence: str) -> None:
    print(sentence, flush=True)


def stop(sentence: str) -> NoReturn:
    sys.exit(sentence)
