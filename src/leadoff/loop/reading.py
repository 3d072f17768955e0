"""The verb ``read``: files to facts, what they would add to the book, what they dispute. Adds only when told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leadoff.evidence.facts import Fact, Hints, Reading, Source
from leadoff.evidence.firmware.pairs import joined
from leadoff.evidence.sniff import MOST_BYTES, PICTURES, is_video, read_source
from leadoff.loop.batches import batch_name
from leadoff.loop.context import context_for
from leadoff.loop.disputing import affected, conflict_marks, conflict_view, conflicts, inference
from leadoff.loop.history import BoardView, History, read_history
from leadoff.loop.seen import EVIDENCE
from leadoff.loop.session import Session
from leadoff.record.entries import FactBody
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.marks import Level, Mark
from leadoff.record.phrases import Verb
from leadoff.record.quantity import Quantity, undefined
from leadoff.record.quantity import Source as From
from leadoff.record.results import Result, mark, note

if TYPE_CHECKING:
    from leadoff.catalogue import Catalogue
    from leadoff.loop.proposing import Fresh, Origins

PASSED_OVER = ("file_unknown", "file_empty")
"""In a folder of many files those that nobody knows hold nothing up; a file named by itself does."""

MOST_FILES = 500
KEPT_BYTES = 4 << 20
"""Larger files are named by their digest and not kept in the book (judgement)."""


def read(
    session: Session,
    files: Sequence[str],
    *,
    board: str | None = None,
    add: bool = False,
    kind: str = "",
    answers: Mapping[str, str] | None = None,
) -> Result:
    """Read files; with ``add`` and a board keep what is new. The same content is never kept twice.

    Raises:
        LeadoffError: files that cannot be read or are of no known kind, all of them; then nothing is kept.
    """
    history = read_history(session) if board else None
    view = history.board(board) if history is not None and board else None
    sources, filmed = _sources(files)
    sources = joined(sources)
    if sum(s.data.startswith(PICTURES) and not s.parts for s in sources) > 1:
        from leadoff.evidence.screens.stills import thinned

        sources = thinned(sources)
    hints = _hints(session, history, view, kind, answers or {})
    readings, problems = _read_all(sources, hints)
    passed = [
        p for p in problems if readings and p.code in PASSED_OVER and any(Path(f).is_dir() for f in files)
    ]
    problems = [p for p in problems if p not in passed]
    if problems and not readings:
        raise LeadoffError(*problems)
    wanted, add = add, add and not problems
    if view is not None and any(p.apart for r in readings for p in r.proposals):
        from leadoff.loop.importing import vetted

        readings = vetted(session, view, readings)
    new = _new(session, view, readings)
    marks = [*filmed, *_marks(readings, view, new, add=add)]
    marks += [note("passed_over", f"{p.where} in the folder is passed over: {p.text}") for p in passed]
    if wanted and problems:
        held = f"nothing was added, because {len(problems)} of the files could not be read"
        marks = [m for m in marks if m.code != "not_added"]
        marks.append(mark(Level.AMBER, "held_back", f"{held}: leave them out, or say --kind"))
    fresh_facts = [f for _, facts in new.facts for f in facts]
    found = conflicts(session, view, fresh_facts) if view is not None else ()
    doubted = affected(view, found) if view is not None else {}
    pairs, more = inference(view, fresh_facts) if view is not None else ([], [])
    marks += more
    added = _add(session, view, new) if add and view is not None else []
    data: dict[str, Any] = {
        "board": view.id if view is not None else None,
        "files": [
            {"file": r.file, "digest": r.digest, "kind": r.kind, "title": r.title, "lines": list(r.lines)}
            for r in readings
        ],
        "facts": [fact_view(f) for r in readings for f in r.facts],
        "questions": [_question_view(r, q) for r in readings for q in r.questions],
        "quarantined": [
            {"file": r.file, "text": q.text, "at": q.at, "why": q.why}
            for r in readings
            for q in r.quarantined
        ],
        "proposed": [
            {"line": p.line, "verb": p.verb, "at": p.at, "place": p.place}
            for r in readings
            for p in r.proposals
        ],
        "would_add": 0 if added else new.count,
        "already": new.already,
        "added": new.count if added else 0,
        "entries": added,
        "conflicts": [conflict_view(c) for c in found],
        "inferred": pairs,
        "runs_in_doubt": {n: list(names) for n, names in doubted.items()},
    }
    return session.result("read", data, [*marks, *conflict_marks(found, doubted)], problems)


class New:
    """What the book does not hold yet."""

    def __init__(self) -> None:
        self.facts: list[tuple[Reading, tuple[Fact, ...]]] = []
        self.proposals: list[Fresh] = []
        self.already = 0

    @property
    def count(self) -> int:
        """Facts and lines in all."""
        return sum(len(f) for _, f in self.facts) + len(self.proposals)


def _sources(files: Sequence[str]) -> tuple[list[Source], list[Mark]]:
    """Files, folders and recordings as sources; what must be said of recordings."""
    paths: list[Path] = []
    for name in files:
        path = Path(name)
        paths += sorted(p for p in path.iterdir() if p.is_file()) if path.is_dir() else [path]
    if len(paths) > MOST_FILES:
        raise LeadoffError.one(
            "files_many",
            f"{len(paths)} files are more than {MOST_FILES} at a time",
            where=files[0],
            do="read fewer of them",
        )
    out: list[Source] = []
    marks: list[Mark] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            with path.open("rb") as file:
                head = file.read(16)
                if not is_video(head):
                    out.append(Source.of(path.name, head + file.read(MOST_BYTES + 1 - len(head))))
                    continue
            from leadoff.evidence.screens.video import screens_of

            seen = screens_of(path)
            out += seen.sources
            text = f"{path.name}: {len(seen.sources)} different text screens on {seen.stills} stills"
            more = f"; {seen.without_text} stills hold no text" if seen.without_text else ""
            marks.append(note("recording", text + more))
        except LeadoffError as error:
            problems += error.problems
        except OSError as error:
            text = f"{path} cannot be read: {error.strerror}"
            problems.append(Problem(code="file_missing", text=text, where=str(path), do="check the path"))
    if problems:
        raise LeadoffError(*problems)
    return out, marks


def _hints(
    session: Session,
    history: History | None,
    view: BoardView | None,
    kind: str,
    answers: Mapping[str, str],
) -> Hints:
    return Hints(
        answers=answers,
        kind=kind,
        board=view.id if view is not None else "",
        board_class=view.fold.sheet.board_class if view is not None else "",
        workloads={w.name: w.unit for w in history.workloads.values()} if history is not None else {},
        at=session.at,
        catalogue=_catalogue(session, with_book=view is not None),
        meanings=_meanings,
        context=context_for(view, history, Verb.LOG) if history is not None else None,
        boards=tuple(history.boards) if history is not None else (),
    )


def _catalogue(session: Session, *, with_book: bool) -> Catalogue:
    """Rows of parts; those of the user's own only where there is a book to look in."""
    if with_book:
        return session.catalogue
    from leadoff.catalogue import load

    return load(session.rows, cache_dir=session.cache)


