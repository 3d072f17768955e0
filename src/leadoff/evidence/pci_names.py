"""Names of PCI parts from the list that the system has; read at run time, never shipped."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path

import msgspec

PLACES = (
    "/usr/share/misc/pci.ids",
    "/usr/share/hwdata/pci.ids",
    "/usr/share/pci.ids",
    "/var/lib/pciutils/pci.ids",
)
OWN = "LEADOFF_PCI_IDS"
_NEXT = re.compile(r"\n[^\t#\n]")
_VERSION = re.compile(r"^#.*Version:[ \t]*(\S+)", re.MULTILINE)
_VENDOR = re.compile(r"\n([0-9a-f]{4})  ")
_CLASS = re.compile(r"\nC ([0-9a-f]{2})  (.+)((?:\n[\t#].*|\n(?=\n))*)")
_SUB = re.compile(r"\n\t([0-9a-f]{2})  (.+)")


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
            stamp = Path(place).stat().st_mtime_ns
            text = _text(place, stamp)
        except OSError:
            continue
        names: dict[str, str] = {}
        for vendor, device in ids:
            names |= _named(place, stamp, f"{vendor:04x}", f"{device:04x}")
        version = _VERSION.search(text[:4096])
        return Names(
            names=names, classes=_classes(place, stamp), version=version[1] if version else "", path=place
        )
    return Names()


@lru_cache(maxsize=2)
def _text(path: str, stamp: int) -> str:
    """The whole list; ``stamp`` makes a changed file another one."""
    return "\n" + Path(path).read_text(encoding="utf-8", errors="replace")


@lru_cache(maxsize=2)
def _vendors(path: str, stamp: int) -> Mapping[str, int]:
    """Where each vendor's line begins."""
    return {m[1]: m.start() for m in _VENDOR.finditer(_text(path, stamp))}


@lru_cache(maxsize=256)
def _named(path: str, stamp: int, vendor: str, device: str) -> dict[str, str]:
    at = _vendors(path, stamp).get(vendor)
    if at is None:
        return {}
    text = _text(path, stamp)
    line_end = text.find("\n", at + 1)
    after = _NEXT.search(text, line_end)
    section = text[line_end : after.start() if after else len(text)]
    out = {vendor: text[at + 7 : line_end].strip()}
    found = section.find(f"\n\t{device}  ")
    if found >= 0:
        end = section.find("\n", found + 1)
        out[f"{vendor}:{device}"] = section[found + 8 : end if end >= 0 else len(section)].strip()
    return out


@lru_cache(maxsize=2)
def _classes(path: str, stamp: int) -> Mapping[str, str]:
    out: dict[str, str] = {}
    for major in _CLASS.finditer(_text(path, stamp)):
        out[major[1]] = major[2].strip()
        out |= {major[1] + sub[1]: sub[2].strip() for sub in _SUB.finditer(major[3])}
    return out
