"""What the reference tools say of a file, in the words of our facts, so that fields can be compared."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from evidence_files import megabyte, tool, written

from leadoff.evidence.facts import Fact, Hints, Reading, Source
from leadoff.evidence.sniff import read_source

Table = tuple[str, tuple[tuple[str, str], ...]]


def reading(data: bytes, kind: str = "", name: str = "file") -> Reading:
    return read_source(Source.of(name, data), Hints(kind=kind))


def values(facts: Sequence[Fact], prefix: str = "") -> dict[str, str]:
    """Key to value as text, the last of each key."""
    out = {}
    for f in facts:
        if f.key.startswith(prefix):
            out[f.key.removeprefix(prefix)] = f"{f.value:g}" if isinstance(f.value, float | int) else f.value
    return out


def our_tables(data: bytes) -> list[Table]:
    """Tables whose sum is right, in the order of their addresses, with the fields that biosdecode prints too."""
    from leadoff.evidence.firmware.image import Image
    from leadoff.evidence.firmware.tables import find_tables

    out: list[Table] = []
    for t in sorted(find_tables(Image(data=data)), key=lambda t: t.address):
        if not t.good:
            continue
        f = t.fields
        shown: dict[str, str] = {"version": t.version}
        if t.kind == "pnp":
            shown |= {
                "event": {0: "Not Supported", 1: "Polling", 2: "Asynchronous"}.get(
                    int(f["control"]) & 3, "?"
                ),
                "real": str(f["real_entry"]),
                "protected": f"{int(f['protected_entry']):08X}",
                "data": f"{int(f['real_data']):04X}",
                "protected_data": f"{int(f['protected_data']):08X}",
            }
        elif t.kind == "services32":
            shown["entry"] = f"{int(f['entry']):08X}"
        elif t.kind == "pci_routing":
            shown |= {"router": str(f["router"]), "irqs": _irqs(int(f["exclusive_irqs"]))}
            if f["compatible"] != "0000:0000":
                shown["compatible"] = str(f["compatible"])
            for n in range(int(f["slots"])):
                shown[f"slot_{n}"] = _slot(str(f[f"slot_{n}"]))
        elif t.kind in ("smbios", "dmi"):
            shown |= {
                "length": str(f["length"]),
                "table": f"{int(f['table']):08X}",
                "structures": str(f["structures"]),
            }
        elif t.kind == "mp":
            shown |= {"table": f"{int(f['table']):08X}" if f["table"] and not f["default"] else "none"}
        elif t.kind == "acpi":
            shown |= {"oem": str(f["oem"]), "rsdt": f"{int(f['rsdt']):08X}"}
        out.append((t.kind, tuple(sorted(shown.items()))))
    return out


def _irqs(bitmap: int) -> str:
    return " ".join(str(n) for n in range(16) if bitmap >> n & 1) or "None"


def _slot(text: str) -> str:
    """Our routing row in the words of the tool: link 0 is a pin without a wire."""
    place, *pins, _, number = text.split()
    shown = []
    for p in pins:
        letter, link, bitmap = p.replace("/", ":").split(":")
        if int(link, 16):
            shown.append(f"{letter} {link} {_irqs(int(bitmap, 16))}")
    return f"{place} {number}: {'; '.join(shown)}"


HEADS = {
    "PCI Interrupt Routing": "pci_routing",
    "PNP BIOS": "pnp",
    "Intel Multiprocessor": "mp",  # as biosdecode prints it (source: its manual page)
    "ACPI": "acpi",
    "BIOS32 Service Directory": "services32",
    "SMBIOS": "smbios",
    "Legacy DMI": "dmi",
}


def their_tables(folder: Path, image: bytes) -> list[Table]:
    """What biosdecode 3.x prints of the same image at its addresses."""
    done = tool("biosdecode", "-d", written(folder, "image.1M", megabyte(image)), "--pir", "full")
    assert done.returncode == 0, done.stderr
    blocks: list[tuple[str, str, list[str]]] = []
    for line in done.stdout.split("\n"):
        head = re.match(r"(.+?)(?: (\d+\.\d+))? present\.$", line)
        if head and head[1] in HEADS:
            blocks.append((HEADS[head[1]], head[2] or "", []))
        elif blocks and line.startswith("\t"):
            blocks[-1][2].append(line.strip())
    return [_theirs(*b) for b in blocks]


def _theirs(kind: str, version: str, lines: Sequence[str]) -> Table:
    keyed = dict(line.split(": ", 1) for line in lines if ": " in line)
    shown = {"version": version or keyed.get("Specification Revision", keyed.get("Revision", ""))}

    def hexed(name: str) -> str:
        return keyed[name].split()[0].removeprefix("0x")

    if kind == "pnp":
        shown |= {
            "event": keyed["Event Notification"],
            "real": keyed["Real Mode 16-bit Code Address"],
            "protected": hexed("16-bit Protected Mode Code Address"),
            "data": keyed["Real Mode 16-bit Data Address"].split(":")[0],
            "protected_data": hexed("16-bit Protected Mode Data Address"),
        }
    elif kind == "services32":
        shown["entry"] = hexed("Calling Interface Address")
    elif kind == "pci_routing":
        shown |= {"router": keyed["Router Device"], "irqs": keyed["Exclusive IRQs"]}
        if "Compatible Router" in keyed:
            shown["compatible"] = keyed["Compatible Router"]
        slots = _their_slots(lines)
        shown |= {f"slot_{n}": s for n, s in enumerate(slots)}
    elif kind in ("smbios", "dmi"):
        shown |= {
            "length": hexed("Structure Table Length"),
            "table": hexed("Structure Table Address"),
            "structures": hexed("Number Of Structures"),
        }
    elif kind == "mp":
        shown["table"] = (
            hexed("Configuration Table Address") if "Configuration Table Address" in keyed else "none"
        )
    elif kind == "acpi":
        oem = "".join(c if " " <= c < "\x7f" else "." for c in keyed.get("OEM Identifier", "")[:6])
        shown |= {"oem": oem.strip(), "rsdt": hexed("RSD Table 32-bit Address")}
    return kind, tuple(sorted(shown.items()))


def _their_slots(lines: Sequence[str]) -> list[str]:
    out: list[str] = []
    for line in lines:
        head = re.match(r"Device: ([0-9a-f]{2}:[0-9a-f]{2}), (?:slot (\d+)|on-board)", line)
        pin = re.match(r"INT([A-D])#: Link 0x([0-9a-f]{2}), IRQ Bitmap ?(.*)$", line)
        if head:
            out.append(f"{head[1]} {head[2] or 0}:")
        elif pin and out:
            joint = " " if out[-1].endswith(":") else "; "
            out[-1] += f"{joint}{pin[1]} {pin[2]} {pin[3].strip()}"
    return out


def explained(kind: str, fields: dict[str, str]) -> str:
    """Why the tool shows a table that we do not: its sum is right and its version is none there ever was."""
    version = fields["version"]
    if kind == "pnp" and not version.startswith("1."):
        return "plug-and-play entries have version 1.x"
    if kind == "services32" and version != "0":
        return "the 32-bit service directory has revision 0 only"
    if kind == "mp" and version not in ("1.1", "1.4"):
        return "multiprocessor tables have revision 1 or 4"
    if kind == "acpi" and not version:
        return "ACPI pointers have revision 0 to 2"
    if kind == "dmi" and version.split(".")[0] not in ("0", "2"):
        return "the older DMI entry has version 2.x"
    return ""
