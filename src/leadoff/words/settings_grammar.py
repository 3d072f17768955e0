"""Settings in a line: names with values, ratios, volts, patterns and switches."""

from __future__ import annotations

from leadoff.record.phrases import AnyPhrase, SetPhrase
from leadoff.record.settings import SettingKind, kind_of
from leadoff.words.forms import read_form
from leadoff.words.rows import rows
from leadoff.words.scan import END, FRAC, MEASURED, NUM, TIE, Found, Scan, match
from leadoff.words.vocabulary import Head, heads, label, own_names

_SHOWN = {
    "clock": "33",
    "divider": "1/2",
    "ratio": "2.5",
    "volts": "3.45",
    "switch": "on",
    "policy": "wt",
    "pattern": "3-1-1-1",
    "ws": "1",
    "stated_ws": "1 ws",
    "ns": "15 ns",
    "stated_ns": "15 ns",
    "size": "256k",
    "stated_size": "256k",
    "bits": "8 bits",
    "banks": "2 banks",
    "chips": "8 chips",
    "ram_type": "fpm",
    "megabytes": "32 MB",
    "number": "3",
}
_BARE = (
    (rf"(\d+(?:-\d+){{3}}){END}", ("l2 read", "l2 write", "dram read", "dram write")),
    (rf"({NUM}\s*ns){END}", ("l2", "tag", "ram")),
    (rf"({NUM}\s*(?:kb?|kib)){END}", ("l2",)),
    (rf"({NUM}\s*(?:mb|mib)){END}", ("ram", "l2")),
    (rf"({NUM}\s*c){END}", ("temp", "room")),
    (rf"((?:fpm|edo|sdram)\s*-?\d*){END}", ("ram",)),
)
"""Values that stand without a name, and the names that they could go with."""


def named(scan: Scan, pos: int) -> Found | None:
    """A setting's name and its value, or several values where the name leads a group (``l2 256k 15ns wt``)."""
    candidates = scan.labels(pos, heads())
    for end, head in candidates:
        if unknown := _unknown_of_several(scan, pos, end, head):
            return unknown
        found = _values(scan, pos, end, head)
        if found is not None:
            return found
    if not candidates:
        return None
    end, head = candidates[0]
    return _no_value(scan, pos, end, head)


def named_exactly(scan: Scan, pos: int) -> Found | None:
    """A setting's own name of several words (``l2_write_ws``, ``display slot``) with a value of its kind."""
    for end, head in scan.labels(pos, own_names()):
        found = _values(scan, pos, end, head)
        if found is not None:
            return found
    return None


def _unknown_of_several(scan: Scan, pos: int, end: int, head: Head) -> Found | None:
    """``l2 ?`` names a group: which of its settings is not known has to be said."""
    names = dict.fromkeys(name for _, name in head)
    tie = TIE.match(scan.plain, end)
    unknown = match(scan, rf"(\?|default|unknown|auto|not known){END}", tie.end() if tie else end)
    if unknown is None or len(names) < 2:
        return None
    typed = scan.typed(pos, unknown.end())
    return scan.ask(pos, unknown.end(), f"{typed}: what of it?", [f"{label(n)} {unknown[1]}" for n in names])


def _values(scan: Scan, pos: int, end: int, head: Head) -> Found | None:
    phrases: list[AnyPhrase] = []
    tie = TIE.match(scan.plain, end)
    start, at, used = pos, tie.end() if tie else end, set[str]()
    while True:
        value = None
        for form, name in head:
            if name in used or (phrases and form in ("text", "number", "megabytes", "clock")):
                continue
            value = read_form(scan, at, form, name)
            if value is not None and form == "divider" and len(head) > 1 and _too_large(value.texts[0][1]):
                value = None
            if value is not None:
                break
        if value is None:
            return Found(end, tuple(phrases)) if phrases else None
        for name, text in value.texts:
            said = scan.setting(start, value.end, name, text, value.measured)
            phrases.extend(said.phrases)
            used.add(name)
        end = start = value.end
        gap = match(scan, r"\s+", end)
        if gap is None or not isinstance(phrases[-1], SetPhrase):
            return Found(end, tuple(phrases))
        at = start = gap.end()


def _too_large(divider: str) -> bool:
    above, _, below = divider.partition("/")
    return bool(above.strip()) and bool(below) and int(above) > 4 * int(below)


def _no_value(scan: Scan, pos: int, end: int, head: Head) -> Found | None:
    said = scan.typed(pos, end)
    after = TIE.match(scan.plain, end)
    rest = match(scan, r"[^,;]*", after.end() if after else end)
    stop = rest.end() if rest and _names_no_other(scan, rest.start()) else end
    typed = scan.typed(pos, stop)
    shown = (
        ", ".join(dict.fromkeys(f"{said} {_SHOWN[form]}" for form, _ in head if form in _SHOWN))
        or f"{said} ?"
    )
    if len(head) > 1 and match(scan, rf"{NUM}\s*ws|ws\s*{NUM}", after.end() if after else end):
        return _read_or_write(scan, pos, stop, said)
    return scan.ask(pos, stop, f"{typed}: which value of the {label(head[0][1])}? Such as {shown}")


