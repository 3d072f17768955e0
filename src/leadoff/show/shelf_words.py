"""The shelf in words: what comes and what one order unlocks, then a line for each board and each loose part."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.record.counted import counted
from leadoff.show.terminal import hang, heading
from leadoff.show.text import chance


def shelf(data: Mapping[str, Any], out: Console) -> None:
    """Boards with place, age, what they wait for and what is due; loose parts; parcels; orders; sellers."""
    if data["kept"] and data["kept"]["parcel"]:
        out.print(f"  kept as parcel {data['kept']['parcel']}")
    if not data["boards"]:
        out.print("  no board yet")
    for b in data["boards"]:
        heading(out, b["board"], f"{b['class']}; {b['place'] or 'place not said'}")
        rows = [
            ("waits for", ", ".join(b["waits_for"])),
            ("open", ", ".join(b["open_symptoms"])),
            (
                "made",
                f"{b['not_before']} or later, hardly after {b['hardly_after']}" if b["not_before"] else "",
            ),
            ("replaced later", ", ".join(b["replaced_later"])),
            ("decade not printed", ", ".join(b["decade_not_printed"])),
            ("clock", b["clock"]),
            ("capacitors", b["capacitors"]),
            ("firmware", b["firmware"]),
        ]
        for name, text in rows:
            if text:
                out.print(hang(Text(f"  {name}: ", style="dim"), text, out.width))
    if data["specimens"]:
        heading(out, "loose parts and processors", "")
    for s in data["specimens"]:
        text = s["place"] or "place not said"
        text += f"; {s['due']}" if s["due"] else ""
        out.print(hang(Text(f"  {s['specimen']}: ", style="bold"), text, out.width))
    if data["parcels"]:
        heading(out, "on the way", "")
    for p in data["parcels"]:
        out.print(hang(Text(f"  {p['parcel']}: ", style="bold"), parcel(p), out.width))
    for o in data["orders"]:
        text = f"unlocks {', '.join(o['unlocks'])}" if o["unlocks"] else "unlocks none by itself"
        text += f"; helps {', '.join(o['helps'])}" if o["helps"] else ""
        out.print(hang(Text(f"  order {o['part']}: ", style="bold"), text, out.width))
    for v in data["parties"]:
        out.print(hang(Text(f"  {v['role']} {v['party']}: ", style="dim"), party(v), out.width))


def parcel(p: Mapping[str, Any]) -> str:
    """A parcel on its way: what, for whom, when."""
    text = p["holds"] or "not said what it holds"
    text += f" for {p['board']}" if p["board"] else ""
    text += f", due {p['due']} (9 of 10: {p['due_from']} to {p['due_to']})"
    return text + (f", promised in {p['promised_days']:g} days and late" if p["late"] else "")


def party(v: Mapping[str, Any]) -> str:
    """What a seller or a carrier has done, and what is to be expected."""
    lead, hurt = v["lead_days"], v["p_damaged"]
    text = f"{counted(v['parcels'], 'parcel')}, {v['damaged']} damaged, {v['surcharged']} with a surcharge; "
    text += f"the next takes {lead.lo:.0f} to {lead.hi:.0f} days, damaged {chance(hurt.value)}"
    return text + f" ({chance(hurt.lo)} to {chance(hurt.hi)})"
