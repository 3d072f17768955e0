"""The book: one object for everything a caller may ask of the journal."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from leadoff.book import backup as copies
from leadoff.book.amending import amend
from leadoff.book.ancestry import Ancestry, lines_between
from leadoff.book.archive import ArchiveSource, export
from leadoff.book.derive import derive
from leadoff.book.errors import told
from leadoff.book.fold import Folded, read_fold, run_fold, store_fold
from leadoff.book.merge import Source, merge
from leadoff.book.pens import PenBox
from leadoff.book.proof import proof
from leadoff.book.reader import Reader
from leadoff.book.redact import backup_folder, empty_log, pending, scrub, settled
from leadoff.book.replacing import refuse_unless_ours
from leadoff.book.setup import newer, prepare
from leadoff.book.source import BookSource
from leadoff.book.store import open_store
from leadoff.book.upcast import Upcasters
from leadoff.book.values import (
    AmendResult,
    Draft,
    Entry,
    Fold,
    MergeReport,
    PenState,
    RebuildReport,
    Record,
    SealedFile,
    VerifyReport,
    seal,
)
from leadoff.book.verify import NOTHING, Check, keep_checkpoint, last_checkpoint
from leadoff.book.writer import Writer, writing
from leadoff.record.errors import LeadoffError

S = TypeVar("S")


class Book:
    """One journal. Safe to share between threads; each call is one transaction.

    All calls may raise LeadoffError with the codes of :mod:`leadoff.book.errors`: book_locked, disk_full,
    book_read_only, book_corrupt, no_permission, no_server. After an error nothing of the call is in the book.
    """

    def __init__(
        self, place: str | Path, config_dir: Path, *, create: bool, upcasters: Upcasters, wait_ms: int
    ) -> None:
        self._store, new = open_store(place, create=create, wait_ms=wait_ms)
        self._pens = PenBox(config_dir)
        self._upcasters = upcasters
        self._config_dir = config_dir
        self.leftovers: tuple[str, ...] = ()
        self._newer = False  # until known: a migration makes a backup before that
        try:
            self._newer = prepare(self._store, new=new, create=create, before_migration=self.backup)
            if not self._newer and not self._store.read_only and pending(self._store):
                self.leftovers = self._wipe()
        except BaseException:
            self._store.close()
            raise

    @property
    def name(self) -> str:
        """Path, or address without its password."""
        return self._store.name

    @property
    def path(self) -> Path | None:
        """The file, None on a server."""
        return self._store.path

    @property
    def read_only(self) -> bool:
        """True when nothing can be written: a write-protected file, or a book of a newer release."""
        return self._store.read_only or self._newer

    # --- reading

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """Several reads of one and the same moment: ``with book.reading() as r: r.live(); r.heads()``."""
        with self._store.read() as conn:
            yield Reader(self._store, conn, self._upcasters)

    def entries(self, kinds: Iterable[str] | None = None) -> list[Entry]:
        """All entries of these kinds (None: all) in fold order, as written; flags tell what became of
        them.
        """
        with self.reading() as reader:
            return reader.entries(kinds)

    def live(self, kinds: Iterable[str] | None = None) -> list[Entry]:
        """Entries that count, in fold order: corrected, without undone and redacted ones, without amends.

        Withdrawn forecasts are among them (``withdrawn`` is set): they stay in the score.
        """
        with self.reading() as reader:
            return reader.live(kinds)

    def get(self, entry: str) -> Entry:
        """The entry with this id or start of an id (6 digits). Raises no_such_entry, many_entries."""
        with self.reading() as reader:
            return reader.get(entry)

    def newer(self) -> list[Entry]:
        """Entries of a kind or version that this release does not know: kept and exported, not understood."""
        return [e for e in self.entries() if e.newer]

    def heads(self) -> tuple[str, ...]:
        """Ids that no other entry cites: one, or several after a merge."""
        with self.reading() as reader:
            return tuple(i for i, *_ in reader.heads())

    def fingerprint(self, heads: Iterable[str] | None = None) -> str:
        """Eight groups of four digits for stills and pages; "" for an empty book.

        With one head it is the start of that entry's id, so a fingerprint on a film finds its entry again;
        with several (a merge not yet followed by an entry) it is the start of the SHA-256 of their sorted
        ids.
        """
        ids = sorted(self.heads() if heads is None else heads)
        if not ids:
            return ""
        text = ids[0] if len(ids) == 1 else sha256("\n".join(ids).encode()).hexdigest()
        return " ".join(text[k : k + 4] for k in range(0, 32, 4))

    def is_before(self, a: str, b: str) -> bool:
        """True when entry ``a`` is an ancestor of ``b``. Never by a clock."""
        return self.ancestry().is_before(a, b)

    def ancestry(self) -> Ancestry:
        """For many questions of before and after at one moment."""
        with self._store.read() as conn:
            return Ancestry.of(self._store, conn)

    def lines_between(self, first: str, last: str) -> list[bytes]:
        """The exact envelopes from ``first`` to ``last``, bodies left out: what a reader needs to follow the
        chain from a fingerprint on a film back to a forecast. Raises not_before.
        """
        with self._store.read() as conn:
            return lines_between(self._store, conn, first, last)

    def proof(
        self, ids: Collection[str], pairs: Iterable[tuple[str, str]] = ()
    ) -> tuple[dict[str, Record], list[bytes]]:
        """Entries as stored (line, salt, body) and the lines that lead from each pair's later entry back to
        its earlier one, for somebody who has not got the book.
        """
        with self._store.read() as conn:
            return proof(self._store, conn, ids, pairs)

    def file(self, digest: str) -> bytes:
        """The bytes of a file, by digest or cite. Raises no_such_file (also after a redaction)."""
        with self._store.read() as conn:
            return BookSource(self._store, conn).file(digest.removeprefix("file:")).data

    # --- writing

    @contextmanager
    def writing(self) -> Iterator[Writer]:
        """The writer lock: read, decide and append as one act, kept whole or not at all.

        ``with book.writing() as w: n = len(w.live({"run"})); e = w.append(Draft("run", ...))``
        """
        if self._newer:
            raise newer(self._store, "newer")
        with writing(self._store, self._upcasters, self._pens) as writer:
            yield writer

    def append(self, drafts: Iterable[Draft], files: Iterable[SealedFile] = ()) -> list[Entry]:
        """Write entries in order, all or none. Raises bad_kind, bad_body, bad_time, unknown_seen, book_newer,
        config_unwritable."""
        with self.writing() as writer:
            for file in files:
                writer.add_file(file)
            return writer.extend(drafts)

    def add_file(self, data: bytes) -> SealedFile:
        """Keep a file now; bodies cite ``.cite``. To keep file and entry as one act: ``seal`` and
        ``append``.
        """
        file = seal(data)
        with self.writing() as writer:
            writer.add_file(file)
        return file

    def amend(
        self,
        of: str,
        how: str,
        why: str = "",
        *,
        to: bytes | None = None,
        to_at: str | None = None,
        at: str = "",
    ) -> AmendResult:
        """Undo, correct, withdraw or redact an entry by another one.

        undo: never cascades; entries citing it are listed as orphaned. May itself be undone.
        correct: ``to`` is the whole new body, ``to_at`` a new effective time. May be undone.
        withdraw: forecasts only; a forecast can be changed in no other way and stays in the score.
        redact: body, salt and files vanish from the book, its cache, log, backups and archives; final.
        ``why`` must not repeat a word of it.

        Raises no_such_entry, bad_amend, only_withdrawn, redact_is_final, already_redacted, already_done,
        why_repeats.
        """
        with self.writing() as writer:
            done = amend(writer, of, how, why, to=to, to_at=to_at, at=at)
        if how != "redact":
            return done
        return msgspec.structs.replace(done, left=self._wipe())

    def merge(self, other: Book, *, salvage: bool = False) -> MergeReport:
        """Add all that ``other`` holds. Any order, any number of times, gives the same set; redactions win.

        Raises damaged_entry (one problem each); with ``salvage`` whole entries are taken, others reported.
        """
        with other._store.read() as conn:
            return self._merge(BookSource(other._store, conn), salvage)

    def import_(self, path: Path, *, salvage: bool = False) -> MergeReport:
        """Merge an archive. Raises not_an_archive, book_newer, damaged_entry."""
        archive = ArchiveSource(path)
        try:
            return self._merge(archive, salvage)
        finally:
            archive.close()

    def pen(self) -> PenState:
        """Which pen the next entry would be written with, and why. Writes nothing."""
        with self.writing() as writer:
            return writer.main().why

    # --- folds

    def fold(self, fold: Fold[S], *, catalogue: str = "") -> S:
        """The state of ``fold`` over live entries; from the cache as far as it holds for these heads.

        ``catalogue`` is the digest of whatever else the step depends on. The cache is a convenience: on a
        book that cannot be written, or is busy, the state is simply worked out.
        """
        with self.reading() as reader:
            done = read_fold(reader, fold, catalogue)
        if done.fresh:
            self._keep(fold, catalogue, done)
        return done.state

    def rebuild(self, folds: Iterable[Fold[Any]] = (), *, catalogue: str = "") -> RebuildReport:
        """Work out everything that follows from the journal anew: stored columns, indexes, heads, the given folds."""
        wanted = list(folds)
        with self.writing() as writer:
            mended = derive(writer)
            writer.store.run(writer.conn, "DELETE FROM projections")
            count = self._store.row(writer.conn, "SELECT count(*) FROM entries")
            if self._store.sqlite:
                self._store.run(writer.conn, "REINDEX")
        for fold in wanted:
            with self.reading() as reader:
                done = run_fold(reader, fold)
            self._keep(fold, catalogue, done)
        return RebuildReport(int(count[0]) if count else 0, mended, tuple(f.name for f in wanted))

    # --- care

    def verify(self, *, since_checkpoint: bool = False) -> VerifyReport:
        """Check lines, bodies, chains, files; name each damaged entry.

        A whole book gets a checkpoint; with ``since_checkpoint`` only later entries are read. Proves that
        nothing was damaged or carelessly edited, not that the owner did not rewrite all of it.
        """
        with self.reading() as reader:
            since = last_checkpoint(reader) if since_checkpoint else NOTHING
            report, reached = Check(reader, since).run(self._pens)
        if report.good and not self.read_only and reached.n > since.n:
            with self._store.write() as conn:
                keep_checkpoint(self._store, conn, reached)
        return report

    def backup(self, to: Path | None = None) -> Path:
        """A whole copy, made while others write; into the book's own backup folder unless ``to`` is given.

        Raises LeadoffError: file_in_the_way where ``to`` is anything but an earlier copy of this book.
        """
        target = to or copies.new_name(self.backup_folder, self._stem)
        self._may_replace(target)
        # a place elsewhere is noted before, so that no kill can lose it; the own folder is searched anyway
        own = target.parent.absolute() == self.backup_folder.absolute()
        if not own:
            self._note("backup", target)
        before = copies.amends(self._store)
        if self._store.sqlite:
            copies.copy_file(self._store, target)
        else:
            with told(str(target)):
                target.parent.mkdir(parents=True, exist_ok=True)
                copies.copy_entries(self._store, target, self._upcasters)
        if own:
            self._note("backup", target)
        if copies.amends(self._store) != before:
            copies.bring_forward(self._store, target, self._upcasters)
        return target

    def export(self, to: Path) -> int:
        """Write the plain-text archive (the same book gives the same bytes); returns the number of
        entries. Raises LeadoffError: file_in_the_way where ``to`` is anything but an earlier copy of this book.
        """
        self._may_replace(to)
        self._note("export", to)
        while True:
            before = copies.amends(self._store)
            with self._store.read() as conn:
                count = export(BookSource(self._store, conn), to)
            # a redaction that came while the archive was written did not find it yet
            if copies.amends(self._store) == before:
                return count

    @property
    def backup_folder(self) -> Path:
        """Where backups go by default."""
        return backup_folder(self.path) if self.path is not None else self._config_dir / "backups"

    def close(self) -> None:
        self._store.close()

    def __enter__(self) -> Book:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # --- inside

    @property
    def _stem(self) -> str:
        if self.path is not None:
            return self.path.stem
        return self._store.engine.url.database or "book"

    def _may_replace(self, to: Path) -> None:
        if self.path is not None and to.exists() and to.samefile(self.path):
            text, do = f"{to} is the book itself", "choose another name"
            raise LeadoffError.one("file_in_the_way", text, where=str(to), do=do)
        with self.reading() as reader:
            refuse_unless_ours(to, reader.has)

    def _note(self, what: copies.What, path: Path) -> None:
        """Remember where a copy lies; a book that cannot be written cannot be redacted from here either."""
        if not self.read_only:
            copies.remember(self._store, what, path)

    def _merge(self, source: Source, salvage: bool) -> MergeReport:
        with self.writing() as writer:
            report = merge(writer, source, salvage=salvage)
        if pending(self._store):
            return msgspec.structs.replace(report, left=self._wipe())
        return report

    def _wipe(self) -> tuple[str, ...]:
        """Finish a redaction: the file, its log, the copies. Left open if something failed, to be tried
        again.
        """
        left = scrub(self._store)
        failed = bool(left) and self._store.sqlite
        left += copies.redact_copies(self._store, self._upcasters, self.backup_folder, self._stem)
        if not failed:
            settled(self._store)
            if self._store.sqlite:
                with self._store.bare() as db:
                    empty_log(db, self._store.wait_ms)
        return tuple(left)

    def _keep(self, fold: Fold[Any], catalogue: str, done: Folded[Any]) -> None:
        if fold.encode is None or self.read_only:
            return
        state = fold.encode(done.state)
        try:
            with self.writing() as writer:
                store_fold(writer, fold, catalogue, done, state)
        except LeadoffError as why:
            if why.problems[0].code not in ("book_locked", "disk_full", "book_read_only"):
                raise
