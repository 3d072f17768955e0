"""Builds the workload kit, traces it and makes the shipped profiles: ``python workloads/build.py``.

Needs a C compiler with ``-fsanitize=thread`` (its access hooks only: no sanitizer library is linked) and, for
instruction counts, valgrind. Steps for each workload: compile with hooks and without, run both and compare check
sums, trace UNITS units of work, count instructions of one unit and of several by cachegrind and take the difference,
make the profile. ``--check`` compares hooks with lackey on one small program instead; ``--keep DIR`` keeps traces,
``--report`` prints how well each shipped family is foretold by the others.
"""

from __future__ import annotations

import argparse
import os
import platform
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from leadoff.memory.profile import Profile
    from leadoff.memory.traces import Trace

HERE = Path(__file__).resolve().parent
TARGET = HERE.parent / "src" / "leadoff" / "memory" / "data" / "profiles.npz"
FLAGS = ["-O2", "-std=gnu11", "-Wall", "-Wextra", "-fno-strict-aliasing", "-fno-tree-vectorize"]
FLAGS += ["-fno-tree-loop-distribute-patterns", "-ffp-contract=off"]
WORKLOADS = {
    "render": ("textured software renderer, spans with depth buffer, 320 by 200", 3),
    "intmix": ("whole numbers and pointers: hash chains, sorting, tree", 10),
    "blit": ("copying and drawing blocks, scrolling", 6),
    "matrix": ("coprocessor arithmetic: elimination and transform", 4),
    "windows64": ("real-mode-like drawing through 64 KB windows", 12),
    "packing": ("table-driven packing in memory", 4),
}


def compile_kit(folder: Path, name: str, compiler: str = "cc") -> tuple[Path, Path]:
    """The traced and the plain program of a workload."""
    traced, plain = folder / f"{name}-traced", folder / name
    work = folder / f"{name}.o"
    run(
        [
            compiler,
            *FLAGS,
            "-DKIT_TRACED",
            "-fsanitize=thread",
            "-c",
            str(HERE / f"{name}.c"),
            "-o",
            str(work),
        ]
    )
    # Linked without the sanitizer: the hooks are ours, its library is not wanted.
    run(
        [
            compiler,
            *FLAGS,
            "-no-pie",
            str(work),
            str(HERE / "hooks.c"),
            str(HERE / "main.c"),
            "-lm",
            "-o",
            str(traced),
        ]
    )
    sources = [str(HERE / f) for f in (f"{name}.c", "plain.c", "main.c")]
    run([compiler, *FLAGS, "-no-pie", *sources, "-lm", "-o", str(plain)])
    return traced, plain


def trace(folder: Path, name: str, units: int) -> tuple[Path, Path]:
    """The raw trace of a workload and its plain program, after both gave the same check sum."""
    traced, plain = compile_kit(folder, name)
    raw = folder / f"{name}.raw"
    said = run([str(traced), str(units)], env={**os.environ, "KIT_TRACE": str(raw)})
    if said != run([str(plain), str(units)]):
        raise SystemExit(f"{name}: traced and plain build disagree: {said}")
    return raw, plain


def instructions(program: Path, units: int) -> int | None:
    """Instructions of units 2 to ``units``, by cachegrind; ``None`` without valgrind."""
    counts = []
    for n in (1, units):
        command = ["valgrind", "--tool=cachegrind", "--cache-sim=no", "--cachegrind-out-file=/dev/null"]
        try:
            done = subprocess.run(
                [*command, str(program), str(n)], capture_output=True, text=True, check=True
            )
        except FileNotFoundError:
            return None
        found = re.search(r"I +refs: +([\d,]+)", done.stderr)
        if found is None:
            raise SystemExit(f"cachegrind printed no instruction count: {done.stderr[-300:]}")
        counts.append(int(found[1].replace(",", "")))
    return counts[1] - counts[0]


