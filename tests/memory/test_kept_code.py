"""Compiled code that is kept is never that of other sources."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from leadoff.memory.kernels import compiled

ASK = """
import numpy as np
from leadoff.memory.kernels import compiled, repeats
room = [np.empty(8, np.uint32) for _ in range(3)]
made = repeats.sift(np.arange(4, dtype=np.uint32), np.zeros(4, np.uint8), 4, 0, 51, 99, np.empty(1, np.uint32), *room)
print(made, sum(repeats.sift.stats.cache_hits.values()), compiled.kept_in())
"""


def ask(root: Path) -> tuple[int, int, Path]:
    """Result of the loop, whether kept code was used, and the folder of it."""
    env = {**os.environ, "PYTHONPATH": str(root)}
    env.pop("NUMBA_CACHE_DIR", None)
    said = subprocess.run([sys.executable, "-c", ASK], env=env, capture_output=True, text=True, check=True)
    made, hits, folder = said.stdout.split()
    return int(made), int(hits), Path(folder)


def test_an_edit_in_a_called_loop_is_noticed(tmp_path: Path) -> None:
    package = tmp_path / "leadoff" / "memory" / "kernels"
    shutil.copytree(compiled.SOURCES, package, ignore=shutil.ignore_patterns("__pycache__"))
    for folder in (package.parent, package.parent.parent):
        (folder / "__init__.py").touch()
    first = ask(tmp_path)
    assert first[:2] == (1, 0)  # all of one line: the first is left, compiled
    assert ask(tmp_path) == (1, 1, first[2])  # kept
    source = package / "repeats.py"
    before = source.stat()
    text = source.read_text(encoding="utf-8")
    edited = text.replace("keys[j] = u32(", "keys[j] = u32(j * 16) | u32(", 1)
    assert edited != text
    # Only an inner loop changes, and the file's time not at all.
    source.write_text(edited, encoding="utf-8")
    os.utime(source, ns=(before.st_atime_ns, before.st_mtime_ns))
    made, hits, folder = ask(tmp_path)
    assert (made, hits) == (4, 0)
    assert folder != first[2]


def test_every_source_is_in_the_digest(tmp_path: Path) -> None:
    shutil.copytree(compiled.SOURCES, tmp_path / "a", ignore=shutil.ignore_patterns("__pycache__"))
    assert compiled.digest(tmp_path / "a") == compiled.digest()
    seen = {compiled.digest()}
    for path in sorted((tmp_path / "a").glob("*.py")):
        path.write_bytes(path.read_bytes() + b"\n")
        seen.add(compiled.digest(tmp_path / "a"))
    assert len(seen) == 1 + len(list(compiled.SOURCES.glob("*.py")))
