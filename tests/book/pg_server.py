"""A throw-away PostgreSQL server for tests, run as an ordinary user; or the one that CI names."""

from __future__ import annotations

import glob
import os
import pwd
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

URL_FROM_CI = "LEADOFF_TEST_POSTGRES"


def find_program(name: str) -> str | None:
    """On the path, else in the folder where Debian keeps the newest version."""
    found = shutil.which(name)
    if found:
        return found
    kept = sorted(glob.glob(f"/usr/lib/postgresql/*/bin/{name}"), key=lambda p: int(p.split("/")[4]))
    return kept[-1] if kept else None


def ordinary_user() -> str | None:
    """The server refuses to run as root; None when this process is ordinary already."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    return next(name for name in ("postgres", "nobody") if name in names)


@contextmanager
def server() -> Iterator[str]:
    """Yield the address of a database on a running server; fail, never skip, when there is none."""
    given = os.environ.get(URL_FROM_CI)
    if given:
        yield given
        return
    initdb, postgres = find_program("initdb"), find_program("postgres")
    if initdb is None or postgres is None:
        raise AssertionError(
            f"no PostgreSQL server to test against: install one (initdb and postgres) or set {URL_FROM_CI} to the "
            "address of a database whose user may create databases"
        )
    user = ordinary_user()
    folder = Path(tempfile.mkdtemp(prefix="lo-pg-", dir="/tmp"))  # short: socket paths have a limit
    if user is not None:
        os.chown(folder, pwd.getpwnam(user).pw_uid, pwd.getpwnam(user).pw_gid)
    data = folder / "data"
    run = {
        "user": user,
        "cwd": folder,
        "env": {"PATH": os.environ["PATH"], "LC_ALL": "C", "HOME": str(folder)},
    }
    made = subprocess.run(
        [initdb, "-D", str(data), "-U", "bench", "-A", "trust", "-E", "UTF8", "--no-sync"],
        capture_output=True,
        text=True,
        check=False,
        **run,
    )
    assert made.returncode == 0, f"initdb failed: {made.stderr}"
    log = open(folder / "log", "wb")  # noqa: SIM115
    command = [postgres, "-D", str(data), "-k", str(folder), "-c", "listen_addresses=", "-c", "fsync=off"]
    process = subprocess.Popen(command, stdout=log, stderr=log, **run)
    try:
        end = time.monotonic() + 30
        while not (folder / ".s.PGSQL.5432").exists():
            assert process.poll() is None, (folder / "log").read_text()
            assert time.monotonic() < end, "the server did not start within 30 s"
            time.sleep(0.05)
        yield f"postgresql://bench@/postgres?host={folder}"
    finally:
        process.terminate()
        process.wait(30)
        log.close()
        shutil.rmtree(folder, ignore_errors=True)
