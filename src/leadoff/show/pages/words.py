"""Plain values as the pages say them."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from leadoff.record.settings import SETTINGS, SettingKind, in_words, kind_of
from leadoff.show.pages.ways import here
from leadoff.show.text import number, plain

ORDER = ("disputed", "known", "assumed", "unknown")
CLOCKS = ("core_mhz", "bus_mhz", "mem_mhz", "vlb_mhz", "pci_mhz", "agp_mhz", "isa_mhz")
RULER = 1000.0
"""Width of a band ruler in its own units."""


LONG, LEAST = 150, 40
"""Letters of a remark that fill half a phone's screen; and of the least that says something by itself."""
_BREAK = re.compile(r" \(|; |(?<=\.) ")
_PATTERN = re.compile(r"\b\d(-\d){2,3}\b")
_RAW = re.compile(r"\b(" + "|".join(n for n in SETTINGS if "_" in n) + r")\b")


def spoken(text: str) -> str:
    """A sentence of the house, its settings' names in words and its commands as they are done here; a pattern such
    as 3-1-1-1 stays on one line."""
    said = _RAW.sub(lambda found: in_words(found[0]), here(text))
    return _PATTERN.sub(lambda found: found[0].replace("-", "\N{NON-BREAKING HYPHEN}"), said)


def tight(chance: str) -> str:
    """A chance whose sign stays with its number at the end of a line."""
    return chance.replace(" ", "\N{NO-BREAK SPACE}")


def folded(text: str) -> tuple[str, str]:
    """A long remark as what it says and what it explains; a short one has nothing to fold away."""
    cut = _BREAK.search(text, LEAST) if len(text) > LONG else None
    return (text, "") if cut is None else (text[: cut.start()].rstrip(".;"), text[cut.start() :].lstrip("; "))


NEED = ("test", "retest", "read", "run")
"""What a board needs, the most pressing first."""


