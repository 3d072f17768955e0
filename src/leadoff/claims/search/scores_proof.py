"""What is said beside a place: by how much it is held, and the soak and copies it rests on."""

from __future__ import annotations

import re

from leadoff.claims.search.scores_firsts import Contest, Rank
from leadoff.claims.search.scores_unknown import SCORES
from leadoff.claims.search.scores_words import words
from leadoff.claims.search.talk import Talk
from leadoff.claims.spoken.evidence import as_figure
from leadoff.claims.spoken.values import Num

BY_HUNDRED = re.compile(r"\bby (?:an? |some |about )?(?:good |full |whole |round |clear )?hundred\b")
_HUNDRED = Num(kind="difference", value=100.0, mod="just", text="a hundred")
PROOF = frozenset(
    [
        "soak",
        "soaks",
        "soaked",
        "copy",
        "copies",
        "copied",
        "clean",
        "compare",
        "compared",
        "copy-compare",
        "passed",
        "overnight",
        "survived",
        "verified",
    ]
)
"""Words that show what a record rests on."""


def copies_in(talk: Talk) -> list[str]:
    """Numbers of copies that a record rests on."""
    said = talk.said
    return [
        s
        for s in said.signs("n")
        if re.match(
            r" (?:clean |good |perfect )*(?:cop(?:y|ies)|compares?|copy-compares?)\b",
            said.low[said.at(s) + len(s) + 2 :],
        )
    ]


def margins_in(talk: Talk) -> list[str]:
    """Numbers that say by how much: ``last by a hundred lines``."""
    said = talk.said
    return [
        s
        for s in said.signs("n")
        if said.num(s).kind == "difference" or re.search(r"\bby (?:\w+ ){0,3}$", said.low[: said.at(s)])
    ]


def proved(talk: Talk, c: Contest) -> bool:
    """Whether the state has the soak, the hours and the copies that are said of it."""
    said = talk.said
    heard = set(words(said.low)) & PROOF
    if not heard and not any(said.num(s).kind == "hours" for s in said.signs("n")):
        return True
    grade = c.mine[0].grade
    counts = [said.num(s) for s in said.signs("n") if said.num(s).kind == "count"]
    if any(n.value != n.of for n in counts):
        return False
    hours = [said.num(s).value for s in said.signs("n") if said.num(s).kind == "hours"]
    copied = any(w.startswith(("copy", "copi", "verif")) for w in heard)
    wanted = "soaked_copy_clean" if copied else "soaked"
    return len(c.mine) == 1 and grade.at_least(wanted) and all(h == grade.soak_hours for h in hours)


def soaked_for_less(talk: Talk, c: Contest) -> bool:
    """Whether the one state that is meant was soaked, but not for the hours that are said."""
    had = c.mine[0].grade.soak_hours
    said = [n.value for s in talk.said.signs("n") if (n := talk.said.num(s)).kind == "hours"]
    return len(c.mine) == 1 and bool(said) and had is not None and 0 < had < max(said)


def by_so_much(talk: Talk, rank: Rank, c: Contest) -> bool:
    """Whether the next of the boards is as far away as was said."""
    margins = [talk.said.num(s) for s in margins_in(talk)]
    margins += [_HUNDRED for _ in BY_HUNDRED.findall(talk.said.low)]
    if not margins:
        return True
    ev, me = talk.evidence, c.mine[0].board
    rest = [x for x in c.field if x.board != me]
    if rank.nth != 1 or rank.record or c.by_state or not rest or len({x.board for x in c.mine}) > 1:
        return False
    own = ev.best(list(c.mine)).mean.value
    gap = min(
        abs(own - ev.best([x for x in rest if x.board == b]).mean.value) for b in {x.board for x in rest}
    )
    return all(n.kind in ("difference", *SCORES) and as_figure(gap, n) for n in margins)
