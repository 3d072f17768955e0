"""What is fitted: memory by site, cache chips, processor and specimen, display card."""

from __future__ import annotations

import re

from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import AnyPhrase, SetPhrase
from leadoff.words.memory_words import CACHE_CHIPS, TAG_CHIP, cache_chips, memory_prefix
from leadoff.words.scan import END, QUOTED, TIE, Found, Scan, match
from leadoff.words.vocabulary import known_words

_SITE = rf"((?:b|bank|dimm|simm|sip|site)\s*\d{{1,2}}){END}"
_NOT_KNOWN = r"(?:\?|default|unknown|auto|not known)(?=[\s,;]|$)"
_BUSES = r"(isa|eisa|vlb|vl|pci|agp)"


def memory(scan: Scan, pos: int) -> Found | None:
    """``ram b0 4x8 fpm60``, ``dimm1 128 sdram cl3 8ns``, ``ram b0 -``."""
    headed = match(scan, r"(?:ram|memory)\s*[=:]?\s*(?=\S)", pos)
    at = headed.end() if headed else pos
    site, end = _site(scan, at)
    if site is None:
        stray = match(scan, _SITE, at)
        if stray is None:
            return _without_site(scan, pos, at)
        rest = match(scan, r"[^,;]*", at)
        sites = scan.context.memory_sites
        stop = rest.end() if rest else stray.end()
        modules = scan.typed(stray.end(), stop)
        question = (
            f"no memory site {scan.typed(at, stray.end())} on this board's sheet; it has {', '.join(sites)}"
        )
        return scan.ask(pos, stop, question, [f"ram {s} {modules}" for s in sites])
    tie = TIE.match(scan.plain, end)
    at = tie.end() if tie else end
    if gone := match(scan, rf"(-|empty|none|\?|default|unknown|not known){END}", at):
        more = match(scan, r"(?:,?\s*not known)?", gone.end())
        return scan.setting(pos, more.end() if more else gone.end(), f"ram.{site}", gone[1])
    try:
        canonical, length = memory_prefix(re.split(r"[,;](?!\d)", scan.low[at:])[0])
    except LeadoffError as error:
        return scan.ask_error(pos, len(scan.low), error)
    if canonical is None:
        rest = match(scan, r"[^,;]*", at)
        return scan.ask(
            pos, rest.end() if rest else at, f"ram {site}: what is fitted? Such as 4x8 fpm60, or - for empty"
        )
    return scan.setting(pos, at + length, f"ram.{site}", scan.low[at : at + length])


def _site(scan: Scan, pos: int) -> tuple[str | None, int]:
    wanted = {s.lower().replace(" ", ""): s for s in scan.context.memory_sites}
    for words in (2, 1):
        said = scan.words_at(pos, words)
        joined = "".join(w for w, _ in said)
        if len(said) == words and joined in wanted:
            return wanted[joined], said[-1][1]
    found = match(scan, _SITE, pos)
    if found is not None and not wanted:
        return found[1].replace(" ", ""), found.end()
    return None, pos


def _without_site(scan: Scan, pos: int, at: int) -> Found | None:
    """Modules such as ``4x8 fpm60`` without the site they sit in."""
    found = match(
        scan, r"\d{1,2}\s*x\s*\d{1,4}\s*(?:(?:kb?|mb?)\b\s*)?(?:(?:fpm|edo|sdram)\S*|\d+\s*ns)[^,;]*", at
    )
    if found is None:
        return None
    modules = scan.typed(at, found.end())
    sites = scan.context.memory_sites or ("b0",)
    return scan.ask(
        pos, found.end(), f"{modules}: in which memory site?", [f"ram {s} {modules}" for s in sites]
    )


LEAST_TAG_BITS = 5
"""A narrower chip holds marks beside the tag, not the tag."""


