"""Runs the console blocks of README.md in a book of their own; shows or writes what they really print.

python tools/readme.py          compare, exit 1 where README differs
python tools/readme.py --write  put the true output into README.md
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(r"^```console\n(.*?)^```$", re.M | re.S)


def run(command: str, env: dict[str, str]) -> str:
    """What a ``leadoff ...`` command prints, errors after the answer, in the checkout's folder."""
    words = shlex.split(command)
    assert words[0] == "leadoff", f"README shows a command that is not ours: {command}"
    done = subprocess.run(
        [sys.executable, "-m", "leadoff", *words[1:]],
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=env,
        cwd=ROOT,
        timeout=120,
    )
    assert done.returncode in (0, 1), f"{command} ended with {done.returncode}: {done.stderr}"
    lines = (done.stdout + done.stderr).splitlines()
    return "\n".join(line.rstrip() for line in lines).rstrip()


def true_text(text: str) -> str:
    """README with each console block's output replaced by the true one, run in order in one new book."""
    with tempfile.TemporaryDirectory() as folder:
        places = {name: str(Path(folder) / name.lower()) for name in ("LEADOFF_CONFIG", "LEADOFF_CACHE")}
        env = {**os.environ, **places, "LEADOFF_BOOK": str(Path(folder) / "book.db"), "LEADOFF_WIDTH": "96"}

        def again(block: re.Match[str]) -> str:
            commands = [line[2:] for line in block[1].splitlines() if line.startswith("$ ")]
            shown = [f"$ {c}\n{run(c, env)}".rstrip() for c in commands]
            return "```console\n" + "\n\n".join(shown) + "\n```"

        return BLOCK.sub(again, text)


def main() -> int:
    path = ROOT / "README.md"
    text = path.read_text(encoding="utf-8")
    true = true_text(text)
    if "--write" in sys.argv:
        path.write_text(true, encoding="utf-8")
        return 0
    if true != text:
        print("README.md shows output that the commands do not print: python tools/readme.py --write")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
