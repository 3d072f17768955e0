"""Spelled numbers as digits: ``one hundred and twenty-four point six`` is 124.6."""

from __future__ import annotations

import re
from functools import lru_cache

from leadoff.claims.rows import table

_COUNTED = (
    r"(?=\s(?:%|mhz|times|of|out|out of|seconds?|hours?|frames?|lines?|waits|x|read|write|"
    r"tenths?|mb|kb|beeps?)\b|\s%)"
)


@lru_cache(maxsize=1)
def _words() -> dict[str, int]:
    return {str(w): int(n) for w, n in table("spoken")["numbers"].items()}


@lru_cache(maxsize=1)
def _patterns() -> tuple[re.Pattern[str], re.Pattern[str]]:
    """A whole number in words; digits in words after ``point``."""
    words = _words()
    tens = "|".join(w for w, n in words.items() if n >= 20)
    ones = "|".join(["one", *(w for w, n in words.items() if 1 <= n <= 9)])
    small = "|".join(sorted(["one", *words], key=len, reverse=True))
    below = rf"(?:(?:{tens})[ -](?:{ones})|{small})"
    hundreds = rf"(?:(?:a|{below}|\d+)[ -]hundred(?:(?: and |[ -]){below})?)"
    part = rf"(?:{hundreds}|{below})"
    whole = re.compile(
        rf"\b(?:(?:a|{part}|\d+) thousand(?: and |[ -])?{part}|(?:a|{part}|\d+) thousand|{part})\b"
        rf"(?: point (?P<after>(?:oh|zero|nought|{small})(?:[ -](?:{ones}|oh|zero|nought))*))?"
    )
    return whole, re.compile(rf"\b(?:oh|zero|nought|{small})\b")


@lru_cache(maxsize=1)
def _short() -> re.Pattern[str]:
    """``one-twelve``, ``four twelve``: hundreds without their word."""
    words = _words()
    ones = "|".join(["one", *(w for w, n in words.items() if 1 <= n <= 9)])
    tens = "|".join(w for w, n in words.items() if n >= 20)
    teens = "|".join(w for w, n in words.items() if 10 <= n < 20)
    oh = rf"(?:oh|zero)[ -](?:{ones})"
    return re.compile(rf"\b(?<!the )({ones})[ -]((?:{tens})(?:[ -](?:{ones}))?|{teens}|{oh})\b(?![ -]hours?)")


@lru_cache(maxsize=1)
def _spoken_point() -> re.Pattern[str]:
    """``thirty-one eight``, ``seventeen four``: a score with its point left out."""
    words = _words()
    ones = "|".join(["one", *(w for w, n in words.items() if 1 <= n <= 9)])
    tens = "|".join(w for w, n in words.items() if 20 <= n < 100)
    teens = "|".join(w for w, n in words.items() if 10 <= n < 20)
    return re.compile(
        rf"\b((?:{tens})-(?:{ones})|{teens})[ -]({ones})(?= ,|,|\.(?=\s|$)|;|…| (?:in|on|there|with|and|to|where|"
        rf"when|for|"
        rf"against|while|versus|vs|or|as|from|at|every|each|all|of)\b|$)"
    )


def digits(low: str) -> str:
    """Spelled numbers as digits, ``one`` only where it counts something."""
    whole, each = _patterns()
    words = _words()

    def value(text: str) -> int:
        total = held = 0
        for word in re.split(r"[ -]", text):
            if word == "and":
                continue
            if word == "hundred":
                held = max(held, 1) * 100
            elif word == "thousand":
                total, held = total + max(held, 1) * 1000, 0
            elif word == "a":
                held = 1
            else:
                held += 1 if word == "one" else int(word) if word.isdigit() else words[word]
        return total + held

    def made(m: re.Match[str]) -> str:
        after = m["after"]
        text = m[0].partition(" point ")[0] if after else m[0]
        if text == "one" and not after:
            return m[0]
        places = "".join(
            "0" if w == "oh" else "1" if w == "one" else str(words[w]) for w in each.findall(after or "")
        )
        return f"{value(text)}.{places}" if places else str(value(text))

    low = _spoken_point().sub(lambda m: f"{value(m[1].replace('-', ' '))}.{words.get(m[2], 1)}", low)
    low = _short().sub(
        lambda m: str(100 * (words.get(m[1]) or 1) + value(re.sub(r"^(?:oh|zero)[ -]", "", m[2]))), low
    )
    low = whole.sub(made, low)
    low = re.sub(r"\b(?:half a|half-a) dozen\b", "6", low)
    low = re.sub(r"\ba dozen\b", "12", low)
    low = re.sub(r"\b(\d+) point (\d+)\b", r"\1.\2", low)
    low = re.sub(r"\b(\d+|one) and a half\b", lambda m: f"{'1' if m[1] == 'one' else m[1]}.5", low)
    low = re.sub(
        r"\b(\d+|one) and (?:a|one) quarter\b", lambda m: f"{'1' if m[1] == 'one' else m[1]}.25", low
    )
    return re.sub(rf"\b(?<!the )(?<!that )(?<!this )(?<!other )one\b{_COUNTED}", "1", low)
