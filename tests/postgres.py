"""A PostgreSQL server that lives in a temporary folder and is gone when the tests are."""

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

# The server holds nothing worth keeping, so it need not wait for the disk.
HASTE = ["fsync=off", "synchronous_commit=off", "full_page_writes=off"]


def binaries() -> Path | None:
    """Where initdb and postgres are, the newest version first; None if they are not installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[4]))
    if found:
        return found[-1].parent
    elsewhere = shutil.which("initdb")
    return Path(elsewhere).resolve().parent if elsewhere else None


@contextlib.contextmanager
def throwaway_server(programs: Path) -> Iterator[str]:
    """Start a server, give its address as a DATABASE_URL, and stop it whatever happens."""
    folder = Path(tempfile.mkdtemp(prefix="makegood-pg-"))
    server: subprocess.Popen[bytes] | None = None
    try:
        server = start(programs, folder)
        yield f"postgresql://makegood@{quote(str(folder), safe='')}/postgres"
    finally:
        if server is not None:
            server.terminate()
            try:
                server.wait(timeout=10)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()
        shutil.rmtree(folder, ignore_errors=True)


def start(programs: Path, folder: Path) -> "subprocess.Popen[bytes]":
    owner = None
    if os.geteuid() == 0:  # PostgreSQL refuses to run as root
        owner = "postgres"
        os.chown(folder, pwd.getpwnam(owner).pw_uid, pwd.getpwnam(owner).pw_gid)
    data = folder / "data"
    initdb = [
        str(programs / "initdb"),
        "-D",
        str(data),
        "-U",
        "makegood",
        "--auth=trust",
        "--no-sync",
    ]
    subprocess.run(
        [*initdb, "--encoding=UTF8", "--locale=C.UTF-8"],
        cwd=folder,
        stdout=subprocess.DEVNULL,
        check=True,
        user=owner,
        group=owner,
    )
    settings = ["listen_addresses=", f"unix_socket_directories={folder}", *HASTE]
    log = folder / "log"
    with log.open("wb") as written:
        server = subprocess.Popen(
            [
                str(programs / "postgres"),
                "-D",
                str(data),
                *(word for each in settings for word in ("-c", each)),
            ],
            cwd=folder,
            stdout=written,
            stderr=subprocess.STDOUT,
            start_new_session=True,
            user=owner,
            group=owner,
        )
    wait_until_ready(server, folder, log)
    return server


def wait_until_ready(server: "subprocess.Popen[bytes]", folder: Path, log: Path) -> None:
    for _ in range(300):
        pid = folder / "data" / "postmaster.pid"
        if pid.exists() and pid.read_text().rstrip().endswith("ready"):
            return
        if server.poll() is not None:
            break
        time.sleep(0.1)
    server.kill()
    raise RuntimeError(f"PostgreSQL did not start:\n{log.read_text()}")
