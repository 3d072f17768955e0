"""The sheet of a board as a person would write it, as a value and as the text of a board file."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from leadoff.record.board import BoardSheet, CacheFit, Card, MemoryFit, Rail
from leadoff.validation.sheets import JUMPERS, OPTIONS, Draft, cpu_rows_row, jumper, option

FITTED = ("cpu", "fpu", "l2_kb", "l2_ns", "l2_banks", "l2_type", "tag_", "ram_", "video", "cpu_specimen")


def sheet_of(draft: Draft, unknown: str = "", spares: tuple[str, ...] = ()) -> BoardSheet:
    """The sheet of a board. ``unknown`` is the setting nobody has read, absent from ``now``."""
    cls, start, cpu = draft.cls, draft.start, draft.cpu
    jumpers = tuple(
        jumper(JUMPERS[k][0], k, v, JUMPERS[k][1])
        for k, v in draft.reach.items()
        if k in JUMPERS and not (k == "bus_mhz" and cls.clock == "can")
    )
    options = tuple(
        option(OPTIONS[k][0], k, v, OPTIONS[k][1]) for k, v in draft.reach.items() if k in OPTIONS
    )
    cans = tuple(f"can {Fraction(b) * 2} MHz" for b in cls.bus_mhz) if cls.clock == "can" else ()
    now = {k: v for k, v in start.items() if not k.startswith(FITTED) and k != unknown}
    return BoardSheet(
        id=draft.id,
        board_class=cls.board_class,
        buses=cls.buses,
        rails=tuple(Rail(v=v, amps=round(cpu.amps * 1.6, 1)) for v in cls.rails),
        sheet_confirmed=draft.confirmed,
        sheet_revision="a" if draft.confirmed else "",
        chipset=draft.chipset.id,
        socket=cls.socket,
        clock_source="can" if cls.clock == "can" else "jumpers",
        clock_table_mhz=cls.bus_mhz,
        snoop_line=True if "l1_policy" in start else None,
        can_divides_by=2 if cls.clock == "can" else None,
        dividers=dividers(draft),
        jumpers=jumpers,
        options=options,
        cards=(Card(slot="slot 1", bus=start["video_bus"], kind="display"),),
        memory=(memory(start),),
        memory_sites=("b0",),
        cpu=cpu.id,
        cpu_row=cpu_rows_row(cpu),
        cpu_specimen=start["cpu_specimen"],
        fpu=start["fpu"],
        cache=cache(start),
        rig=draft.rig,
        spares=(*cans, *spares),
        tools=("screwdriver", "meter"),
        now=now,
        note=draft.note,
    )


def dividers(draft: Draft) -> dict[str, dict[str, str]]:
    """Bus name to bus clock (or ``*``) to that bus's clock over the processor bus clock."""
    cls = draft.cls
    out: dict[str, dict[str, str]] = {}
    if "vlb" in cls.buses:
        out["vlb"] = {"*": "1"}
    if cls.pci_fixed:
        out["pci"] = {"*": cls.pci_fixed}
    if cls.pci_table:
        out["pci"] = dict(cls.pci_table)
    if cls.agp_table:
        out["agp"] = dict(cls.agp_table)
    return out


def cache(start: Mapping[str, str]) -> CacheFit | None:
    """The second-level cache on the board, if there is one."""
    if "l2_kb" not in start:
        return None
    return CacheFit(
        kb=int(start["l2_kb"]),
        ns=float(start["l2_ns"]),
        banks=int(start["l2_banks"]),
        type=start["l2_type"],
        tag_ns=float(start["tag_ns"]),
        tag_bits=int(start["tag_bits"]),
    )


def memory(start: Mapping[str, str]) -> MemoryFit:
    """All memory, in one site."""
    return MemoryFit(
        site="b0",
        mb=float(start["ram_mb"]),
        type=start["ram_type"],
        ns=float(start["ram_ns"]),
        cas=int(start["cas"]) if "cas" in start else None,
    )


def _q(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return str(value)
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_q(v) for v in value) + "]"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_q(k)} = {_q(v)}" for k, v in value.items()) + " }"
    return '"' + str(value).replace("\\", "\\\\").replace('"', '\\"') + '"'


def file_text(sheet: BoardSheet) -> str:
    """A board file in the contract's form that says what the sheet says, less what is fitted by default."""
    head: dict[str, object] = {
        "id": sheet.id,
        "class": sheet.board_class,
        "buses": sheet.buses,
        "sheet_confirmed": sheet.sheet_confirmed,
        "socket": sheet.socket or "",
        "clock_source": sheet.clock_source,
        "clock_table_mhz": sheet.clock_table_mhz,
        "note": sheet.note,
    }
    lines = [f"# {sheet.id}: invented, written by the generator", "[board]"]
    lines += [f"{k} = {_q(v)}" for k, v in head.items()]
    lines.append("rails = " + _q([{"v": r.v, "amps": r.amps} for r in sheet.rails]))
    if sheet.can_divides_by:
        lines.append(f"can_divides_by = {sheet.can_divides_by}")
    if sheet.snoop_line is not None:
        lines.append(f"snoop_line = {_q(sheet.snoop_line)}")
    if sheet.dividers:
        lines.append(f"dividers = {_q(sheet.dividers)}")
    for j in sheet.jumpers:
        lines += ["", "[[jumper]]", f"id = {_q(j.id)}", f"positions = {_q(j.positions)}"]
        lines += [f"members = {_q(j.members)}"] if j.members else []
        lines.append(f"sets = {_q(j.sets)}")
    for o in sheet.options:
        lines += ["", "[[option]]", f"id = {_q(o.id)}", f"label = {_q(o.label)}", f"menu = {_q(o.menu)}"]
        lines += [f"choices = {_q(o.choices)}", f"sets = {_q(o.sets)}"]
    for c in sheet.cards:
        lines += ["", "[[card]]", f"slot = {_q(c.slot)}", f"bus = {_q(c.bus)}", f"kind = {_q(c.kind)}"]
    lines += ["", "[fitted]", f"cpu = {_q(sheet.cpu)}", f"fpu = {_q(sheet.fpu)}"]
    if sheet.cache is not None:
        c2 = sheet.cache
        lines.append(f"cache = {_q({'kb': c2.kb, 'ns': c2.ns, 'banks': c2.banks})}")
    fit = [{"site": m.site, "mb": m.mb, "type": m.type, "ns": m.ns} for m in sheet.memory]
    lines.append(f"memory = {_q(fit)}")
    lines += ["", "[now]", *(f"{k} = {_q(v)}" for k, v in sheet.now.items())]
    return "\n".join(lines) + "\n"