def cache(scan: Scan, pos: int) -> Found | None:
    """``8x32k8-15 tag 32k8-12`` and ``cache none``; ``cache off`` is asked for."""
    if none := match(scan, rf"cache\s+(?:none|not fitted){END}", pos):
        return scan.setting(pos, none.end(), "l2_kb", "0")
    if which := match(scan, rf"cache\s+(on|off|enabled|disabled|wb|wt){END}", pos):
        question = f"{scan.typed(pos, which.end())}: inside the processor or on the board?"
        return scan.ask(pos, which.end(), question, (f"l1 {which[1]}", f"l2 {which[1]}"))
    headed = match(scan, r"(?:cache|l2)\s*[=:]?\s*", pos)
    found = CACHE_CHIPS.match(scan.low, headed.end() if headed else pos)
    if found is not None:
        try:
            chips = cache_chips(found)
        except LeadoffError as error:
            return scan.ask_error(pos, found.end(), error)
        texts = [("l2_chips", str(chips.chips)), ("l2_kb", str(chips.kb)), ("l2_ns", chips.ns)]
        return _settings(scan, pos, found.end(), [t for t in texts if t[1]])
    tagged = match(scan, r"tag\s*[=:]?\s*", pos)
    chip = TAG_CHIP.match(scan.low, tagged.end()) if tagged else None
    if chip is None or tagged is None:
        return None
    if not chip[4]:
        return scan.ask(
            pos, chip.end(), f"{scan.typed(pos, chip.end())}: of what grade? Such as tag 32k8-12, or tag 12ns"
        )
    bits = int(chip[1] or 1) * int(chip[3])
    width = [("tag_bits", str(bits))] if bits >= LEAST_TAG_BITS else []
    return _settings(scan, pos, chip.end(), [("tag_ns", chip[4]), *width])


def _settings(scan: Scan, pos: int, end: int, texts: list[tuple[str, str]]) -> Found:
    phrases: list[AnyPhrase] = []
    for name, text in texts:
        phrases.extend(scan.setting(pos, end, name, text).phrases)
    return Found(end, tuple(phrases))


def processor(scan: Scan, pos: int) -> Found | None:
    """``cpu p55c-200-2v8``, ``cpu "my part" #3``, ``cpu #3``, ``specimen 3``."""
    if specimen := match(
        scan, rf"(?:cpu\s+|processor\s+)?(?:specimen\s*[=:]?\s*#?|#)(?!{_NOT_KNOWN})([\w.-]+){END}", pos
    ):
        return scan.setting(
            pos, specimen.end(), "cpu_specimen", scan.plain[specimen.start(1) : specimen.end(1)]
        )
    headed = match(scan, r"(?:cpu|processor)(?:\s*[=:]\s*|\s+)(?=[^\s,;])", pos)
    if headed is None or match(
        scan,
        rf"{_NOT_KNOWN}|(?:specimen|clock|volts?|voltage|temp|temperature|socket|fan|cooler)\b",
        headed.end(),
    ):
        return None
    text, end = _free_text(scan, headed.end())
    if not any(c.isalnum() for c in text):
        return None
    if text.isdigit() and len(text) < 3 and '"' not in scan.plain[pos:end]:
        choices = (f"cpu #{text}", f'cpu "{text}"')
        return scan.ask(
            pos, end, f"{scan.typed(pos, end)}: which specimen, or what the part is called?", choices
        )
    found = scan.setting(pos, end, "cpu", text)
    if more := match(scan, rf"\s*#([\w.-]+){END}", end):
        own = scan.setting(end, more.end(), "cpu_specimen", scan.plain[more.start(1) : more.end(1)])
        return Found(more.end(), (*found.phrases, *own.phrases))
    return found


def display(scan: Scan, pos: int) -> Found | None:
    """``video vlb slot 2``, ``video "green card" pci``."""
    headed = match(scan, r"(?:video|display|graphics)(?:\s+card)?(?:\s*[=:]\s*|\s+)(?=[^\s,;])", pos)
    if headed is None or match(scan, rf"(?:slot\s*[=:]?\s*)?{_NOT_KNOWN}", headed.end()):
        return None
    at, start, phrases, used = headed.end(), pos, list[SetPhrase](), set[str]()
    while True:
        name, text, end = _display_part(scan, at, not phrases)
        if not name or name in used:
            break
        used.add(name)
        phrases.extend(p for p in scan.setting(start, end, name, text).phrases if isinstance(p, SetPhrase))
        gap = match(scan, r"\s*", end)
        at = start = gap.end() if gap else end
        last = end
    return Found(last, tuple(phrases)) if phrases else None


def _display_part(scan: Scan, pos: int, first: bool) -> tuple[str, str, int]:
    if bus := match(scan, _BUSES + END, pos):
        return "video_bus", bus[1], bus.end()
    if slot := match(scan, rf"slot\s*[=:]?\s*#?([\w]+){END}", pos):
        return "video_slot", slot[1], slot.end()
    quoted = QUOTED.match(scan.plain, pos) is not None
    text, end = _free_text(scan, pos)
    if text and (quoted or (first and text.lower() not in known_words())):
        return "video", text, end
    return "", "", pos


def _free_text(scan: Scan, pos: int) -> tuple[str, int]:
    if quoted := QUOTED.match(scan.plain, pos):
        return quoted[1].strip(), quoted.end()
    found = match(scan, r"[^\s,;\"]+", pos)
    return (scan.plain[pos : found.end()], found.end()) if found else ("", pos)
