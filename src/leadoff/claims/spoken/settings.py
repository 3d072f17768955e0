"""Settings as people say them in a sentence, and whether a run's state is as said."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache

from leadoff.claims.spoken.settings_said import LESS, THE, TO, Maker, Test, forms
from leadoff.claims.spoken.values import Want
from leadoff.claims.values import number_of

WAITS = ("dram_read_ws", "dram_write_ws")
L2 = frozenset({"l2", "l2_read", "l2_write", "l2_read_ws", "l2_write_ws"})
_N = r"(\d+(?:\.\d+)?)"


def _waits(which: str | None, op: str, value: str) -> tuple[Test, ...]:
    kinds = {"read": WAITS[:1], "write": WAITS[1:]}.get(which or "")
    return tuple((n, op, value) for n in kinds) if kinds else (("waits", "waits", value),)


def _clocks(bus: str, ratio: str) -> tuple[Test, ...]:
    return ("bus_mhz", "is", bus), ("ratio", "is", ratio)


_GONE = (
    r"(?:off|out|gone|removed|disabled|(?:taken|pulled|stripped|cut) (?:out|away)|away|cleared|zeroed|dropped|"
    r"deleted|set to none|nil)"
)

_FORMS: tuple[tuple[str, Maker], ...] = (
    (
        rf"\b{_N}(?: mhz)?(?: bus)? ?(?:times|x|by(?! \d+ (?:frames|fps|lines|seconds|s|"
        rf"mb)\b)) ?(\d(?:\.\d+)?)\b(?!\.\d)(?! (?:%|frames|fps|seconds|as|faster|quicker|"
        rf"slower|the|out)\b)",
        lambda m: _clocks(m[1], m[2]) if float(m[1]) >= 14 else None,
    ),
    (
        rf"\b(\d(?:\.\d+)?) ?(?:times|x) ?{_N}(?: mhz)?\b",
        lambda m: _clocks(m[2], m[1]) if float(m[2]) >= 14 else None,
    ),
    (
        rf"\b(?:times|x) ?(\d(?:\.\d+)?) (?:at|on)(?: an?)? {_N}(?: mhz)?(?: bus)?\b",
        lambda m: (("ratio", "is", m[1]), ("clock", "clock", m[2])) if float(m[2]) >= 14 else None,
    ),
    (r"\b(\d-\d-\d-\d)\b", lambda m: (("l2_read", "is", m[1]),)),
    (r"\bcas(?: is| of| at| to| set to)? (\d(?:\.5)?)\b", lambda m: (("cas", "is", m[1]),)),
    (r"\b(?:the )?cas(?: setting| timing)?\b", lambda m: (("cas", "any", ""),)),
    (
        rf"\b(?:{LESS}{THE} write-back|"
        r"write-back(?: was| is| turned| switched| set| still| left| kept)* (?:off|disabled)|"
        r"(?:turning|switching) write-back off|write-through(?: mode)?)\b",
        lambda m: (("l1_policy", "is", "wt"),),
    ),
    (
        r"\b(?:(?:turning|switching|turned|switched) on write-back|(?:turning|switching|turned) write-back on|"
        r"write-back(?: mode| cache| caching)?(?: was| is| turned| switched)?(?: on(?! (?:the|my|a|"
        r"its|an|\{))| enabled)?)\b",
        lambda m: (("l1_policy", "is", "wb"),),
    ),
    (
        rf"\b(?:{LESS}{THE} l2(?: cache)?|l2(?: cache)?(?: was| is| turned| switched)? (?:off|disabled)|"
        r"(?:turning|switching|turned|switched|with)(?: the| its)? l2(?: cache)? off)\b",
        lambda m: (("l2", "is", "off"),),
    ),
    (r"\b(\d+) (?:k|kb|kib|kilobytes?)(?: of)?(?: l2)?(?: cache)?\b", lambda m: (("l2_kb", "is", m[1]),)),
    (r"\b(?:cache|l2) (?:settings?|timings?|pattern)\b", lambda m: (("l2", "any", ""),)),
    (
        r"\bl2(?: cache)?(?: turned| switched| is| was)?(?: on(?! (?:the|my|a|its|an|\{))| enabled)?\b",
        lambda m: (("l2", "is", "on"),),
    ),
    (
        r"\b(\d+) (?:mb|mib|megs?|megabytes?)(?! ?/ ?s| a | per )(?: of)?(?: ram| memory)?\b",
        lambda m: (("ram_mb", "is", m[1]),),
    ),
    (
        rf"\bboth (?:the |its )?waits {_GONE}\b",
        lambda m: _waits(None, "is", "0"),
    ),
    (rf"\b{LESS}{THE}(?: 1)?(?: (read|write|memory))? waits\b", lambda m: _waits(m[1], "is", "0")),
    (
        r"\b(?:at|with)? ?(\d) (read|write) and (\d) (read|write) waits\b",
        lambda m: (*_waits(m[2], "is", m[1]), *_waits(m[4], "is", m[3])),
    ),
    (
        rf"\b(?:the )?(read|write|memory) waits {_GONE}\b",
        lambda m: _waits(m[1], "is", "0"),
    ),
    (r"\b(\d)(?: (read|write|memory))? waits\b", lambda m: _waits(m[2], "is", m[1])),
    (
        r"\b(?:(?:both|all) (?:the |its )?)?(?:(read|write) )?waits(?: both)? (?:at|to|of|set to|is|was|are) (\d)\b",
        lambda m: _waits(m[1], "is", m[2]),
    ),
    (
        r"\b(?:adding |added )?(?:a |an |the |that )?(?:extra )?(read|write) waits\b",
        lambda m: _waits(m[1], "over", "0"),
    ),
    (r"\bwaits\b", lambda m: (("waits", "any", ""),)),
    (rf"\b{_N}(?: mhz)? (?:on )?(?:the )?(?:bus|bus clock)\b", lambda m: (("bus_mhz", "is", m[1]),)),
    (
        rf"\bbus{TO} {_N}(?: mhz)?\b(?! (?:fps|frames|lines|seconds|s|mb)\b)",
        lambda m: (("bus_mhz", "is", m[1]),),
    ),
    (
        rf"\b{_N} mhz core\b|\bcore(?: clock)?(?: at| of)? {_N}(?: mhz)?\b",
        lambda m: (("core_mhz", "is", m[1] or m[2]),),
    ),
    (r"\ba larger cache\b", lambda m: (("l2_kb", "any", ""),)),
    (r"\b(?:the )?(?:memory|ram|dram) timings?\b", lambda m: (("cas", "any", ""),)),
    (r"\ba larger ram\b", lambda m: (("ram_mb", "any", ""),)),
    (rf"\b{_N} mhz\b", lambda m: (("clock", "clock", m[1]),)),
    (
        rf"\b(?:ratio|multiplier){TO} (\d(?:\.\d+)?)\b|"
        r"\b(?:times|x) ?(\d(?:\.5)?)\b(?! %)|"
        r"(?<!than )(?<!about )(?<!nearly )(?<!over )(?<!almost )\b(\d(?:\.5)?)x\b(?! (?:that|the|this|"
        r"as|faster|quicker|slower|it|more|what|better|longer))",
        lambda m: (("ratio", "is", m[1] or m[2] or m[3]),),
    ),
    (r"\b(\d(?:\.\d)?) (?:ratio|multiplier)\b", lambda m: (("ratio", "is", m[1]),)),
    (
        r"\b(?:the )?(?:higher |lower |faster |slower )?(?:ratio|multiplier)\b",
        lambda m: (("ratio", "any", ""),),
    ),
    (
        r"\b(?:the )?(?:faster |higher |slower |lower )?(?:bus|bus clock|bus speed)\b",
        lambda m: (("bus_mhz", "any", ""),),
    ),
    (r"\bunknown (?:jumpers?|settings?|state)\b", lambda m: (("*", "unknown", ""),)),
)


@lru_cache(maxsize=1)
def _compiled() -> tuple[tuple[re.Pattern[str], Maker], ...]:
    """Settings called by name first: ``cache write waits`` are no write waits of memory."""
    return tuple((re.compile(form), make) for form, make in (*forms(), *_FORMS))


_SPLIT = re.compile(r"\b(l2|cache|memory|d?ram|vlb|localbus) (\d) (read |write )?waits\b")
"""``cache 0 write waits``, a count that came between."""


def wants_in(low: str, mark: Callable[[Want], str]) -> str:
    """Replaces every setting in a plain sentence by the sign that ``mark`` gives for it."""
    low = _SPLIT.sub(r"\2 \1 \3waits", low)
    for form, make in _compiled():
        low = form.sub(lambda m, make=make: _one(m, make, mark), low)  # type: ignore[misc]
    return low


def _one(m: re.Match[str], make: Maker, mark: Callable[[Want], str]) -> str:
    tests = make(m)
    if tests is None or "{" in m[0]:
        return m[0]
    return f" {mark(Want(m[0].strip(), tests))} "


def near_clock(value: float | None, said: str) -> bool:
    """33 and 33.3 both mean 33.33; 66 and 67 both mean 66.67."""
    if value is None:
        return False
    wanted = float(said)
    if "." in said:
        return abs(value - wanted) < 0.5 * 10.0 ** -len(said.partition(".")[2]) + 0.05
    return int(value) == int(wanted) or round(value) == int(wanted)


def meets(want: Want, settings: Mapping[str, str | None], core_mhz: float | None) -> bool:
    """Whether a state is as said. What the state does not know is never as said."""
    return all(_meets(t, settings, core_mhz) for t in want.tests)


def _meets(test: Test, settings: Mapping[str, str | None], core_mhz: float | None) -> bool:
    name, op, said = test
    bus = number_of(settings.get("bus_mhz"))
    if op == "unknown":
        return any(v is None for v in settings.values())
    if op == "clock":
        return near_clock(bus, said) or near_clock(core_mhz, said)
    if name == "core_mhz":
        return near_clock(core_mhz, said)
    if op == "waits":
        known = [settings[n] for n in WAITS if n in settings]
        return bool(known) and all(v is not None and number_of(v) == float(said) for v in known)
    value = settings.get(name)
    if op == "any" or value is None:
        return op == "any"
    if name == "bus_mhz":
        return near_clock(bus, said)
    if op == "lead":
        return value.partition("-")[0] == said
    one, two = number_of(value), number_of(said)
    if op == "over":
        return one is not None and one > float(said)
    return bool(value == said) if one is None or two is None else bool(abs(one - two) < 1e-6)


_ELSE: Mapping[str, tuple[str, ...]] = {
    "l2_read": ("dram_read", "l2_write", "dram_write"),
    "l1_policy": ("l2_policy",),
    "dram_read_ws": ("l2_read_ws",),
    "dram_write_ws": ("l2_write_ws",),
}
"""What a pattern, a write policy or a wait state may mean that was said with no name of its own."""
_NAMED = re.compile(r"\b(?:memory|d?ram|cache|l2|l1|local|vlb|bus)\b")


def settle(want: Want, states: Iterable[tuple[Mapping[str, str | None], float | None]]) -> Want:
    """What was said with no name of its own, by what these states have: a bare clock is the bus clock where one of
    them had it there, else the core clock; a bare pattern that of the cache, else that of memory."""
    known = [s for s, _ in states]
    tests = tuple(_settled(t, known, named=_NAMED.search(want.text) is not None) for t in want.tests)
    return want if tests == want.tests else Want(want.text, tests)


def _settled(test: Test, states: Sequence[Mapping[str, str | None]], *, named: bool) -> Test:
    name, op, value = test
    if op == "clock":
        buses = (number_of(s.get("bus_mhz")) for s in states)
        return ("bus_mhz" if any(near_clock(b, value) for b in buses) else "core_mhz", "is", value)
    if named or name not in _ELSE or op not in ("is", "over", "any"):
        return test

    def there(other: str) -> bool:
        return any(other in s if op == "any" else _meets((other, op, value), s, None) for s in states)

    return test if there(name) else (next((o for o in _ELSE[name] if there(o)), name), op, value)
