"""Forms of the settings in ``settings_said.toml``: a pattern each, and the tests that what it matched stands for.

A row with ``alone = false`` goes by a name that means other things too, such as the parity of a parity error; one
with ``by_value = true`` goes by its value alone, such as EDO.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from itertools import permutations

from leadoff.claims.rows import table

Test = tuple[str, str, str]
Maker = Callable[[re.Match[str]], tuple[Test, ...] | None]
LESS = (
    r"(?:without|no|with no|minus|dropping|dropped|drop|los(?:ing|t|e)|remov(?:ing|ed|e)|cut(?:ting)?|"
    r"kill(?:ing|ed)?|"
    r"(?:taking|took|take|taken|pulled|pulling) (?:out|off|away)|(?:getting|got|get) rid of|"
    r"(?:switch|turn)(?:ing|ed)? off|clear(?:ing|ed|s)?|zero(?:ing|ed)|neither|strip(?:ping|ped|s)?(?: (?:out|off|"
    r"away))?|disabl(?:ing|ed|e)|did away with|doing away with)"
)
TO = r"(?: (?:clock|speed|down|up|back|set|put|now|left|in|was|is|at|of|to|on|pushed|turned|taken))*"
THE = r"(?: (?:both|all))?(?: (?:of (?:the|its)|the|a|an|any|its|that|this|my))?"
_IN = r"(?: (?:is|was|are|were|set|put|left|back|in|on|to|at|as|for|turned|switched|running|runs|ran))*"
_NO_UNIT = r"(?!\.\d)(?! (?:fps|frames|lines|seconds|%|mb/s|times|of \d))"


@lru_cache(maxsize=1)
def forms() -> tuple[tuple[str, Maker], ...]:
    """Every form, the fuller wording of a setting before its bare name."""
    full: list[tuple[str, Maker]] = []
    bare: list[tuple[str, Maker]] = []
    rows = table("settings_said")["row"]
    numbers = {str(r["setting"]): f"(?:{r['called']})" for r in rows if r["kind"] == "number"}
    for a, b in permutations(numbers, 2):
        full.append(
            (rf"\b{numbers[a]} and (?:the )?{numbers[b]}(?: both| each)?{TO} (\d)\b{_NO_UNIT}", _both(a, b))
        )
    for row in rows:
        name, called = str(row["setting"]), f"(?:{row['called']})"
        full += _MAKERS[str(row["kind"])](name, called, row)
        if row.get("alone", True):
            bare += _bare(name, called, str(row["kind"]))
    return (*full, *bare)


@lru_cache(maxsize=1)
def taken_out() -> Mapping[str, str]:
    """What each setting that can be taken out or switched off is then: wait 0, cache off, write-through."""
    out = {"l2": "off", "l1_policy": "wt"}
    for row in table("settings_said")["row"]:
        if (value := _OUT.get(str(row["kind"]))) is not None:
            out.setdefault(str(row["setting"]), value)
    return out


def put_in(name: str) -> tuple[str, str]:
    """Test and value of a setting that was put in or switched on."""
    return {"0": ("over", "0"), "off": ("is", "on"), "wt": ("is", "wb")}[taken_out()[name]]


_OUT = {"waits": "0", "switch": "off", "policy": "wt"}


def _fixed(name: str, op: str, value: str) -> Maker:
    return lambda m: ((name, op, value),)


def _first(name: str, op: str) -> Maker:
    return lambda m: ((name, op, next(g for g in m.groups() if g is not None)),)


def _both(a: str, b: str) -> Maker:
    """``RCD and precharge both at 2``."""
    return lambda m: ((a, "is", m[1]), (b, "is", m[1]))


def _waits(name: str, called: str, row: Mapping[str, object]) -> list[tuple[str, Maker]]:
    thing = rf"(?:{called} waits|waits (?:on|for|in|at|of) (?:the )?{called})"
    return [
        (rf"\b(\d) {thing}\b", _first(name, "is")),
        (rf"\b{LESS}{THE}(?: 1)? {thing}(?! (?:at|to|of) \d)\b", _fixed(name, "is", "0")),
        (
            rf"\b(?:the )?{thing} (?:off|out|gone|removed|disabled|taken out|away|dropped)\b",
            _fixed(name, "is", "0"),
        ),
        (rf"\b(?:the )?{thing}{TO} (\d)\b{_NO_UNIT}", _first(name, "is")),
        (rf"\b(?:the )?{thing} in\b(?! (?:the|\{{))", _fixed(name, "over", "0")),
        (rf"\b(?:adding |added |with )(?:a |an |the |that )?(?:extra )?{thing}\b", _fixed(name, "over", "0")),
    ]


def _pattern(name: str, called: str, row: Mapping[str, object]) -> list[tuple[str, Maker]]:
    beats = r"(\d-\d-\d-\d)"
    return [
        (rf"\b{called}(?: pattern| timings?| burst)?{_IN} {beats}\b", _first(name, "is")),
        (rf"\b{beats} (?:{_IN.strip()} )?(?:on |for |from |in )?(?:the )?{called}\b", _first(name, "is")),
    ]


def _policy(name: str, called: str, row: Mapping[str, object]) -> list[tuple[str, Maker]]:
    out: list[tuple[str, Maker]] = []
    for said, value in (("write-back", "wb"), ("write-through", "wt")):
        out.append((rf"\b{called}{_IN} {said}\b", _fixed(name, "is", value)))
        out.append((rf"\b{said}(?: \w+)? (?:on|for|in|of) {called}\b", _fixed(name, "is", value)))
    return out


def _switch(name: str, called: str, row: Mapping[str, object]) -> list[tuple[str, Maker]]:
    on, off = r"(?:on|enabled|active)", r"(?:off|disabled|out)"
    return [
        (rf"\b{LESS}{THE} {called}\b", _fixed(name, "is", "off")),
        (rf"\b{called}(?: turned| switched| is| was| set to)? {off}\b", _fixed(name, "is", "off")),
        (rf"\b(?:turning|switching|turned|switched|with) (?:the )?{called} off\b", _fixed(name, "is", "off")),
        (
            rf"\b{called}(?: turned| switched| is| was| set to)? {on}\b(?! (?:the|my|a|its|an|\{{))",
            _fixed(name, "is", "on"),
        ),
        (
            rf"\b(?:turning|switching|turned|switched|enabl(?:ing|ed)) (?:on )?(?:the )?{called}(?: on)?\b",
            _fixed(name, "is", "on"),
        ),
    ]


def _word(name: str, called: str, row: Mapping[str, object]) -> list[tuple[str, Maker]]:
    values = row["values"]
    assert isinstance(values, Mapping)
    out: list[tuple[str, Maker]] = []
    for value, said in values.items():
        out.append((rf"\b(?:{said}) {called}\b", _fixed(name, "is", str(value))))
        out.append((rf"\b{called}{TO} (?:{said})\b", _fixed(name, "is", str(value))))
        if row.get("by_value"):
            out.append((rf"\b(?:the )?(?:{said})\b", _fixed(name, "is", str(value))))
    return out


def _number(name: str, called: str, row: Mapping[str, object]) -> list[tuple[str, Maker]]:
    return [(rf"\b{called}{TO} (\d)\b{_NO_UNIT}", _first(name, "is"))]


def _unit(name: str, called: str, row: Mapping[str, object]) -> list[tuple[str, Maker]]:
    unit = rf"(\d+(?:\.\d+)?) ?(?:{row['unit']})"
    return [
        (rf"\b{unit} {called}\b", _first(name, "is")),
        (rf"\b{called}{TO} {unit}\b", _first(name, "is")),
    ]


def _lead(name: str, called: str, row: Mapping[str, object]) -> list[tuple[str, Maker]]:
    return [
        (rf"\b{called}{TO} (\d)(?: clocks?)?\b{_NO_UNIT}", _first(name, "lead")),
        (rf"\b(\d)(?:-| )?(?:clocks?|cycles?)? {called}\b", _first(name, "lead")),
    ]


def _bare(name: str, called: str, kind: str) -> list[tuple[str, Maker]]:
    if kind == "waits":
        thing = rf"(?:{called} waits|waits (?:on|for|in|at|of) (?:the )?{called})"
        return [(rf"\b(?:the )?{thing}\b", _fixed(name, "any", ""))]
    if kind == "pattern":
        return [(rf"\b(?:the )?{called} (?:pattern|timings?)\b", _fixed(name, "any", ""))]
    if kind in ("policy", "unit"):
        return []
    return [(rf"\b(?:the )?{called}\b", _fixed(name, "any", ""))]


_MAKERS: Mapping[str, Callable[[str, str, Mapping[str, object]], list[tuple[str, Maker]]]] = {
    "waits": _waits,
    "pattern": _pattern,
    "policy": _policy,
    "switch": _switch,
    "word": _word,
    "number": _number,
    "unit": _unit,
    "lead": _lead,
}
