"""Make the golden book of a release: run once at the release, keep the three files for ever.

    python tests/golden/make_golden.py

Writes book-VERSION.sqlite, book-VERSION.zip and book-VERSION.json (what every later release must read from them)
beside this script, and refuses to overwrite: a golden book is never made anew. All names and scores are invented.
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import leadoff
import leadoff.book.writer as writer_module
from leadoff.book import Draft, open_book, seal
from leadoff.book.book import Book

HERE = Path(__file__).parent


def body(**keys: object) -> bytes:
    return json.dumps({"v": 1, **keys}, ensure_ascii=False).encode()


def fill(home: Book, shed: Book) -> None:
    """All kinds, all amends, two installations, an input that waited, a file kept and one redacted, a newer kind."""
    photo, face = seal(bytes(range(256))), seal(b"an invented face")
    [board] = home.append([Draft("board", body(name="Example board A", socket="example"), "2026-11")])
    home.append([Draft("row", body(row="cpu/example-4x"))])
    [party, other] = home.append(
        [
            Draft("party", body(name="Petra Musterfrau", shows=face.cite)),
            Draft("party", body(name="Demo Shop")),
        ],
        files=[face],
    )
    [state] = home.append([Draft("state", body(board=board.id, bus="33.33", l2="unknown"), "1997")])
    [guess, forecast, spoilt] = home.append(
        [
            Draft("guess", body(state=state.id, value="23")),
            Draft("forecast", body(state=state.id, median="23.4"), "2026-11-25T10:00+01:00"),
            Draft("forecast", body(state=state.id, median="99"), "2026-11-25T10:01+01:00"),
        ]
    )
    page = home.heads()
    home.append([Draft("mark", body(shows=photo.cite, text="Foto »links«"), "2026-11-25")], files=[photo])
    with home.writing() as writer:
        did = writer.append(Draft("did", body(what="swap", minutes="12"), "2026-11-25T10:20"))
        writer.append(Draft("finding", body(because=did.id, says="cache works"), "2026-11-25T10:21"))
    [run] = home.append(
        [Draft("run", b'{ "n":"41", "score":"23.50","raw":[2134, 4.261e3] }', "2026-11-25T10:30:05Z")]
    )
    [wrong] = home.append([Draft("run", body(n="42", score="235"), "2026-11-25T10:31")])
    home.append([Draft("run", body(n="43", score="23.1"), "2026-11-25T10:32", seen=page, once="phone-1/7")])
    home.append([Draft("fact", body(name="bus_mhz", value="33.4", source="measured"))])
    home.append([Draft("deal", body(buyer=party.id, seller=other.id, price="120"), "2026-10-01")])
    [undo] = home.amend(wrong.id, "undo", "slip of the comma").entries
    home.amend(
        run.id, "correct", "screen read again", to=body(n="41", score="23.60"), to_at="2026-11-25T10:30"
    )
    home.amend(spoilt.id, "withdraw", "wrong board")
    shed.merge(home)
    [again] = shed.append([Draft("run", body(n="41b", score="24.1"), "2026-11-26T09:00")])
    shed.amend(undo.id, "undo", "it was right after all")
    home.amend(party.id, "correct", "spelling", to=body(name="Petra Muster-Frau"))
    home.amend(party.id, "redact", "on request")
    home.append([Draft("mark", body(text="home goes on", cites=guess.id))])
    known = writer_module.KINDS
    writer_module.KINDS = known | {"hologram"}  # as a newer release would
    shed.append([Draft("hologram", b'{"v":7,"depth_mm":"3.2"}', "2026-11-27")])
    writer_module.KINDS = known
    home.merge(shed)
    home.append([Draft("run", body(n="44", after=[again.id, forecast.id]), "2026-11-28")])


def seen(book: Book) -> dict[str, Any]:
    """What a reader of any later release must get from the golden book."""
    report = book.verify()
    return {
        "good": report.good,
        "entries": [[e.id, e.pen, e.seq, e.kind, e.at, _text(e.body)] for e in book.entries()],
        "live": [[e.id, e.at, _text(e.body), e.withdrawn, e.corrected_by] for e in book.live()],
        "undone": [e.id for e in book.entries() if e.undone],
        "redacted": [e.id for e in book.entries() if e.redacted],
        "newer": [e.id for e in book.newer()],
        "heads": list(book.heads()),
        "fingerprint": book.fingerprint(),
        "pens": [[p.pen, p.entries, p.head] for p in report.pens],
        "before": [
            [a.id, b.id] for a in book.entries() for b in book.entries() if book.is_before(a.id, b.id)
        ][::7],
    }


def _text(data: bytes | None) -> str | None:
    return None if data is None else data.decode()


def main() -> int:
    stem = f"book-{leadoff.__version__}"
    targets = [HERE / (stem + end) for end in (".sqlite", ".zip", ".json")]
    there = [t.name for t in targets if t.exists()]
    if there:
        print(f"not overwritten: {', '.join(there)}", file=sys.stderr)
        return 1
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        with (
            open_book(root / "home.db", root / "home") as home,
            open_book(root / "shed.db", root / "shed") as shed,
        ):
            fill(home, shed)
            facts = seen(home)
            # the archive is noted in the book by its path; a path of this machine must not stay in the file
            with home.reading() as reader:
                from leadoff.book.archive import export
                from leadoff.book.source import BookSource

                export(BookSource(reader.store, reader.conn), targets[1])
        shutil.copy(root / "home.db", targets[0])
    targets[2].write_text(json.dumps(facts, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
