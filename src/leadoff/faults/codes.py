"""POST codes and beeps: what each firmware family means by one. A code is the step that was last started."""

from __future__ import annotations

import re

from leadoff.faults.kinds import Knowledge, PostCode

_NUMBERS = {
    w: str(n)
    for n, w in enumerate(
        ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven"]
    )
}


def post_code(kb: Knowledge, code: str, family: str | None = None) -> tuple[PostCode, ...]:
    """All meanings of a code at port 80h, or of one family (several: parted by ``|``); empty when no table has it.

    ``code`` is two hexadecimal digits, with or without a trailing h.
    """
    wanted = family.split("|") if family else None
    text = code.strip().upper().removesuffix("H").removeprefix("0X").zfill(2)
    return tuple(
        c
        for c in kb.post_codes.values()
        if c.kind == "post" and c.code == text and (wanted is None or c.family in wanted)
    )


def beeps(kb: Knowledge, text: str, family: str | None = None) -> tuple[PostCode, ...]:
    """All meanings of beeps such as ``3 beeps``, ``1 long 2 short``, ``1-3-1-1``; families ``any`` always count."""
    pattern = beep_pattern(text)
    wanted = [*family.split("|"), "any"] if family else None
    return tuple(
        c
        for c in kb.post_codes.values()
        if c.kind == "beeps" and c.code == pattern and (wanted is None or c.family in wanted)
    )


def beep_pattern(text: str) -> str:
    """The one spelling of a beep pattern: ``3``, ``1 long 2 short``, ``1-3-1-1``, ``continuous``, ``none``."""
    t = " ".join(_NUMBERS.get(w, w) for w in re.findall(r"[a-z0-9-]+", text.lower()))
    if m := re.search(r"\b\d(?:-\d){2,3}\b", t):
        return m[0]
    if m := re.search(r"(\d+) long\W*(?:and )?(\d+) short", t):
        return f"{m[1]} long {m[2]} short"
    if m := re.search(r"(\d+) short\b", t):
        return "1 short" if m[1] == "1" else m[1]
    if m := re.search(r"(\d+)\s*(?:beeps?|x)\b", t):
        return "1 short" if m[1] == "1" else m[1]
    return "continuous" if "continu" in t or "endless" in t else t


def families(kb: Knowledge) -> tuple[str, ...]:
    """Names of the firmware families that the code tables know."""
    return tuple(dict.fromkeys(c.family for c in kb.post_codes.values() if c.family != "any"))