def _read_or_write(scan: Scan, pos: int, stop: int, said: str) -> Found:
    which = "dram" if said.lower() in ("dram", "ram", "memory") else "l2"
    found = match(scan, rf".*?({NUM})", pos)
    count = found[1] if found else "1"
    choices = (f"{which} read {count} ws", f"{which} write {count} ws")
    return scan.ask(pos, stop, f"{scan.typed(pos, stop)}: wait states of reads or of writes?", choices)


def _names_no_other(scan: Scan, pos: int) -> bool:
    """Whether a value-like remainder belongs to the name before it rather than being a name itself."""
    return bool(match(scan, rf"{NUM}|[?\-]", pos)) or not scan.labels(pos, heads())


def ratio(scan: Scan, pos: int) -> Found | None:
    """``x4``, ``x 2.5``, ``4x`` and ``3x33.5`` (ratio and bus)."""
    number = rf"(?:{FRAC}|{NUM})"
    if both := match(scan, rf"({number})\s*x\s*({number})\s*(mhz)?({MEASURED}){END}", pos):
        return _ratio_bus(scan, pos, both.end(), both[1], both[2], bool(both[4].strip()))
    if alone := match(scan, rf"x\s*({number}){END}|({number})\s*x{END}", pos):
        return scan.setting(pos, alone.end(), "ratio", alone[1] or alone[2])
    return None


def _ratio_bus(scan: Scan, pos: int, end: int, times: str, clock: str, measured: bool) -> Found:
    typed = scan.typed(pos, end)
    if times in ("1", "2", "4", "8") and clock in ("1", "2", "4", "8", "16"):
        sites = tuple(f"ram {site} {typed}" for site in scan.context.memory_sites) or (f"ram b0 {typed}",)
        return scan.ask(
            pos, end, f"{typed}: memory, or a ratio and a bus clock?", (*sites, f"bus {clock} x{times}")
        )
    first = scan.setting(pos, end, "ratio", times).phrases
    if not isinstance(first[0], SetPhrase):  # a ratio of 33 cannot be: 33x3 has the bus first
        swapped = scan.setting(pos, end, "ratio", clock).phrases
        if isinstance(swapped[0], SetPhrase):
            first, clock = swapped, times
    second = scan.setting(pos, end, "bus_mhz", clock, measured).phrases
    asks = tuple(p for p in (*first, *second) if not isinstance(p, SetPhrase))
    return Found(end, asks or (*first, *second))


def write_back(scan: Scan, pos: int) -> Found | None:
    """``wb on``: the processor's cache; ``wb`` alone could be either cache."""
    found = match(scan, rf"(wb|write[- ]?back|wt|write[- ]?through)(?:\s*(?:=|:)?\s*(on|off))?{END}", pos)
    if found is None:
        return None
    if found[2] is None:
        choices = rows("aliases")["several"].get(found[1].replace(" ", "-"), ["l1 wb", "l2 wb"])
        return scan.ask(pos, found.end(), f"{scan.typed(pos, found.end())}: of which cache?", choices)
    back = found[1].startswith(("wb", "write-b", "write b", "writeb")) == (found[2] == "on")
    return scan.setting(pos, found.end(), "l1_policy", "wb" if back else "wt")


def alone(scan: Scan, pos: int) -> Found | None:
    """Words and figures that are a whole setting: ``3.45v``, ``2v8``, ``cl2``, ``ems``, ``66.8 meas``, ``1 ws``."""
    if volts := match(scan, rf"(\dv\d+|{NUM}\s*(?:m?v|volts?|kv)){MEASURED}{END}", pos):
        return scan.setting(pos, volts.end(), "core_v", volts[1], volts[2] is not None)
    if glued := match(scan, rf"(cl|cas|rcd|rp)(\d+){END}", pos):
        return scan.setting(pos, glued.end(), {"cl": "cas"}.get(glued[1], glued[1]), glued[2])
    if waits := match(scan, rf"(\d+)\s*(?:ws|wait[- ]?states?){END}|ws\s*(\d+){END}", pos):
        n = waits[1] or waits[2]
        choices = [f"{what} {n} ws" for what in ("l2 read", "l2 write", "dram read", "dram write", "vlb")]
        return scan.ask(pos, waits.end(), f"{scan.typed(pos, waits.end())}: wait states of what?", choices)
    for end, (name, value) in scan.labels(pos, rows("aliases")["alone"]):
        return scan.setting(pos, end, name, value)
    for form, names in _BARE:
        if bare := match(scan, form, pos):
            typed = scan.typed(pos, bare.end())
            return scan.ask(pos, bare.end(), f"{typed}: of what?", [f"{name} {typed}" for name in names])
    return clock(scan, pos)


def clock(scan: Scan, pos: int) -> Found | None:
    """A clock without a name: it refines the clock just named, otherwise it is asked for."""
    found = match(scan, rf"({NUM}\s*(mhz|khz|ghz)?){MEASURED}{END}", pos)
    if found is None or not (found[2] or found[3]):
        return None
    before = scan.phrases[-1] if scan.phrases else None
    if found[3] and isinstance(before, SetPhrase) and kind_of(before.name) is SettingKind.CLOCK:
        return scan.setting(pos, found.end(), before.name, found[1], True)
    typed = scan.typed(pos, found.end())
    choices = [f"{name} {typed}" for name in ("bus", "core", "can", "pci")]
    return scan.ask(pos, found.end(), f"{typed}: which clock?", choices)
