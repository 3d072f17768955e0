"""What the database says, said so that a person can act on it."""

from __future__ import annotations

import sqlite3
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from leadoff.record.errors import LeadoffError


@contextmanager
def told(where: str) -> Iterator[None]:
    """Turn database and file errors into one LeadoffError with a stable code; let everything else pass.

    Codes: book_locked, disk_full, book_read_only, book_corrupt, not_a_book, no_permission, no_server,
    bad_url, postgres_missing, book_io.
    """
    try:
        yield
    except LeadoffError:
        raise
    except Exception as error:
        said = explain(error, where)
        if said is None:
            raise
        raise said from error


def explain(error: BaseException, where: str) -> LeadoffError | None:
    """The LeadoffError for a driver's or the file system's error, or None when it is a bug of ours."""
    inner = getattr(error, "orig", None) or error
    if isinstance(inner, sqlite3.Error):
        return _sqlite(inner, where)
    if type(inner).__module__.startswith("psycopg"):
        return _postgres(inner, where)
    if isinstance(inner, UnicodeDecodeError) and _ours(inner):  # SQLite quotes damaged bytes in its message
        return _corrupt(where, "text that is not UTF-8")
    if isinstance(inner, PermissionError):
        return LeadoffError.one(
            "no_permission",
            f"no permission for {inner.filename or where}",
            where=where,
            do="check who owns it",
        )
    return None


_SQLITE: dict[str, tuple[str, str, str]] = {
    "SQLITE_BUSY": (
        "book_locked",
        "another program has been writing to the book for too long; nothing was written",
        "close the other program, or try again",
    ),
    "SQLITE_LOCKED": ("book_locked", "the book is held by another task; nothing was written", "try again"),
    "SQLITE_FULL": (
        "disk_full",
        "the disk is full; nothing of this was written, what was there before is safe",
        "free some space and repeat",
    ),
    "SQLITE_IOERR": (
        "book_io",
        "the disk refused to read or write; nothing of this was written",
        "check free space and the disk, then `leadoff book verify`",
    ),
    "SQLITE_READONLY": (
        "book_read_only",
        "the book can be read but not written",
        "make the file and its folder writable, or give another --book",
    ),
    "SQLITE_CORRUPT": (
        "book_corrupt",
        "the file is damaged; nothing was changed",
        "run `leadoff book verify`, keep the file as it is and restore the newest backup",
    ),
    "SQLITE_NOTADB": (
        "not_a_book",
        "the file is not a book",
        "give the path of a book, or of a file not yet there",
    ),
    "SQLITE_CANTOPEN": (
        "no_permission",
        "the book cannot be opened: no such folder, or no permission for it",
        "check the path and its rights",
    ),
    "SQLITE_PERM": ("no_permission", "no permission for the book", "check its rights"),
    "SQLITE_AUTH": ("no_permission", "no permission for the book", "check its rights"),
}


def _sqlite(error: sqlite3.Error, where: str) -> LeadoffError | None:
    name = getattr(error, "sqlite_errorname", None) or ""
    for start, (code, text, do) in _SQLITE.items():
        if name.startswith(start):
            return LeadoffError.one(code, f"{where}: {text} ({error})", where=where, do=do)
    if "decode to UTF-8" in str(error) or "no such column" in str(error) or "no such table" in str(error):
        return _corrupt(where, error)
    return None


def _ours(error: BaseException) -> bool:
    """Whether it was raised in this folder: a caller's own decoding error inside a block is not the book's."""
    frames = list(traceback.walk_tb(error.__traceback__))
    return bool(frames) and Path(frames[-1][0].f_code.co_filename).parent == Path(__file__).parent


def _corrupt(where: str, why: object) -> LeadoffError:
    code, text, do = _SQLITE["SQLITE_CORRUPT"]
    return LeadoffError.one(code, f"{where}: {text} ({why})", where=where, do=do)


def _postgres(error: BaseException, where: str) -> LeadoffError | None:
    state = getattr(error, "sqlstate", None) or ""
    said = str(error).strip().split("\n")[0]
    if state in ("55P03", "57014", "40P01"):
        code, text, do = _SQLITE["SQLITE_BUSY"]
    elif state in ("53100", "53200"):
        code, text, do = _SQLITE["SQLITE_FULL"]
    elif state in ("28P01", "28000", "42501", "3F000"):  # 3F000: no schema that this user may see
        code, text, do = "no_permission", "the server refuses this user", "check name, password and rights"
    elif state == "25006":
        code, text, do = _SQLITE["SQLITE_READONLY"]
    elif state in ("XX001", "XX002"):
        code, text, do = _SQLITE["SQLITE_CORRUPT"]
    elif state == "3D000":
        code, text, do = "bad_url", "the server has no such database", "create it, or correct the address"
    elif type(error).__name__ in ("OperationalError", "ConnectionTimeout"):
        # libpq gives no state for errors before the session starts; its text names the case
        if 'FATAL:  database "' in said and "does not exist" in said:
            code, text, do = "bad_url", "the server has no such database", "create it, or correct the address"
        elif "does not exist" in said or "authentication failed" in said:
            code, text, do = (
                "no_permission",
                "the server refuses the log-in",
                "check database, name and password",
            )
        else:
            code, text, do = (
                "no_server",
                "the database server does not answer",
                "start it, or check the address",
            )
    else:
        return None
    return LeadoffError.one(code, f"{where}: {text} ({said})", where=where, do=do)