def _meanings(code: str) -> list[tuple[str, str]]:
    """What tables say of a start code, each with its family."""
    from leadoff.faults import load_knowledge, post_code

    return [(c.family, c.meaning) for c in post_code(load_knowledge(), code)]


def _read_all(sources: Sequence[Source], hints: Hints) -> tuple[list[Reading], list[Problem]]:
    readings: list[Reading] = []
    problems: list[Problem] = []
    for source in sources:
        try:
            readings.append(read_source(source, hints))
        except LeadoffError as error:
            problems += error.problems
    return readings, problems


def _new(session: Session, view: BoardView | None, readings: Sequence[Reading]) -> New:
    held = {f.id: f.value for f in evidence_facts(view)} if view is not None else {}
    new = New()
    known: Origins | None = None
    if view is not None and any(r.proposals for r in readings):
        from leadoff.loop.proposing import Origins

        known = Origins(session)
    for reading in readings:
        facts = tuple(f for f in reading.facts if held.get(f.id) != f.value)
        held.update({f.id: f.value for f in facts})
        new.already += len(reading.facts) - len(facts)
        if facts:
            new.facts.append((reading, facts))
        if reading.proposals and known is not None:
            lines = known.fresh(reading.proposals)
            new.already += len(reading.proposals) - len(lines)
            new.proposals += lines
    return new


