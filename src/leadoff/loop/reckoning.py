"""The verb ``electric``: figures of the bench put through the electrical functions, with source and range."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

import msgspec

from leadoff.loop.reckonings import TOPICS, Given, Topic
from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.results import Result
from leadoff.words import number, quantity

PLAIN = {
    "c_w": ("c/w", "k/w"),
    "ma": ("ma",),
    "ua": ("ua", "µa"),
    "mah": ("mah",),
    "uf": ("uf", "µf"),
    "mv": ("mv",),
    "pct": ("%",),
    "ms": ("ms",),
    "mhz": ("mhz",),
}
"""Units that are read by taking them off; all others by the parser of quantities."""
KINDS = {"v": "volts", "a": "amps", "w": "watts", "ohm": "ohms", "c": "temperature"}


def electric(session: Session, text: str) -> Result:
    """One topic with its figures, ``heat in 5 out 3.45 amps 0.93``: what follows from them.

    Raises:
        LeadoffError: no such topic, a figure that is missing or not a number, or one outside of what the formula
            is good for.
    """
    tokens = text.replace("=", " ").split()
    topic = _topic(tokens[0].lower() if tokens else "")
    given = _given(topic, tokens[1:])
    answer = topic.work(given)
    data = {
        "topic": topic.name,
        "what": topic.what,
        "given": [
            {"key": k, "value": v, "unit": topic.keys[k].unit, "assumed": k in given.assumed}
            for k, v in given
        ],
        "results": [msgspec.to_builtins(r) for r in answer.results],
        "says": list(answer.says),
        "source": answer.source,
    }
    return session.result("electric", data, list(answer.marks))


def _topic(word: str) -> Topic:
    if word in TOPICS:
        return TOPICS[word]
    near = difflib.get_close_matches(word, TOPICS, n=1)
    what = (
        f'"{word}" is no topic; nothing was worked out'
        if word
        else "no topic is named; nothing was worked out"
    )
    lines = "; ".join(f"{t.name} ({t.what})" for t in TOPICS.values())
    hint = f'did you mean "{near[0]}"? ' if near else ""
    raise LeadoffError.one("electric.topic", what, where=word, do=f"{hint}topics: {lines}")


def _given(topic: Topic, tokens: Sequence[str]) -> Given:
    """Key and value in turn; ``to`` gives the second value of the key before it."""
    found: dict[str, float | str] = {}
    key = ""
    at = 0
    while at < len(tokens):
        word = tokens[at].lower()
        name = f"to_{key}" if word == "to" else word
        if name not in topic.keys:
            raise LeadoffError.one(
                "electric.key",
                f'"{tokens[at]}" is no figure of {topic.name}; it would be ignored',
                where=tokens[at],
                do=_usage(topic),
            )
        if at + 1 == len(tokens):
            raise LeadoffError.one(
                "electric.value", f"{word} has no value", where=word, do=f"give it: {_usage(topic)}"
            )
        found[name] = _value(topic.keys[name].unit, tokens[at + 1])
        key = name.removeprefix("to_")
        at += 2
        if at < len(tokens) and tokens[at].lower() in _units(topic.keys[name].unit):
            at += 1
    missing = [k for k, v in topic.keys.items() if v.default is None and not v.optional and k not in found]
    if missing:
        names = ", ".join(m.replace("to_", "to after ") for m in missing)
        raise LeadoffError.one(
            "electric.missing", f"{topic.name} needs {names} as well", where=topic.name, do=_usage(topic)
        )
    assumed = {k: v.default for k, v in topic.keys.items() if v.default is not None and k not in found}
    return Given({**found, **assumed}, frozenset(assumed))


def _units(unit: str) -> tuple[str, ...]:
    return PLAIN.get(unit, (unit, "ohms") if unit == "ohm" else (unit, "volts") if unit == "v" else (unit,))


def _value(unit: str, text: str) -> float | str:
    if unit == "word":
        return text.lower()
    if unit in KINDS:
        return float(quantity(text, KINDS[unit]).value)
    bare = text.lower()
    for end in PLAIN.get(unit, ()):
        bare = bare.removesuffix(end)
    return float(number(bare, comma="decimal").value)


def _usage(topic: Topic) -> str:
    return f"for example: `leadoff electric {topic.example}`"


def listed(session: Session) -> Result:
    """All topics with what they are for and an example that works."""
    rows = [{"topic": t.name, "what": t.what, "example": t.example} for t in TOPICS.values()]
    return session.result("electric", {"topics": rows})
