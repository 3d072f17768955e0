"""A user's own book is never touched: everything that is written lies where the environment says."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from leadoff.loop.places import book_place, cache_dir, config_dir

BOARD = '[board]\nid = "x"\nclass = "486"\n[[jumper]]\nid = "J1"\npositions = ["a", "b"]\n\
sets = { bus_mhz = { a = 33, b = 40 } }\n[now]\nJ1 = "a"\n'

WATCH = """
import json, os, sys
seen = []
def hook(event, args):
    if event == "open" and isinstance(args[0], (str, bytes)):
        mode, flags = args[1] or "", args[2] or 0
        if set("wxa+") & set(mode) or flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            seen.append(os.fsdecode(args[0]))
    elif event in ("os.mkdir", "os.rename", "os.remove", "shutil.move", "sqlite3.connect", "os.symlink"):
        seen.append(os.fsdecode(args[0]))
sys.addaudithook(hook)
from leadoff.doors.cli.main import main
for args in json.loads(sys.argv[1]):
    try:
        main(args)
    except SystemExit as ended:
        assert not ended.code, args
print("WRITTEN", json.dumps(seen))
"""


def test_this_suite_has_places_of_its_own(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    for place in (book_place(None), str(config_dir())):
        assert Path(place).is_relative_to(tmp_path)
    assert cache_dir().is_relative_to(tmp_path_factory.getbasetemp())


def test_without_the_environment_the_places_are_the_platforms(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("LEADOFF_BOOK", "LEADOFF_CONFIG", "LEADOFF_CACHE"):
        monkeypatch.delenv(name)
    assert Path(book_place(None)).name == "book.db"
    assert "leadoff" in book_place(None)
    assert len({book_place(None), str(config_dir()), str(cache_dir())}) == 3


def test_a_whole_loop_writes_nowhere_else(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    file = tmp_path / "x.toml"
    file.write_text(BOARD, encoding="utf-8")
    own = {"HOME": str(home), "LEADOFF_CACHE": str(tmp_path / "cache"), "PYTHONDONTWRITEBYTECODE": "1"}
    env = {**os.environ, **own}
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME"):
        env.pop(name, None)
    calls = [
        ["board", "add", str(file)],
        ["log", "x", "w2 23.5 frames/s"],
        ["forecast", "x", "--want", "bus 40"],
        ["move", "x", "bus 40"],
        ["log", "x", "w2 28.1"],
        ["why", "1", "2"],
        ["now", "x"],
        ["card", "x"],
        ["state", "x"],
        ["undo"],
        ["book", "verify"],
        ["book", "backup"],
        ["book", "export", str(tmp_path / "out.zip")],
    ]
    done = subprocess.run(
        [sys.executable, "-c", WATCH, json.dumps(calls)],
        capture_output=True, text=True, timeout=120, check=True, env=env, cwd=tmp_path,
    )  # fmt: skip
    written = json.loads(done.stdout.split("WRITTEN ")[-1])
    assert any(w.endswith("book.db") for w in written)
    allowed = (str(tmp_path), "/dev/null", ":memory:", "file:")
    assert [w for w in written if Path(w).is_absolute() and not w.startswith(allowed)] == []
    assert list(home.rglob("*")) == []
