"""Templates to pages. A page is made from the same plain values as its ``.json`` twin, so both say one thing."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

import jinja2
import msgspec
from jinja2.bccache import Bucket

from leadoff.record.results import Result
from leadoff.record.settings import in_words
from leadoff.show import standing_marks
from leadoff.show.pages import ways, words
from leadoff.show.pages.addresses import board_address
from leadoff.show.text import band, chance, minutes, number

HERE = Path(__file__).parent
STATIC = HERE / "static"
TYPES = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}


def page(template: str, result: Result, **more: Any) -> str:
    """The page of a result. Everything that came from people is escaped."""
    return _made(template).render(said=plain(result), **_plain_too(more))


def part(template: str, block: str, result: Result, **more: Any) -> str:
    """One block of a page, for the page's own script to put in place."""
    made = _made(template)
    context = made.new_context({"said": plain(result), **_plain_too(more)})
    return "".join(made.blocks[block](context))


def _plain_too(more: Mapping[str, Any]) -> dict[str, Any]:
    return {k: plain(v) if isinstance(v, Result) else v for k, v in more.items()}


def plain(result: Result) -> dict[str, Any]:
    """The result as its JSON twin has it."""
    found: dict[str, Any] = msgspec.json.decode(result.json())
    return found


@lru_cache(maxsize=1)
def environment() -> jinja2.Environment:
    """The templates with their filters."""
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.filters.update(
        number=number,
        band=band,
        chance=lambda value: words.tight(chance(value)),
        folded=words.folded,
        here=ways.here,
        minutes=minutes,
        address=board_address,
        query=lambda text: quote(str(text), safe=""),
        label=in_words,
        spoken=words.spoken,
        by_need=words.by_need,
        due=words.due,
        home=lambda board: f"in {board}",
        value=words.value,
        amount=words.amount,
        source=words.source,
        when=words.when,
        outcome=words.outcome,
        score=words.score,
        by_status=words.by_status,
        moves_words=words.moves_words,
        tick=words.tick,
        by_pattern=words.by_pattern,
        money=words.money,
        sum=words.sum_words,
        rank=standing_marks.rank,
        flags=standing_marks.flags,
        rig=standing_marks.rig,
    )
    made.globals.update(of_board=ways.OF_BOARD, of_book=ways.OF_BOOK)
    made.globals.update(asset=asset, ruler=words.ruler, headline=words.headline, clocks=words.clocks)
    made.globals.update(intervals=standing_marks.intervals, better=standing_marks.BETTER)
    return made


class _Compiled(jinja2.FileSystemBytecodeCache):
    """Templates as they were compiled at an earlier start: a tenth of a second. Never needed, so never in the way."""

    def dump_bytecode(self, bucket: Bucket) -> None:
        with contextlib.suppress(OSError):
            super().dump_bytecode(bucket)


def keep_compiled(folder: Path) -> None:
    """Keep compiled templates in this folder of the user's own from now on; they follow the templates' text."""
    with contextlib.suppress(OSError):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        environment().bytecode_cache = _Compiled(str(folder))


@lru_cache(maxsize=64)
def _made(template: str) -> jinja2.Template:
    return environment().get_template(f"{template}.html.jinja")


@lru_cache(maxsize=64)
def asset(name: str) -> str:
    """The address of a static file, with its digest, so that it may be kept for ever."""
    return f"/static/{digest(name)}/{name}"


@lru_cache(maxsize=64)
def digest(name: str) -> str:
    """Start of the SHA-256 over all static files: they import one another, so they change together."""
    text = b"".join(f.read_bytes() for f in sorted(STATIC.iterdir()))
    return hashlib.sha256(text).hexdigest()[:12]


def static(name: str) -> tuple[bytes, str] | None:
    """Bytes and media type of a static file; ``None`` when there is none of that name."""
    files: Mapping[str, Path] = {f.name: f for f in STATIC.iterdir()}
    found = files.get(name)
    return (found.read_bytes(), TYPES[found.suffix]) if found is not None else None
