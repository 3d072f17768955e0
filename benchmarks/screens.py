"""Text screens read, side by side with a general OCR: ``python benchmarks/screens.py [--screens 8] [--ocr 3]``.

Pictures are painted by tests/evidence/screens_paint.py (three layouts), spoilt, and read with the grid found by the
reader itself. ``wrong`` are cells read otherwise than painted; ``error`` is edit distance over length with frames
taken out and blanks collapsed, the same for both readers. Times are without decoding the file, CPU seconds of this
process for ours, wall seconds for tesseract (Debian package tesseract-ocr, page mode 6). ``--ocr 0`` leaves it out.
``--emulator 16`` reads screens that QEMU shows instead (firmware, character set, digits in 25 and 50 rows).
"""

from __future__ import annotations

import argparse
import importlib.util
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

from leadoff.evidence.screens.picture import picture_of
from leadoff.evidence.screens.reader import read_screen
from leadoff.evidence.screens.single import one_thread
from leadoff.record.errors import LeadoffError

ROOT = Path(__file__).resolve().parent.parent
HD: dict[str, Any] = {"size": (1440, 1080), "canvas": (1920, 1080), "at": (240, 0)}
KINDS: tuple[tuple[str, dict[str, Any], dict[str, Any]], ...] = (
    ("640x400 native", {"width": 8}, {}),
    ("720x400 native", {}, {}),
    ("720x400 native, 50 rows", {"height": 8, "rows": 50}, {}),
    ("740x420, offset, JPEG 90", {}, {"canvas": (740, 420), "at": (13, 7), "jpeg": 90}),
    ("720x400, noise 10, JPEG 60", {}, {"noise": 10, "jpeg": 60}),
    ("1080p 4:3, blur, JPEG 75", {}, {**HD, "blur": 0.7, "jpeg": 75}),
    ("1080p wide, blur, noise, JPEG 60", {}, {"size": (1920, 1080), "blur": 1.0, "noise": 8, "jpeg": 60}),
    (
        "1080p overscan, JPEG 80",
        {},
        {"size": (1340, 1010), "canvas": (1920, 1080), "at": (289, 31), "blur": 0.8, "jpeg": 80},
    ),
    ("1080p 4:3, 50 rows, JPEG 75", {"height": 8, "rows": 50}, {**HD, "blur": 0.7, "jpeg": 75}),
    ("640x480, shrunk, JPEG 85", {}, {"size": (640, 480), "jpeg": 85}),
)


