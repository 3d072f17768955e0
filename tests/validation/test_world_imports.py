"""The referee stands on the record floor alone."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import leadoff.validation.worlds as worlds

FOLDER = Path(worlds.__file__).parent
ALLOWED = {"numpy", "leadoff.record", "leadoff.validation"}


def imported(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path.name}: relative import"
            found.add(node.module)
    return found


def test_imports_are_record_numpy_and_the_standard_library() -> None:
    files = sorted(FOLDER.glob("*.py"))
    assert len(files) > 10
    for path in files:
        for name in imported(path):
            top = name.split(".")[0]
            known = top in sys.stdlib_module_names or any(
                name == a or name.startswith(a + ".") for a in ALLOWED
            )
            assert known, f"{path.name} imports {name}"


def test_nothing_else_of_the_house_is_loaded() -> None:
    code = (
        "import sys, leadoff.validation.tour, leadoff.validation.worlds;"
        "print(sorted({m.split('.')[1] for m in sys.modules if m.startswith('leadoff.')}))"
    )
    out = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout
    assert out.strip() == "['record', 'validation']"