def by_need(boards: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Boards of the shelf: what is ailing first, then what can be looked up; among equals the last one run."""
    newest = sorted(boards, key=lambda b: b["last"]["when"] if b["last"] else "", reverse=True)
    return sorted(newest, key=lambda b: NEED.index(b["needs"]["kind"]))


def due(boards: Iterable[Mapping[str, Any]]) -> list[tuple[str, list[str]]]:
    """What is due, each thing once with the boards that it is due on; what most boards share comes last."""
    found: dict[str, list[str]] = {}
    for b in boards:
        undumped = "firmware not dumped" if b["firmware"] == "not dumped" else ""
        for text in (b["clock"], b["capacitors"], undumped):
            if text:
                found.setdefault(text, []).append(b["board"])
    return sorted(found.items(), key=lambda kv: len(kv[1]))


def value(setting: Mapping[str, Any], name: str) -> str:
    """A setting's value with its unit."""
    if setting["value"] is None:
        return "?"
    known = SETTINGS.get(name)
    unit = known.unit if known is not None else ""
    if kind_of(name) is SettingKind.RATIO:
        return f"x {setting.get('exact', plain(setting['value']))}"
    return f"{plain(setting['value'])} {unit}".strip()


def amount(q: Mapping[str, Any] | None, digits: int = 4) -> str:
    """A quantity with its unit; what is not known or cannot exist says so."""
    if q is None or q["value"] is None:
        return str(q["source"]) if q is not None else "?"
    return f"{number(q['value'], digits)} {q['unit']}".strip()


def money(value: float | None) -> str:
    """An amount to the hundredth."""
    return "?" if value is None else f"{value:.2f}"


def sum_words(q: Mapping[str, Any]) -> str:
    """An amount of money with its band where it is one; what nobody stated is never nothing."""
    if q["value"] is None:
        return "not known"
    wide = q["lo"] is not None and q["hi"] is not None and q["hi"] - q["lo"] > 0.005
    return money(q["value"]) + (f" ({money(q['lo'])} to {money(q['hi'])})" if wide else "")


def source(q: Mapping[str, Any] | None) -> str:
    """Where a quantity comes from."""
    if q is None:
        return ""
    return str(q["why"]) if q["value"] is None and q["why"] else str(q["source"])


def when(text: str) -> str:
    """A time without its machine signs."""
    return text.replace("T", " ").removesuffix("Z")[:16]


def outcome(run: Mapping[str, Any]) -> str:
    """How a run ended."""
    place = f", {run['place']}" if run["place"] else ""
    of = f" {run['count']} of {run['of']}" if run["of"] else ""
    return str(run["outcome"]).replace("_", " ") + of + place


def score(run: Mapping[str, Any]) -> str:
    """A run's score as typed, else how it ended."""
    typed = " ".join(run["readings"])
    if not typed:
        return outcome(run)
    return typed if any(c.isalpha() for c in typed) else f"{typed} {run['score']['unit']}".strip()


def by_status(settings: Mapping[str, Any]) -> list[tuple[str, list[tuple[str, Mapping[str, Any]]]]]:
    """Settings in the order in which they can be relied on; nothing is grouped by the part it belongs to."""
    groups: dict[str, list[tuple[str, Mapping[str, Any]]]] = {status: [] for status in ORDER}
    for name, setting in sorted(settings.items(), key=lambda kv: in_words(kv[0])):
        groups[setting["status"]].append((name, setting))
    return [(status, rows) for status, rows in groups.items() if rows]


def clocks(table: Mapping[str, Any]) -> list[tuple[str, Mapping[str, Any]]]:
    """Clocks from the core outwards."""
    return [(n.removesuffix("_mhz"), table[n]) for n in CLOCKS if n in table]


def moves_words(settings: Mapping[str, Any]) -> str:
    """Settings as the words a person would type to say that they are set now."""
    names = [n for n in settings if n in SETTINGS and settings[n] is not None and n != "core_mhz"]
    return ", ".join(f"{n} {settings[n]}" for n in names)


def by_pattern(
    rungs: Iterable[Mapping[str, Any]], grade: float
) -> list[tuple[str, dict[float, Mapping[str, Any]]]]:
    """Rungs of one chip grade: for each cycle its verdicts by bus clock."""
    found: dict[str, dict[float, Mapping[str, Any]]] = {}
    for r in rungs:
        if r["sram_ns"] == grade:
            found.setdefault(f"{r['kind']} {r['pattern']}", {})[r["bus_mhz"]] = r
    return list(found.items())


def tick(board: str, moves: Iterable[Mapping[str, Any]], n: int) -> str:
    """A name for a box that is ticked, the same for the same list of moves."""
    text = "|".join([board, *(str(m["what"]) for m in moves), str(n)])
    return "t" + hashlib.sha256(text.encode()).hexdigest()[:10]


def headline(bench: Mapping[str, Any]) -> dict[str, Any]:
    """The one number of a board: what was measured in this state, else what is foretold, else nothing yet."""
    sealed = bench["sealed"]
    told = [w for w in sealed["workloads"] if w["median"] is not None] if sealed else []
    first = told[0] if told else None
    here = [r for r in bench["runs"] if r["number"] in bench["here"] and r["score"]["value"] is not None]
    wanted = first["workload"] if first is not None else bench["workload"]
    mine = [r for r in here if r["workload"] == wanted] or (here if first is None else [])
    if mine:  # the newest run of this state, against the forecast that was sealed for it
        run = mine[0]
        unsealed = {"workload": run["workload"], "unit": run["score"]["unit"], "band50": None, "band90": None}
        return _head("measured", run["score"]["value"], first or unsealed, f"run {run['number']}", sealed)
    if first is not None and first["came"]:
        came = first["came"]
        return _head("measured", came["score"]["value"], first, f"run {came['number']}", sealed)
    if first is not None:
        return _head("foretold", first["median"], first, f"sealed as {sealed['number']}", sealed)
    return {
        "kind": "none",
        "value": None,
        "told": None,
        "aside": "nothing was measured or foretold in this state",
    }


def _head(kind: str, at: float, told: Mapping[str, Any], aside: str, sealed: Any) -> dict[str, Any]:
    return {
        "kind": kind,
        "value": at,
        "told": told if told.get("band90") else None,
        "workload": told["workload"],
        "unit": told["unit"],
        "aside": aside,
        "sealed": sealed["number"] if sealed else None,
    }


def ruler(told: Mapping[str, Any], came: float | None = None) -> dict[str, Any]:
    """Places on a band ruler, 0 to 1000: the wide band, the narrow one, the median and what came."""
    lo, hi = told["band90"]
    ends = [lo, hi, *([came] if came is not None else [])]
    low, high = min(ends), max(ends)
    room = (high - low) * 0.08 or abs(high) * 0.01 or 1.0
    low, high = low - room, high + room

    def at(x: float) -> float:
        return float(round(RULER * (x - low) / (high - low), 1))

    return {
        "wide": (at(lo), at(hi)),
        "half": (at(told["band50"][0]), at(told["band50"][1])),
        "median": at(told["median"]),
        "came": at(came) if came is not None else None,
        "said": _ruler_words(told, came),
    }


def _ruler_words(told: Mapping[str, Any], came: float | None) -> str:
    b50, b90 = _pair(told["band50"]), _pair(told["band90"])
    text = f"{told['workload']}: foretold {number(told['median'])} {told['unit']}, half the time {b50}, 9 of 10 {b90}"
    return text if came is None else f"{text}; came {number(came)}"


def _pair(band: Sequence[float]) -> str:
    return f"{number(band[0])} to {number(band[1])}"
