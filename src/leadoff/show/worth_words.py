"""An offer in words: the number first, then what moves it, then the sum."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from leadoff.record.quantity import Quantity
from leadoff.show.terminal import grid, hang, heading
from leadoff.show.text import chance


def worth(data: Mapping[str, Any], out: Console) -> None:
    """One card: the highest bid, the landed cost, what moves the bid most, the components."""
    bid: Quantity = data["highest_bid"]
    heading(out, f"highest bid  {money(bid)}", "" if bid.value is not None else bid.why)
    if data["moved_most_by"] is not None:
        m = data["movers"][0]
        text = (
            f"{m['name']}: from {figure(m['lo'], m['component'])} to {figure(m['hi'], m['component'])} the bid "
            f"goes from {m['bid_lo']:.2f} to {m['bid_hi']:.2f} ({m['tried']})"
        )
        out.print(hang(Text("  moved most by ", style="bold"), text, out.width))
    rows = []
    if data["landed"].value is not None:
        rows.append(("landed at the price asked", money(data["landed"]), _source(data["landed"])))
    if bid.value is not None:
        rows.append(("highest landed cost", money(data["highest_landed"]), _source(data["highest_landed"])))
    p: Quantity | None = data["p_fix"]
    if p is not None and bid.value is not None:
        spread = "" if p.lo is None else f" ({chance(p.lo)} to {chance(p.hi)})"
        rows.append(("chance to fix", chance(p.value) + spread, data["p_fix_from"]))
    lead = data["parcel"]["lead_days"]
    rows.append(
        ("comes in", f"{lead.value:.0f} days ({lead.lo:.0f} to {lead.hi:.0f})", data["parcel"]["rests_on"])
    )
    if data["parcel"]["counts"]:
        hurt = data["parcel"]["p_damaged"]
        spread = f" ({chance(hurt.lo)} to {chance(hurt.hi)})"
        rows.append(("comes damaged", chance(hurt.value) + spread, data["parcel"]["rests_on"]))
    grid(out, ("", "", ""), rows)
    unit = "amount" if data["currency"] == "currency" else data["currency"]
    out.print()
    parts = [(c["name"], money(c["amount"]), _source(c["amount"])) for c in data["components"]]
    grid(out, ("part of the landed cost", unit, "from"), parts)
    others = [
        f"{m['name']} {m['bid_lo']:.2f} to {m['bid_hi']:.2f}"
        for m in data["movers"][1:4]
        if m["swing"] >= 0.005
    ]
    if others:
        out.print(hang(Text("  the bid also moves with: ", style="dim"), "; ".join(others), out.width))


def money(q: Quantity) -> str:
    """An amount to the hundredth, with its band where it is one."""
    if q.value is None:
        return "not known"
    band = ""
    if q.lo is not None and q.hi is not None and q.hi - q.lo > 0.005:
        band = f" ({q.lo:.2f} to {q.hi:.2f})"
    return f"{q.value:.2f}{band}"


def figure(value: float, component: str) -> str:
    """A component's own figure: chances in percent, rates with their sign, amounts to the hundredth."""
    if component == "p_fix":
        return f"{100 * value:.0f} %"
    return f"{value:.2f}" + (" %" if component in ("spread", "duty_pct") else "")


def _source(q: Quantity) -> str:
    return q.source.value if q.value is not None else q.why
