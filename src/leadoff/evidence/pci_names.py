"""Names of PCI parts from the list that the system has; read at run time, never shipped."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path

import msgspec

PLACES = (
    "/usr/share/misc/pci.ids",
    "/usr/share/hwdata/pci.ids",
    "/usr/share/pci.ids",
    "/var/lib/pciutils/pci.ids",
)
OWN = "LEADOFF_PCI_IDS"


class Names(msgspec.Struct, frozen=True, kw_only=True):
    """Names by id: vendors ``8086``, devices ``8086:1237``, classes ``06`` and ``0600``. ``version`` of the list."""

    names: Mapping[str, str] = {}
    classes: Mapping[str, str] = {}
    version: str = ""
    path: str = ""


def names_of(ids: Iterable[tuple[int, int]]) -> Names:
    """Names of these vendor and device numbers; empty where the system has no list."""
    own = os.environ.get(OWN)
    for place in (own,) if own else PLACES:
        try:
            with Path(place).open(encoding="utf-8", errors="replace") as file:
                return _read(file, {(f"{v:04x}", f"{d:04x}") for v, d in ids}, place)
        except OSError:
            continue
    return Names()


def _read(lines: Iterable[str], wanted: set[tuple[str, str]], path: str) -> Names:
    vendors = {v for v, _ in wanted}
    names: dict[str, str] = {}
    classes: dict[str, str] = {}
    version, vendor, major = "", "", ""
    for line in lines:
        if line.startswith("#"):
            if "Version:" in line:
                version = line.split("Version:")[1].strip()
            continue
        if not line.strip():
            continue
        if line[0] not in "\t":
            vendor, major = "", ""
            if line.startswith("C "):
                major = line[2:4]
                classes[major] = line[6:].strip()
            elif line[:4] in vendors:
                vendor = line[:4]
                names[vendor] = line[6:].strip()
        elif major and not line.startswith("\t\t"):
            classes[major + line[1:3]] = line[5:].strip()
        elif vendor and not line.startswith("\t\t") and (vendor, line[1:5]) in wanted:
            names[f"{vendor}:{line[1:5]}"] = line[7:].strip()
    return Names(names=names, classes=classes, version=version, path=path)