def say(line: str) -> None:
    """One line of progress."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def run(command: list[str], env: dict[str, str] | None = None) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True, env=env).stdout


def versions() -> dict[str, str]:
    """What made the profiles."""
    first = run(["cc", "--version"]).splitlines()[0]
    try:
        grind = run(["valgrind", "--version"]).strip()
    except FileNotFoundError:
        grind = "none"
    import numba
    import numpy

    return {
        "compiler": first,
        "flags": " ".join(FLAGS),
        "valgrind": grind,
        "python": platform.python_version(),
        "numpy": numpy.__version__,
        "numba": numba.__version__,
        "script": "workloads/build.py",
        "assumed": (
            "64-bit build with 32-bit data and links; spills of registers to the stack and instruction fetches are "
            "not traced; rates are carried over per data reference"
        ),
    }


def check(folder: Path) -> int:
    """Hooks against lackey: misses of the second unit of one program by both. Returns 1 when over 15 % apart.

    Setting up and the program's start are in lackey's trace, so a run of one unit is taken from a run of two.
    """
    from leadoff.memory.geometry import Cache, Hierarchy
    from leadoff.memory.simulate import simulate
    from leadoff.memory.traces import from_hooks

    raw, plain = trace(folder, "windows64", 2)
    hooks = from_hooks(raw)
    first = hooks.unit(0, 1)
    one, two = lackey_trace(plain, 1), lackey_trace(plain, 2)
    say(f"references of a unit: hooks {len(hooks) - len(first)}, lackey {len(two) - len(one)}")
    worst = 0.0
    for size in (8, 16):
        shape = Hierarchy(l1=Cache(size_kb=size, ways=4, allocate=True), l2=Cache(size_kb=128, allocate=True))
        by_hooks = zip(simulate(hooks, shape).levels, simulate(first, shape).levels, strict=True)
        by_lackey = zip(simulate(two, shape).levels, simulate(one, shape).levels, strict=True)
        for level, ((h2, h1), (l2, l1)) in enumerate(zip(by_hooks, by_lackey, strict=True), start=1):
            ours, theirs = h2.misses - h1.misses, l2.misses - l1.misses
            worst = max(worst, abs(ours / theirs - 1)) if level == 1 else worst
            say(
                f"first level {size} KB, level {level}: hooks {ours} lackey {theirs} ratio {ours / theirs:.3f}"
            )
    return int(worst > 0.15)


def lackey_trace(program: Path, units: int) -> Trace:
    """Data references of a plain program by lackey, read from its pipe."""
    from leadoff.memory.trace_text import read_lines

    command = ["valgrind", "--tool=lackey", "--trace-mem=yes", str(program), str(units)]
    with subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL) as child:
        if child.stderr is None:
            raise SystemExit("no pipe from valgrind")
        return read_lines(child.stderr, name=program.name, code=False)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    parser.add_argument(
        "--report", action="store_true", help="print leave-one-out errors of the shipped profiles"
    )
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--only", nargs="*", default=list(WORKLOADS))
    parser.add_argument("--out", type=Path, default=TARGET)
    given = parser.parse_args()
    if given.report:
        from leadoff.memory.profile import shipped

        report(tuple(shipped()[0].values()))
        return 0
    with tempfile.TemporaryDirectory() as temporary:
        folder = given.keep or Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        if given.check:
            return check(folder)
        from leadoff.memory.profile import save_profiles
        from leadoff.memory.profiling import make_profile
        from leadoff.memory.traces import from_hooks

        made = []
        for name in given.only:
            text, units = WORKLOADS[name]
            raw, plain = trace(folder, name, units)
            profile = make_profile(
                from_hooks(raw, name), name, text=text, instructions=instructions(plain, units)
            )
            say(f"{name}: {profile.references} references, {profile.instructions} instructions")
            made.append(profile)
        save_profiles(given.out, tuple(made), versions())
        if len(made) > 1:
            report(tuple(made))
    return 0


def report(made: tuple[Profile, ...]) -> None:
    """Errors in logs of foretelling each workload by the others."""
    from leadoff.memory.left_out import left_out_of

    for e in left_out_of(made):
        wins = "prior" if e.prior_wins else "profiles"
        figures = f"middle {e.median_log_error:.2f} worst {e.worst_log_error:.2f} band {e.band:.2f}"
        say(f"left out {e.family:10} {e.quantity:11} {figures}: {wins}")


if __name__ == "__main__":
    sys.exit(main())
