"""The golden books of all releases open for ever and say the same."""

from __future__ import annotations

import importlib.util
import json
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest
from book_help import content, draft

from leadoff.book.book import Book

Books = Callable[..., Book]

GOLDEN = Path(__file__).parents[1] / "golden"
RELEASES = sorted(p.stem for p in GOLDEN.glob("book-*.json"))


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_golden", GOLDEN / "make_golden.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_there_is_a_golden_book_for_the_first_release() -> None:
    assert "book-0.1.0" in RELEASES
    for name in RELEASES:
        assert {p.suffix for p in GOLDEN.glob(f"{name}.*")} == {".json", ".sqlite", ".zip"}


@pytest.mark.parametrize("name", RELEASES)
def test_the_file_opens_and_says_the_same(name: str, maker: ModuleType, tmp_path: Path, books: Books) -> None:
    shutil.copy(GOLDEN / f"{name}.sqlite", tmp_path / "b.db")
    book = books(tmp_path / "b.db")
    wanted = json.loads((GOLDEN / f"{name}.json").read_text(encoding="utf-8"))
    assert json.loads(json.dumps(maker.seen(book))) == wanted
    assert wanted["good"] is True
    assert len({e[3] for e in wanted["entries"]}) == 14, "all thirteen kinds and one of a newer release"
    assert book.rebuild().mended == 0
    book.append([draft(n="still writes")])
    assert book.verify().good
    assert book.pen().why == "same"


@pytest.mark.parametrize("name", RELEASES)
def test_the_archive_imports_and_says_the_same(
    name: str, maker: ModuleType, tmp_path: Path, books: Books
) -> None:
    shutil.copy(GOLDEN / f"{name}.sqlite", tmp_path / "b.db")
    book, again = books(tmp_path / "b.db"), books(tmp_path / "again.db")
    again.import_(GOLDEN / f"{name}.zip")
    assert content(again) == content(book)
    assert json.loads(json.dumps(maker.seen(again))) == json.loads(
        (GOLDEN / f"{name}.json").read_text("utf-8")
    )
    again.export(tmp_path / "x.zip")
    with zipfile.ZipFile(tmp_path / "x.zip") as new, zipfile.ZipFile(GOLDEN / f"{name}.zip") as old:
        # the packed bytes depend on the zlib of the machine; what is packed does not
        assert new.namelist() == old.namelist()
        for part in (n for n in old.namelist() if n not in ("README.txt", "book.json")):
            assert new.read(part) == old.read(part), part


@pytest.mark.parametrize("name", RELEASES)
def test_the_golden_file_on_a_server(
    name: str, maker: ModuleType, new_database: Callable[[], str], books: Books
) -> None:
    book = books(new_database())
    book.import_(GOLDEN / f"{name}.zip")
    assert json.loads(json.dumps(maker.seen(book))) == json.loads(
        (GOLDEN / f"{name}.json").read_text("utf-8")
    )
