"""What the words of a line may refer to on a board, handed to the parser."""

from __future__ import annotations

from leadoff.loop.history import BoardView, History
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.phrases import Context, Understood, Verb, WorkloadWord
from leadoff.words import parse


def context_for(
    board: BoardView | None, history: History | None, verb: Verb, *, workload: str | None = None
) -> Context:
    """Jumpers, set-up entries, workloads and runs that a line on this board may name."""
    words = tuple(
        WorkloadWord(name=w.name, unit=w.unit) for w in (history.workloads.values() if history else ())
    )
    if board is None:
        return Context(workloads=words, verb=verb.value)
    sheet = board.fold.sheet
    return Context(
        positions={j.id: j.positions for j in sheet.jumpers},
        choices={o.id: o.choices for o in sheet.options},
        aliases={o.label.lower(): (o.id, 0.0) for o in sheet.options if o.label},
        workloads=words,
        runs=tuple(r.run.number for r in board.runs),
        default_workload=workload,
        board_class=sheet.board_class,
        bus_over_can=f"1/{sheet.can_divides_by}" if sheet.can_divides_by else "1",
        memory_sites=sheet.memory_sites or tuple(m.site for m in sheet.memory),
        verb=verb.value,
    )


_FORMS = (
    'nothing was stored; a score reads "w2 23.5 frames/s", a setting "bus 40" or "wb on", a failure "w2 hang", '
    'what was only seen "note: ..."'
)


def understand(line: str, context: Context) -> Understood:
    """A line read whole.

    Raises:
        LeadoffError: the questions it leaves open, all of them; nothing is guessed.
    """
    understood = parse(line, context)
    if understood.questions:
        raise LeadoffError(
            *(
                Problem(
                    code="ask",
                    text=q.question,
                    where=q.text,
                    do=f"nothing was stored; say it again with {' or '.join(q.choices)}"
                    if q.choices
                    else _FORMS,
                )
                for q in understood.questions
            )
        )
    return understood
