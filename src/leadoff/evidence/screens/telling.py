"""What a screen's text says in numbers with units: clocks, sizes, patterns, switches; and scores as proposed runs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from hashlib import sha256
from typing import NamedTuple

from leadoff.evidence.facts import Certainty, Choice, Proposal, Question, Rank, Teller
from leadoff.evidence.screens.values import Screen
from leadoff.record.errors import LeadoffError
from leadoff.words import setting_value

SURE = 0.9
"""A figure with a less certain sign in it is shown and never offered (judgement)."""

_NUM = r"\d+(?:[.,]\d+)?"
_TIE = r"[ .:=\-]{1,30}"


class _Rule(NamedTuple):
    """Words with the figure that follows or precedes them, and what it is then."""

    key: str
    unit: str
    setting: str
    pattern: re.Pattern[str]


def _rule(key: str, unit: str, setting: str, pattern: str) -> _Rule:
    return _Rule(
        key, unit, setting, re.compile(pattern.replace("NUM", _NUM).replace("TIE", _TIE), re.I | re.A)
    )


RULES = (
    _rule("cpu_mhz", "MHz", "core_mhz", r"\b(?:cpu|processor|core)\b(?!.*\bbus\b).{0,48}?(?<![\d.,])(NUM) ?MHz\b"),
    _rule("bus_mhz", "MHz", "bus_mhz", r"\b(?:bus|external|host)(?: bus)? (?:clock|speed)TIE(NUM) ?MHz\b"),
    _rule("isa_mhz", "MHz", "isa_mhz", r"\b(?:isa|at)[ -]?(?:bus )?(?:clock|speed)TIE(NUM) ?MHz\b"),
    _rule("l1_kb", "KB", "", r"\b(?:internal|primary|l1|level 1) cache(?: memory| size)?TIE(NUM) ?K(?:B|bytes?)?\b"),
    _rule("cache_kb", "KB", "l2_kb", r"\bcache(?: memory| size| ram)?TIE(NUM) ?K(?:B|bytes?)?\b"),
    _rule("cache_kb", "KB", "l2_kb", r"(?<![\d.,])(NUM) ?K(?:B|bytes?)? (?:external |secondary |l2 )?cache\b"),
    _rule("base_kb", "KB", "", r"\bbase memory(?: size)?TIE(NUM) ?K(?:B|bytes?)?\b"),
    _rule("extended_kb", "KB", "", r"\bext(?:ended|\.)? memory(?: size)?TIE(NUM) ?K(?:B|bytes?)?\b"),
    _rule("memory_kb", "KB", "", r"\b(?:total|system|main) memory(?: size)?TIE(NUM) ?K(?:B|bytes?)?\b"),
    _rule("memory_kb", "KB", "", r"\bmemory test ?TIE(NUM) ?K(?:B|bytes?)? ?OK\b"),
    _rule("memory_kb", "KB", "", r"(?<![\d.,])(NUM) ?K(?:B|bytes?)? OK\b"),
)  # fmt: skip
_PATTERN = re.compile(r"\b(\d{1,2}(?:-\d{1,2}){3})\b", re.A)
_PATTERN_WORDS = (
    ("l2_read", re.compile(r"\bcache\b.*\bread\b|\bread\b.*\bcache\b", re.I)),
    ("l2_write", re.compile(r"\bcache\b.*\bwrite\b|\bwrite\b.*\bcache\b", re.I)),
    ("dram_read", re.compile(r"\b(?:dram|ram|memory)\b.*\bread\b", re.I)),
    ("dram_write", re.compile(r"\b(?:dram|ram|memory)\b.*\bwrite\b", re.I)),
)
_WAIT = re.compile(r"\bwait states?\b.{0,20}?\b(\d{1,2})(?: ?WS\b| ?T\b|\b)|\b(\d) ?WS\b", re.I | re.A)
_SWITCH = re.compile(
    r"\b(?P<which>internal|l1|level 1|primary|external|l2|level 2|secondary) cache(?: memory)?[ .:=]{1,30}"
    r"(?P<how>enabled|disabled|on|off|write[- ]?back|write[- ]?thr(?:ough|u)|wb|wt)\b",
    re.I,
)
_CPU = re.compile(
    r"\b(?:cpu|processor)(?: type)?[ .]{0,12}: ?([A-Z0-9][\w()+/. -]{2,30}?)(?=\s{2,}|\s*[│║|,]|$)", re.I
)
_COUNTERS = re.compile(r"(?<![\d.,])(\d+) frames?\D{1,20}?(\d+) ticks?\b", re.I | re.A)
_SCORE = re.compile(rf"(?<![\d.,])({_NUM}) ?(frames/s|fps|MB/s|KB/s|seconds|secs?|s)\b(?!/)", re.I | re.A)
_SETUP = re.compile(r"\b(enabled|disabled|setup|set-up|esc|f10|pgup|arrow keys)\b", re.I)

FRAMES_PER_SECOND = ("frames/s", "fps")
SECONDS = ("s", "sec", "secs", "seconds")
MOST = 24


class Said(NamedTuple):
    """Proposed runs, and the questions they need first."""

    proposals: tuple[Proposal, ...]
    questions: tuple[Question, ...]


def rank_of(screen: Screen) -> Rank:
    """A set-up menu says what is set; a start-up text what the firmware believes."""
    found = sum(len(_SETUP.findall(line)) for line in screen.lines)
    return Rank.SETUP if found >= 3 else Rank.FIRMWARE


def tell_facts(screen: Screen, tell: Teller) -> list[str]:
    """Facts of the text into ``tell``; returns figures left out because a sign in them is not certain."""
    doubtful: list[str] = []
    seen: set[str] = set()
    for row, line in enumerate(screen.lines):
        for found in _facts(line):
            key, value, unit, setting, canonical, (start, end) = found
            sure = min(screen.certainty[row][start:end], default=0.0)
            at = f"row {row + 1} column {start + 1}"
            if sure < SURE:
                doubtful.append(f"{line[start:end].strip()} ({at}, {100 * sure:.0f} % certain)")
                continue
            if key in seen or len(seen) >= MOST:
                continue
            seen.add(key)
            tell(
                f"screen.{key}", value, unit, offset=row, at=at, setting=setting, canonical=canonical,
                note=" ".join(line.split()),
            )  # fmt: skip
    _whole_memory(tell)
    return doubtful


_Fact = tuple[str, float | str, str, str, str, tuple[int, int]]


def _facts(line: str) -> list[_Fact]:
    out: list[_Fact] = []
    taken: set[int] = set()
    for rule in RULES:
        for m in rule.pattern.finditer(line):
            span = m.span(1)
            if span[0] in taken:
                continue
            taken.add(span[0])
            text = m[1].replace(",", ".")
            canonical = _canonical(rule.setting, text + (" MHz" if rule.unit == "MHz" else ""))
            out.append((rule.key, float(text), rule.unit, rule.setting if canonical else "", canonical, span))
    if cpu := _CPU.search(line):
        name = cpu[1].strip()
        out.append(("cpu", name, "", "cpu", name, cpu.span(1)))
    for m in _SWITCH.finditer(line):
        level = "l1" if m["which"].lower() in ("internal", "l1", "level 1", "primary") else "l2"
        how = m["how"].lower().replace("-", " ").replace("thru", "through")
        switch = {"enabled": "on", "on": "on", "disabled": "off", "off": "off"}.get(how)
        value = switch or ("wb" if "back" in how or how == "wb" else "wt")
        name = level if switch else f"{level}_policy"
        out.append((name, value, "", name, value, m.span("how")))
    for m in _PATTERN.finditer(line):
        before = line[: m.start()]
        name = next((n for n, words in _PATTERN_WORDS if words.search(before)), "")
        if name and (canonical := _canonical(name, m[1])):
            out.append((name, canonical, "", name, canonical, m.span(1)))
    if wait := _WAIT.search(line):
        name = next((n for n, words in _PATTERN_WORDS if words.search(line)), "")
        digit = 1 if wait[1] else 2
        if name:
            said = wait[digit]
            out.append((f"{name}_ws", float(said), "bus clocks", f"{name}_ws", said, wait.span(digit)))
    return out


def _canonical(setting: str, text: str) -> str:
    if not setting:
        return ""
    try:
        return setting_value(setting, text) or ""
    except LeadoffError:
        return ""


def _whole_memory(tell: Teller) -> None:
    """Memory in all: base and extended memory leave out the 384 KB between them (common practice, no source)."""
    kb = {f.key: f for f in tell.facts if f.unit == "KB" and isinstance(f.value, float)}
    whole, extended = kb.get("screen.memory_kb"), kb.get("screen.extended_kb")
    for fact, more in ((whole, 0.0), (extended, 1024.0)):
        if fact is None or not isinstance(fact.value, float):
            continue
        mb = (fact.value + more) / 1024
        if mb == int(mb) and mb > 0:
            tell(
                "screen.ram_mb", mb, "MB", offset=fact.offset, at=fact.at, setting="ram_mb", canonical=str(int(mb)),
                note=fact.note, certainty=Certainty.PLAIN,
            )  # fmt: skip
            return


def proposed(screen: Screen, digest: str, workloads: Mapping[str, str], answers: Mapping[str, str]) -> Said:
    """Scores on the screen as lines for the log. Whose they are is asked once when more than one could own them."""
    found: list[tuple[int, str, str]] = []
    for row, line in enumerate(screen.lines):
        for m in (*_COUNTERS.finditer(line), *_SCORE.finditer(line)):
            counted = m.re is _COUNTERS
            unit = "frames/s" if counted else m[2].lower()
            if min(screen.certainty[row][m.start() : m.end()]) >= SURE:
                said = f"{m[1]} frames {m[2]} ticks" if counted else f"{m[1]} {m[2]}"
                found.append((row, said, unit))
    proposals: list[Proposal] = []
    asked: dict[str, list[str]] = {}
    for row, said, unit in found:
        named = [w for w in workloads if re.search(rf"\b{re.escape(w)}\b", screen.lines[row], re.I)]
        owners = named or [w for w, u in workloads.items() if _same_unit(u, unit)]
        id_ = f"workload-{_family(unit)}"
        workload = owners[0] if len(owners) == 1 else answers.get(id_, "")
        if workload not in owners:
            if owners:
                asked.setdefault(id_, []).append(said)
            continue
        if "ticks" in said and (rate := answers.get("ticks")):
            said = f"{said}/{rate}"
        elif "ticks" in said:
            asked.setdefault("ticks", []).append(said)
            continue
        line = f"{workload} {said}"
        place = f"row {row + 1}"
        proposals.append(
            Proposal(
                key=f"screen:{digest[:24]}:{row}:{workload}",
                id=sha256(line.encode()).hexdigest()[:16],
                line=line,
                place=place,
            )
        )
    questions = tuple(_question(id_, said, workloads) for id_, said in asked.items())
    return Said(tuple(proposals), questions)


def _question(id_: str, said: list[str], workloads: Mapping[str, str]) -> Question:
    if id_ == "ticks":
        choices = (
            Choice(key="70", text="70 ticks a second (the usual rate of a display refresh)"),
            Choice(key="35", text="35 ticks a second"),
            Choice(key="18.2", text="18.2 ticks a second (the timer interrupt)"),
        )
        return Question(
            id="ticks",
            text="how many ticks are a second?",
            choices=choices,
            places=len(said),
            examples=tuple(said[:3]),
        )
    family = id_.partition("-")[2]
    owners = [w for w, u in workloads.items() if _family(u) == family]
    return Question(
        id=id_,
        text=f"which workload is {said[0]}?",
        choices=tuple(Choice(key=w, text=f"{w}, in {workloads[w]}") for w in owners),
        places=len(said),
        examples=tuple(said[:3]),
    )


def _family(unit: str) -> str:
    low = unit.lower()
    if low in FRAMES_PER_SECOND:
        return "frames"
    return "seconds" if low in SECONDS else re.sub(r"\W+", "", low)


def _same_unit(kept: str, said: str) -> bool:
    return _family(kept) == _family(said)