def helper(name: str) -> ModuleType:
    """A helper of the tests."""
    spec = importlib.util.spec_from_file_location(name, ROOT / f"tests/evidence/{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def words(lines: list[str]) -> str:
    """Text for comparing: no frames, blanks collapsed."""
    text = re.sub(r"[─-▟|]", " ", "\n".join(lines))
    return "\n".join(" ".join(line.split()) for line in text.splitlines() if line.strip())


def error(read: str, truth: str) -> float:
    """Edit distance over length of the truth."""
    before = np.arange(len(truth) + 1)
    codes = np.array([ord(c) for c in truth])
    for n, sign in enumerate(read, start=1):
        cost = np.minimum(before[1:] + 1, before[:-1] + (codes != ord(sign)))
        row = np.concatenate([[n], cost])
        row = np.minimum.accumulate(row - np.arange(len(row))) + np.arange(len(row))
        before = row
    return float(before[-1]) / max(1, len(truth))


def ocr(image: Any, folder: Path) -> tuple[str, float]:
    """What tesseract reads, and its seconds."""
    image.save(folder / "x.png")
    start = time.perf_counter()
    done = subprocess.run(
        ["tesseract", str(folder / "x.png"), "-", "--psm", "6"], capture_output=True, text=True, check=False
    )
    return done.stdout, time.perf_counter() - start


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--screens", type=int, default=8, help="screens of each layout")
    parser.add_argument("--ocr", type=int, default=1, help="of these, how many tesseract reads too")
    parser.add_argument(
        "--emulator", type=int, default=0, metavar="N", help="instead: N screens of an emulator"
    )
    given = parser.parse_args()
    if given.ocr and shutil.which("tesseract") is None:
        sys.exit("tesseract is not installed: apt-get install tesseract-ocr tesseract-ocr-eng, or --ocr 0")
    sp = helper("screens_paint")
    if given.emulator:
        emulated(sp, given.emulator)
        return
    heads = f"{'pictures':34} {'n':>4} {'wrong':>8} {'inked':>8} {'digits wrong/all':>17} {'error':>7}"
    print(f"{heads} {'ms':>6} {'90%':>5} {'unread':>6} | tesseract error  s")
    with tempfile.TemporaryDirectory() as place:
        for name, how, spoilt in KINDS:
            print(line_for(sp, name, how, spoilt, given, Path(place)), flush=True)


def emulated(sp: ModuleType, screens: int) -> None:
    """Screens that a general-purpose emulator shows, against its text memory: as sent, and as captured in HD."""
    from PIL import Image

    with tempfile.TemporaryDirectory() as place:
        shots = helper("screens_emulator").captured(Path(place), screens)
        for name, spoilt in (
            ("as sent", {}),
            ("720x400, JPEG 60", {"jpeg": 60}),
            ("1080p 4:3, blur, JPEG 75", {**HD, "blur": 0.7, "jpeg": 75}),
        ):
            cells = wrong = digits = digits_wrong = 0
            for shot in shots:
                image = sp.spoil(Image.open(shot.picture).convert("RGB"), **spoilt)
                bad = sp.wrong_cells(read_screen(picture_of(image)).lines, shot.lines)
                cells += sum(map(len, shot.lines))
                wrong += len(bad)
                digits += sum(sign.isdigit() for line in shot.lines for sign in line)
                digits_wrong += sum(true.isdigit() for _, _, true, _ in bad)
            print(
                f"{name:26} {len(shots)} screens: {wrong} of {cells} cells, {digits_wrong} of {digits} digits wrong"
            )


def line_for(
    sp: ModuleType,
    name: str,
    how: dict[str, Any],
    spoilt: dict[str, Any],
    given: argparse.Namespace,
    place: Path,
) -> str:
    """One line of the table."""
    rows = how.get("rows", 25)
    style = {k: v for k, v in how.items() if k != "rows"}
    cells = wrong = inked = ink_wrong = digits = digits_wrong = unread = 0
    errors: list[float] = []
    times: list[float] = []
    other: list[tuple[float, float]] = []
    for layout in sp.LAYOUTS:
        for seed in range(given.screens):
            lines, attributes = layout(random.Random(seed * 977 + 5), 80, rows)
            image = sp.spoil(sp.paint(lines, attributes, **style).image, **spoilt, seed=seed)
            picture = picture_of(image)
            start = time.process_time()
            try:
                with one_thread():
                    read = list(read_screen(picture).lines)
            except LeadoffError:
                unread += 1
                continue
            times.append((time.process_time() - start) * 1e3)
            bad = {(r, c) for r, c, _, _ in sp.wrong_cells(tuple(read), lines)}
            cells += 80 * rows
            wrong += len(bad)
            for r, text in enumerate(lines):
                for c, sign in enumerate(text):
                    inked += sign != " "
                    ink_wrong += sign != " " and (r, c) in bad
                    digits += sign.isdigit()
                    digits_wrong += sign.isdigit() and (r, c) in bad
            errors.append(error(words(read), words(lines)))
            if seed < given.ocr:
                text, seconds = ocr(image, place)
                other.append((error(words(text.splitlines()), words(lines)), seconds))
    n = len(times)
    if not n:
        return f"{name:34} {0:4} all {unread} unread"
    compared = f"{np.mean([e for e, _ in other]):.3f} {np.mean([s for _, s in other]):6.2f}" if other else "-"
    return (
        f"{name:34} {n:4} {wrong / cells:8.4%} {ink_wrong / inked:8.4%} {digits_wrong:8}/{digits:<8}"
        f" {np.mean(errors):7.4f} {np.median(times):6.0f} {np.percentile(times, 90):5.0f} {unread:6} | {compared}"
    )


if __name__ == "__main__":
    main()
