"""One line of words for everything: which verb it belongs to, said back before it is kept, taken back after."""

from __future__ import annotations

from typing import Any

import msgspec

from leadoff.faults import load_knowledge, read_findings
from leadoff.loop import moving
from leadoff.loop.benching import ailing
from leadoff.loop.context import context_for
from leadoff.loop.history import BoardView, History, read_history
from leadoff.loop.logging import log
from leadoff.loop.session import Session
from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import LikePhrase, ScorePhrase, SetPhrase, Understood, Verb
from leadoff.record.results import Result
from leadoff.words import parse

VERBS = ("move", "log", "sick")
LONGEST = 2000
"""Characters of one line; a longer one is a paste that belongs elsewhere."""


def say(session: Session, name: str, line: str, *, verb: str | None = None) -> Result:
    """Take a line as ``move``, ``log`` or ``sick``: as asked, else by its first word, else by what it says.

    The result is that verb's own, with ``taken_as`` in its data.

    Raises:
        LeadoffError: what is not understood, as the verb itself would say; nothing is kept.
    """
    text = " ".join(line.split())
    if not text:
        raise LeadoffError.one(
            "nothing_said", "there is nothing to say", where=name, do='type such as "w2 23.5"'
        )
    if len(text) > LONGEST:
        raise LeadoffError.one(
            "too_long",
            f"the line has {len(text)} characters, at most {LONGEST} are read at once",
            where=text[:40],
            do="say it in several lines; a sweep has a page of its own",
        )
    history = read_history(session)
    board = history.board(name)
    head, _, rest = text.partition(" ")
    if verb is None and head.lower() in VERBS and rest:
        verb, text = head.lower(), rest
    chosen = verb or verb_of(history, board, text)
    if chosen == "move":
        result = moving.move(session, board.id, text)
    elif chosen == "sick":
        from leadoff.loop.sicking import sick  # NumPy comes with it

        result = sick(session, board.id, text)
    else:
        result = log(session, board.id, [text])
    return msgspec.structs.replace(result, data={**result.data, "taken_as": chosen})


def verb_of(history: History, board: BoardView, text: str) -> str:
    """The verb whose words these are. A board that is ailing hears symptoms first."""
    said = parse(text, context_for(board, history, Verb.LOG))
    if not said.questions and _only(said, SetPhrase, LikePhrase):
        return "move"
    scored = any(isinstance(p, ScorePhrase | SetPhrase) for p in said.phrases)
    if (said.questions or ailing(board)) and not scored and _sick_hears(text, said):
        return "sick"
    return "log"


def _only(said: Understood, *kinds: Any) -> bool:
    return bool(said.phrases) and all(isinstance(p, kinds) for p in said.phrases)


def _sick_hears(text: str, said: Understood) -> bool:
    heard = read_findings(load_knowledge(), text, said.phrases)
    return bool(heard.findings) and not heard.questions


def take_back(session: Session, entries: list[str]) -> Result:
    """Undo these entries, newest first, or what was written last when none is named."""
    if not entries:
        return moving.undo(session, None)
    return moving.taken_back(session, [session.book.get(e) for e in reversed(entries)])
