"""Dumps captured from a machine that runs: a general-purpose emulator boots a floppy that dumps itself.

Sources beside our readers: biosdecode and dmidecode on the same memory, lspci -F on the same text.
"""

from __future__ import annotations

import shutil
import socket
import subprocess
import time
from pathlib import Path

import pytest
from evidence_files import tool, written
from evidence_tools import reading, values

from leadoff.catalogue import load
from leadoff.evidence.facts import Hints, Source
from leadoff.evidence.sniff import read_source

SECONDS = 25.0


class Captured:
    """What one start left: the serial text, the first megabyte, the codes written to port 80h."""

    def __init__(self, folder: Path, cpu: str, *extra: str) -> None:
        image = folder / "floppy.img"
        assembler, emulator = shutil.which("nasm"), shutil.which("qemu-system-i386")
        assert assembler, "nasm and qemu-system-x86 are installed by .ci/run"
        assert emulator
        source = Path(__file__).with_name("boot.asm")
        subprocess.run([assembler, "-f", "bin", "-o", str(image), str(source)], check=True, timeout=60)
        with image.open("r+b") as file:
            file.truncate(1474560)
        serial, monitor, codes = folder / "serial", folder / "monitor", folder / "codes"
        command = [
            emulator, "-cpu", cpu, "-m", "8", "-display", "none", "-nodefaults", "-no-reboot", *extra,
            "-drive", f"file={image},format=raw,if=floppy,readonly=on", "-boot", "a", "-serial", f"file:{serial}",
            "-chardev", f"file,id=p,path={codes}", "-device", "isa-debugcon,iobase=0x80,chardev=p",
            "-rtc", "base=1997-06-14T12:00:00", "-monitor", f"unix:{monitor},server,nowait",
        ]  # fmt: skip
        running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        try:
            self._wait(running, lambda: serial.exists() and b"\nEND" in serial.read_bytes())
            memory = folder / "memory"
            with socket.socket(socket.AF_UNIX) as line:
                line.connect(str(monitor))
                line.sendall(f'pmemsave 0 0x100000 "{memory}"\n'.encode())
                self._wait(running, lambda: memory.exists() and memory.stat().st_size == 0x100000)
        finally:
            running.kill()
            running.wait()
        self.text, self.memory, self.codes = serial.read_bytes(), memory.read_bytes(), codes.read_bytes()

    @staticmethod
    def _wait(running: subprocess.Popen[bytes], there: object) -> None:
        assert callable(there)
        end = time.monotonic() + SECONDS
        while not there():
            assert running.poll() is None, running.stderr.read() if running.stderr else ""
            assert time.monotonic() < end, "the emulator did not come so far"
            time.sleep(0.02)


@pytest.fixture(scope="module")
def machine(tmp_path_factory: pytest.TempPathFactory) -> Captured:
    return Captured(tmp_path_factory.mktemp("machine"), "486", "-machine", "pc", "-vga", "std")


@pytest.mark.reference
def test_memory_after_start_holds_what_the_tools_find(machine: Captured, tmp_path: Path) -> None:
    from evidence_tools import our_tables, their_tables

    ours = our_tables(machine.memory)
    theirs = their_tables(tmp_path, machine.memory)
    # The tool looks at upper memory only; we look for MP and ACPI in low memory too.
    assert [t for t in ours if t in theirs] == theirs
    assert {kind for kind, _ in ours} >= {"pnp", "services32", "pci_routing", "smbios", "acpi"}
    printed = tool("dmidecode", "-d", written(tmp_path, "memory.1M", machine.memory)).stdout
    smbios = values(reading(machine.memory, "firmware").facts, "smbios.")
    assert f"Vendor: {smbios['firmware.vendor']}" in printed
    assert f"Release Date: {smbios['firmware.date']}" in printed


@pytest.mark.reference
def test_configuration_space_as_lspci_lists_it(machine: Captured, tmp_path: Path) -> None:
    text = machine.text[machine.text.index(b"00:00.0 dump") : machine.text.index(b"END")]
    read = reading(text, "pci")
    listed = tool("lspci", "-n", "-F", written(tmp_path, "pci", text)).stdout.splitlines()
    mine = {f.about: f.value for f in read.facts if f.key == "pci.id"}
    kinds = {f.about: f.value for f in read.facts if f.key == "pci.class"}
    assert [x.split(" (")[0] for x in listed] == [
        f"{slot} {kinds[slot]}: {key}" for slot, key in mine.items()
    ]
    assert len(mine) >= 5


@pytest.mark.reference
def test_clock_ram_of_a_running_machine(machine: Captured) -> None:
    # known of this emulator: no checksum is written, the date is the one it was given
    rows = b"\n".join(x for x in machine.text.splitlines() if x.startswith(b"CMOS"))
    found = values(reading(rows).facts)
    assert found["clock.date"] == "97-06-14"
    assert found["clock.time"].startswith("12:00:")
    assert (found["cmos.checksum"], found["cmos.kept"]) == ("differs", "doubtful")
    assert (found["cmos.base_kb"], found["cmos.extended_found_kb"]) == ("640", "7168")


@pytest.mark.reference
def test_start_codes_of_a_running_machine(machine: Captured) -> None:
    found = values(reading(machine.codes, "post").facts, "post.")
    assert found["sequence"].endswith("01 05 5A")
    assert found["last"] == "5A"


@pytest.mark.reference
def test_an_emulator_is_told_from_a_bench(machine: Captured) -> None:
    read = reading(machine.text, "cpuid")
    assert "hypervisor" in values(read.facts)["cpu.emulator"]
    assert not any(f.setting in ("cpu", "l1_policy") for f in read.facts)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("cpu", "vendor", "sign", "core"),
    [
        # Source: signatures in Linux arch/x86/kernel/cpu/intel.c (legacy models), Am486 data sheet 20736 section 9.2
        ("486", "GenuineIntel", "0480", "486dx4"),
        ("pentium", "GenuineIntel", "0543", "p55c"),
        ("486,vendor=AuthenticAMD,family=4,model=14,stepping=4", "AuthenticAMD", "04E4", ""),
        ("pentium,vendor=CyrixInstead,family=5,model=2,stepping=7", "CyrixInstead", "0527", ""),
    ],
)
def test_identification_of_other_parts(cpu: str, vendor: str, sign: str, core: str, tmp_path: Path) -> None:
    text = Captured(tmp_path, cpu, "-machine", "isapc", "-vga", "none").text
    read = read_source(Source.of("serial", text), Hints(kind="cpuid", catalogue=load(cache_dir=tmp_path)))
    found = values(read.facts, "cpu.")
    assert (found["vendor"], found["signature"]) == (vendor, sign)
    assert found["core"]
    assert core in found["core"].split(", ") or not core
