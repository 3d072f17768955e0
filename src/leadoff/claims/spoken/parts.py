"""Parts of a sentence that are claims of their own, each with what it takes from the one before."""

from __future__ import annotations

import re

_SHARED = re.compile(
    r"(.*?\b(?:costs?|gives?|gave|brings?|brought|gains?|gained|adds?|added|is worth|saves?|saved|"
    r"buys?|bought)(?: it| me)?) "
    r"(.+? in (?:the )?[\w -]+?),? (?:and|but) ((?:nothing|none|about|only|just|barely|some|\w+ %|"
    r"\w+ percent)\b.*?in (?:the )?[\w -]+)[.!]?",
    re.I,
)


def whole_parts(parts: tuple[str, ...]) -> tuple[str, ...]:
    """``a difference in the one test but none in the other``: the second part takes its verb from the first."""
    if len(parts) == 1 and (m := _SHARED.fullmatch(parts[0])):
        return f"{m[1]} {m[2]}", f"{m[1]} {m[3]}"
    out = list(parts[:1])
    for part in parts[1:]:
        m = re.fullmatch(r"(?:none|not|nothing)(?: at all)? (in (?:the )?[\w -]+?)[.!]?", part, re.I)
        if (
            m
            and (again := re.sub(r"\b(?:a|some|any|one) (difference|gain|effect)", r"no \1", out[-1]))
            != out[-1]
        ):
            part = f"{re.sub(r' in (?:the )?[a-z -]+$', '', again)} {m[1]}"
        out.append(part)
    return tuple(out)