def evidence_facts(view: BoardView) -> tuple[Fact, ...]:
    """Every fact that files said of a board, in the order of the book."""
    return tuple(f for _, body in view.facts if body.name == EVIDENCE for f in body.facts)


def _add(session: Session, view: BoardView, new: New) -> list[str]:
    from leadoff.book import seal

    digests = [r.digest for r, _ in new.facts] + [f.proposal.id for f in new.proposals]
    batch = batch_name(*digests, session.book.fingerprint() or "", session.at)
    bodies: list[FactBody] = []
    files = []
    for reading, facts in new.facts:
        cite = ""
        if 0 < len(reading.data) <= KEPT_BYTES:
            file = seal(reading.data)
            files.append(file)
            cite = file.cite
        bodies.append(
            FactBody(
                subject=f"board:{view.id}",
                name=EVIDENCE,
                value=Quantity(value=len(facts), unit="facts", source=From.READ),
                where=reading.file,
                said=reading.title,
                file=cite,
                facts=facts,
                batch=batch,
            )
        )
    session.files = tuple(files)
    done = [e.id for e in session.write(*bodies)] if bodies else []
    session.files = ()
    if new.proposals:
        from leadoff.loop.proposing import add_lines

        done += add_lines(session, view, new.proposals, batch)
    return done


def _marks(readings: Sequence[Reading], view: BoardView | None, new: New, *, add: bool) -> list[Mark]:
    marks = [mark(Level.AMBER, "evidence_doubt", w) for r in readings for w in r.warnings]
    if view is None:
        marks.append(
            note("no_board", "nothing is kept: --board BOARD says which board this belongs to, --yes adds it")
        )
    elif not new.count and not new.already:
        asked = any(r.questions for r in readings)
        marks.append(
            note("nothing_found", "nothing to add" + (" until questions are answered" if asked else ""))
        )
    elif not new.count:
        marks.append(
            note("nothing_new", f"all of this is in the book already ({new.already} of {new.already})")
        )
    elif not add:
        marks.append(note("not_added", f"nothing was added: --yes adds these {new.count} to {view.id}"))
    return marks


def fact_view(fact: Fact) -> dict[str, Any]:
    """A fact as the contract prints it."""
    number = fact.value if isinstance(fact.value, float | int) else None
    value = (
        Quantity(value=float(number), unit=fact.unit, source=From.READ)
        if number is not None
        else undefined(fact.unit, "a text, not a number")
    )
    return {
        "subject": fact.about,
        "name": fact.key,
        "value": value,
        "text": None if number is not None else fact.value,
        "at": {"file": fact.file, "digest": fact.digest, "offset": fact.offset, "place": fact.at},
        "rank": fact.rank.value,
        "certainty": fact.certainty.value,
        "note": fact.note,
        "setting": fact.setting or None,
    }


def _question_view(reading: Reading, question: Any) -> dict[str, Any]:
    return {
        "id": question.id,
        "file": reading.file,
        "text": question.text,
        "choices": [{"key": c.key, "text": c.text} for c in question.choices],
        "places": question.places,
        "examples": list(question.examples),
    }
