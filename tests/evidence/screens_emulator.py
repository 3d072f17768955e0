"""Text screens of an emulated display card, each with its text memory at the same moment: what is really shown."""

from __future__ import annotations

import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

SECONDS = 60.0
LOW = " ☺☻♥♦♣♠•◘○◙♂♀♪♫☼►◄↕‼¶§▬↨↑↓→←∟↔▲▼"
"""What codes 00h to 1Fh show. Source: the table "IBM437" of Unicode's mappings with its graphic control signs."""


class Shot(NamedTuple):
    """A still, and the rows that its text memory holds."""

    picture: Path
    lines: list[str]


def shown(text: bytes) -> list[str]:
    """Rows of text memory as signs; cells that are lit or dark throughout are blank, as nobody can tell."""
    signs = (LOW + bytes(range(0x20, 0x100)).decode("cp437")).translate({0x7F: "⌂", 0xA0: " ", ord("█"): " "})
    row = "".join(signs[code] for code in text[::2])
    return [row[n : n + 80] for n in range(0, len(row), 80)]


def captured(folder: Path, screens: int) -> list[Shot]:
    """The firmware's own screen, every code of the character set, then screens of digits with 25 and 50 rows."""
    assembler, emulator = shutil.which("nasm"), shutil.which("qemu-system-i386")
    assert assembler, "nasm and qemu-system-x86 are installed by .ci/run"
    assert emulator
    disk, monitor = folder / "screens.img", folder / "monitor"
    source = Path(__file__).with_name("screens.asm")
    subprocess.run([assembler, "-f", "bin", "-o", str(disk), str(source)], check=True, timeout=60)
    with disk.open("r+b") as file:
        file.truncate(1474560)
    command = [
        emulator, "-machine", "pc", "-cpu", "486", "-m", "8", "-display", "none", "-nodefaults", "-vga", "std",
        "-drive", f"file={disk},format=raw,if=floppy,readonly=on", "-boot", "a", "-no-reboot",
        "-monitor", f"unix:{monitor},server,nowait",
    ]  # fmt: skip
    with running(command) as machine:
        _until(machine, monitor.exists)
        with socket.socket(socket.AF_UNIX) as line:
            line.settimeout(SECONDS)
            line.connect(str(monitor))
            _answer(line)
            return [_shot(line, folder, n) for n in range(screens)]


@contextmanager
def running(command: list[str]) -> Iterator[subprocess.Popen[bytes]]:
    """The emulator, ended whatever happens."""
    machine = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        yield machine
    finally:
        machine.kill()
        machine.wait()


def _shot(line: socket.socket, folder: Path, n: int) -> Shot:
    if n:
        _tell(line, "sendkey a")
    deadline = time.monotonic() + SECONDS
    while _memory(line, folder, 0x500, 1) != bytes([n + 1]):
        assert time.monotonic() < deadline, f"screen {n} was not drawn"
        time.sleep(0.05)
    picture = folder / f"screen-{n}.ppm"
    time.sleep(0.1)
    _tell(line, f'screendump "{picture}"')
    high = 50 if n % 2 and n > 1 else 25
    return Shot(picture, shown(_memory(line, folder, 0xB8000, high * 160)))


def _memory(line: socket.socket, folder: Path, at: int, size: int) -> bytes:
    file = folder / "memory.bin"
    _tell(line, f'pmemsave {at:#x} {size} "{file}"')
    return file.read_bytes()


def _tell(line: socket.socket, words: str) -> None:
    line.sendall(f"{words}\n".encode())
    _answer(line)


def _answer(line: socket.socket) -> None:
    """Read up to the next prompt: the command before it is done then."""
    heard = b""
    while not heard.endswith(b"(qemu) "):
        more = line.recv(65536)
        assert more, "the emulator closed its monitor"
        heard += more


def _until(machine: subprocess.Popen[bytes], there: object) -> None:
    assert callable(there)
    deadline = time.monotonic() + SECONDS
    while not there():
        assert machine.poll() is None, "the emulator ended"
        assert time.monotonic() < deadline, "the emulator did not start"
        time.sleep(0.02)
