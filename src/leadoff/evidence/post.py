"""Logs of the codes that firmware writes while it starts. A code is the step that was last begun."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import pairwise

import msgspec

from leadoff.evidence.facts import Hints, Rank, Reading, Source, Teller
from leadoff.evidence.lines import lines_of
from leadoff.evidence.rows import limit

MOST_BYTES = 1 << 20
MEMORY_BITS = 0xDD
"""Written before the bits of a memory error (source: IBM AT firmware listing, as tables of its codes have it)."""

LINE = re.compile(
    r"^\s{0,40}(?P<stamp>\[?[\d:.,]{1,24}(?:\s{0,4}m?s)?\]?[\s,;:-]{1,8})?"
    r"(?:post\W{1,8}(?:code\W{1,8})?|port\W{1,8}80h?\W{1,8}|code\W{1,8}|80h?\s{0,4}[:=<-]{1,4}\s{0,4})?"
    r"(?:0[xX])?(?P<code>[0-9A-Fa-f]{2})h?\s{0,40}(?:$|[,;#\t ].*$)",
    re.IGNORECASE,
)
WORDED = re.compile(r"\bpost\b|\bport\s*80|\bcode\b", re.IGNORECASE)


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One code, how often it came in a row, and where it first stands (line of a text, byte of a capture)."""

    code: int
    count: int
    at: int


def steps(data: bytes, *, binary: bool = False) -> tuple[Step, ...]:
    """Codes in order, repeats folded."""
    out: list[Step] = []
    for code, at in _codes(data, binary=binary):
        if out and out[-1].code == code:
            out[-1] = msgspec.structs.replace(out[-1], count=out[-1].count + 1)
        else:
            out.append(Step(code=code, count=1, at=at))
    return tuple(out)


def _codes(data: bytes, *, binary: bool) -> list[tuple[int, int]]:
    data = data[:MOST_BYTES]
    if binary:
        return [(code, n) for n, code in enumerate(data)]
    found = []
    for n, line in enumerate(lines_of(data), 1):
        m = LINE.match(line)
        if m is not None:
            found.append((int(m["code"], 16), n))
    if found:
        return found
    return [(int(w, 16), 1) for w in re.findall(r"\b[0-9A-Fa-f]{2}\b", data.decode("latin-1"))]


def is_text(data: bytes) -> bool:
    """Whether a file is text."""
    return (
        bool(data)
        and all(c >= 32 or c in b"\t\r\n" for c in data[:4096])
        and not any(c > 126 for c in data[:4096])
    )


def sniff(source: Source) -> float:
    """A text of which nearly every line is a code; a row of codes only with a word that says so.

    A raw capture is nothing but bytes: it is read when ``--kind post`` says so.
    """
    data = source.data
    if len(data) > MOST_BYTES or not is_text(data):
        return 0.0
    lines = [x for x in lines_of(data) if x.strip() and not x.lstrip().startswith("#")]
    fits = sum(1 for x in lines if LINE.match(x))
    worded = bool(WORDED.search(data[:2000].decode("latin-1")))
    if fits >= 3 and fits >= 0.8 * len(lines):
        return 0.85 if worded else 0.7
    tokens = data.decode("latin-1").split()
    hexes = sum(1 for t in tokens if re.fullmatch(r"[0-9A-Fa-f]{2}", t))
    return 0.75 if worded and hexes >= 4 and hexes >= 0.7 * len(tokens) else 0.0


def read(source: Source, hints: Hints) -> Reading:
    """Read a log. Meanings differ between tables of one firmware even, so each comes with its family."""
    all_steps = steps(source.data, binary=not is_text(source.data))
    noise = [s for s in all_steps if s.code == 0 and s.count >= limit("delay_writes")]
    kept = _joined(s for s in all_steps if s not in noise)
    tell = Teller(source, Rank.FIRMWARE)
    lines: list[str] = []
    warnings: list[str] = []
    codes = [f"{s.code:02X}" for s in kept]
    tell("post.codes", len(kept), "codes", about="start")
    if kept:
        tell(
            "post.sequence",
            " ".join(codes[-32:]),
            offset=kept[0].at,
            about="start",
            note="the last 32 at most",
        )
        tell("post.last", codes[-1], offset=kept[-1].at, about="start")
        lines.append(f"{len(kept)} codes, the last ones {' '.join(codes[-10:])}")
        # where a code alternates with its bits, the bits are no step
        lines += _meanings(tell, kept[-2] if _alternates([s.code for s in kept]) else kept[-1], hints)
    if noise:
        tell("post.delays", sum(s.count for s in noise), "writes", about="start", note="00h as a delay")
        lines.append(f"{sum(s.count for s in noise)} writes of 00h are a delay by the firmware, not steps")
    warnings += _patterns(tell, kept, source.name)
    return tell.reading("post", "log of start codes", lines, warnings)


def _joined(found: Iterable[Step]) -> list[Step]:
    """Steps with those of one code in a row put together, once delays between them are left out."""
    out: list[Step] = []
    for s in found:
        if out and out[-1].code == s.code:
            out[-1] = msgspec.structs.replace(out[-1], count=out[-1].count + s.count)
        else:
            out.append(s)
    return out


def _alternates(codes: Sequence[int]) -> bool:
    """One code before every other one at the end: DDh and bits twice, or any code and bits three times."""
    marked = len(codes) >= 4 and codes[-4] == codes[-2] == MEMORY_BITS
    return marked or (len(codes) >= 6 and len(set(codes[-6::2])) == 1)


def _meanings(tell: Teller, last: Step, hints: Hints) -> list[str]:
    found: Sequence[tuple[str, str]] = (
        hints.meanings(f"{last.code:02X}") if hints.meanings is not None else ()
    )
    for family, text in found:
        tell(
            f"post.meaning.{family}",
            text,
            offset=last.at,
            about="start",
            note="if the firmware is of this family",
        )
    texts = [f"{family}: {text}" for family, text in found]
    if not texts:
        return [f"no table of ours has {last.code:02X}h"]
    return [f"{last.code:02X}h, the step last begun, by family: {'; '.join(texts[:4])}"]


def _patterns(tell: Teller, kept: Sequence[Step], name: str) -> list[str]:
    codes = [s.code for s in kept]
    if not codes:
        tell("post.pattern", "none", about="start")
        return [f"{name}: no code at all: the processor may not have fetched"]
    if len(codes) == 1 and codes[0] in (0x00, 0xFF):
        tell("post.pattern", "stuck", about="start")
        return [f"{name}: only {codes[0]:02X}h: the port shows a floating or held bus, no step"]
    restarts = sum(1 for a, b in pairwise(codes) if b == codes[0] and a != codes[0])
    if restarts >= 2:
        tell("post.pattern", "restarts", about="start", note=f"{restarts + 1} starts")
        return [f"{name}: it began again {restarts} times: a reset loop"]
    if _alternates(codes):
        tell("post.pattern", "alternates", about="start", note=f"{codes[-2]:02X} and a pattern")
        return [f"{name}: {codes[-2]:02X}h alternates with another code: an error with its bits, not steps"]
    if kept[-1].count >= limit("stuck_codes"):
        tell("post.pattern", "repeats", about="start")
    return []
