"""Text-mode pictures: grid, signs with a certainty each, proposals; nothing is believed without the user."""

from __future__ import annotations

from leadoff.evidence.facts import Hints, Reading, Source, Teller

MAGIC = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"BM", b"P6", b"GIF8", b"II*\x00", b"MM\x00*")
SHOWN_LINES = 5


def sniff(source: Source) -> float:
    """A picture is known by its first bytes; the two letters of a bitmap alone say less."""
    if source.data.startswith((b"BM", b"P6")):
        return 0.6
    return 0.95 if source.data.startswith(MAGIC) else 0.0


def read(source: Source, hints: Hints) -> Reading:
    """Read a text screen; figures in it become facts and proposed runs for the user to confirm.

    A picture without a character grid gives no facts and says how to make it ready for typing.
    """
    from leadoff.evidence.screens.picture import open_picture
    from leadoff.evidence.screens.reader import read_screen
    from leadoff.evidence.screens.single import one_thread
    from leadoff.evidence.screens.telling import proposed, rank_of, tell_facts
    from leadoff.record.errors import LeadoffError

    picture = open_picture(source.data, source.name)
    try:
        with one_thread():
            screen = read_screen(picture, source.name)
    except LeadoffError as error:
        problem = error.problems[0]
        if problem.code != "no_text_grid":
            raise
        return Reading(
            kind="screen",
            title=f"picture, {picture.luma.width} x {picture.luma.height}: not read",
            file=source.name,
            digest=source.digest,
            warnings=(f"{source.name}: {problem.text}; {problem.do}",),
        )
    tell = Teller(source, rank_of(screen))
    doubtful = tell_facts(screen, tell)
    said = proposed(screen, source.digest, hints.workloads, hints.answers)
    return Reading(
        kind="screen",
        title=f"text screen, {screen.grid.mode}, fit {screen.fit:.2f}",
        file=source.name,
        digest=source.digest,
        facts=tuple(tell.facts),
        lines=(*_stills(source.parts), *_lines(screen.lines, [f.offset for f in tell.facts])),
        warnings=tuple(_warnings(source.name, screen, doubtful)),
        questions=said.questions,
        proposals=said.proposals,
        data="\n".join(line.rstrip() for line in screen.lines).encode(),
    )


def _stills(names: tuple[str, ...]) -> tuple[str, ...]:
    return (f"on {len(names)} stills, {names[0]} to {names[-1]}",) if len(names) > 1 else ()


def _lines(lines: tuple[str, ...], telling: list[int | None]) -> tuple[str, ...]:
    """The lines that facts came from, then the first ones with text, a few in all."""
    order = [n for n in dict.fromkeys(telling) if n is not None]
    order += [n for n, line in enumerate(lines) if line.strip() and n not in order]
    return tuple(" ".join(lines[n].split()) for n in sorted(order[:SHOWN_LINES]))


def _warnings(name: str, screen: object, doubtful: list[str]) -> list[str]:
    from leadoff.evidence.screens.values import Screen

    assert isinstance(screen, Screen)
    out = [f"{name}: {note}" for note in screen.notes]
    unsure = screen.unsure()
    if unsure:
        places = ", ".join(f"row {r + 1} column {c + 1} {s!r} {100 * p:.0f} %" for r, c, s, p in unsure[:4])
        more = f" and {len(unsure) - 4} more" if len(unsure) > 4 else ""
        out.append(f"{name}: {len(unsure)} signs are not certain: {places}{more}")
    if doubtful:
        out.append(f"{name}: not taken, a sign in them is not certain: {'; '.join(doubtful[:4])}")
    return out
