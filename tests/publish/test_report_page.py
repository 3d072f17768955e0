"""The published page and its data file: limits beside the score, nothing private, the same bytes again."""

from __future__ import annotations

import json
import re
from hashlib import sha256
from pathlib import Path
from typing import Any

import pypdf
import pytest

from cli_bench import Bench
from leadoff.loop.marking import film
from leadoff.loop.session import Session

AT = ("--at", "2024-03-02T10:00")


def publish(bench: Bench, to: Path, *more: str) -> dict[str, Any]:
    bench("publish", "ferry-486", "--to", str(to), *AT, *more)
    found: dict[str, Any] = json.loads((to / "ferry-486.leadoff.json").read_text(encoding="utf-8"))
    return found


def test_the_limits_stand_beside_the_score_and_as_large(told: Bench, tmp_path: Path) -> None:
    data = publish(told, tmp_path / "out")
    html = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert {v["kind"] for v in data["limits"]} >= {"not_soaked", "unknown_settings"}
    first = html[: html.index('id="f-record"')]
    assert first.count('class="huge"') == 2, "one class of letters for both"
    for limit in data["limits"]:
        assert limit["text"][1:30].replace("&", "&amp;") in first


def test_the_page_asks_nothing_of_the_world(told: Bench, tmp_path: Path) -> None:
    publish(told, tmp_path / "out")
    html = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert "<script" not in html
    assert not re.search(r'(?:src|href)="(?:https?:)?//', html)
    assert "url(" not in html


def test_the_same_book_gives_the_same_bytes(told: Bench, tmp_path: Path) -> None:
    one = told("publish", "ferry-486", "--to", str(tmp_path / "a"), *AT).data["files"]
    two = told("publish", "ferry-486", "--to", str(tmp_path / "b"), *AT).data["files"]
    assert [f["sha256"] for f in one] == [f["sha256"] for f in two]
    for f in one:
        assert sha256(Path(f["path"]).read_bytes()).hexdigest() == f["sha256"]


def test_free_words_of_a_run_stay_at_home(told: Bench, tmp_path: Path) -> None:
    told("log", "ferry-486", "w2 23.1, note: bought it of Marten for 14", "--at", "2024-03-01T19:00")
    told("shelf", "ferry-486", "--in", "attic box nine")
    publish(told, tmp_path / "out")
    for path in (tmp_path / "out").rglob("*"):
        if path.is_file():
            assert b"Marten" not in path.read_bytes(), path
            assert b"attic box" not in path.read_bytes(), path


PRIVATE = ("attic box nine", "Marten Invented", "73.25")


def words_of(path: Path) -> str:
    """A file as somebody reads it: a PDF's own text, everything else as it stands."""
    if path.suffix == ".pdf":
        return "".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    return path.read_bytes().decode("utf-8", "replace")


def test_private_things_come_out_only_when_asked_for(told: Bench, tmp_path: Path) -> None:
    told("shelf", "ferry-486", "--in", PRIVATE[0])
    words = f"holds the board, from {PRIVATE[1]}, by parcel post, price {PRIVATE[2]} EUR"
    told("shelf", "ferry-486", "--parcel", words, "--at", "2024-02-01")
    told("log", "ferry-486", "w2 23.3", "--rig", "card of marten invented", "--at", "2024-03-01T19:00")
    session = Session(at="2024-03-01T19:10:00")
    film(session, "ferry-486", "from the ATTIC BOX NINE to the bench")
    session.close()
    quiet = told("publish", "ferry-486", "--to", str(tmp_path / "a"), *AT)
    assert "prices, places and sellers are not in it" in quiet.marks()["private_out"]
    for f in quiet.data["files"]:
        words = words_of(Path(f["path"])).lower()
        assert [p for p in PRIVATE if p.lower() in words] == [], f["path"]
    assert "words held back" in (tmp_path / "a" / "film" / "chapters-1.txt").read_text(encoding="utf-8")
    for n, name in enumerate(("places", "sellers", "prices")):
        to = tmp_path / name
        told(
            "publish", "ferry-486", "--to", str(to), "--only", "page", "--only", "paper", "--with", name, *AT
        )
        for file in ("index.html", "ferry-486.leadoff.json", "ferry-486.pdf"):
            assert [p in words_of(to / file) for p in PRIVATE] == [m == n for m in range(3)], (name, file)
    loud = told(
        "publish", "ferry-486", "--to", str(tmp_path / "b"), "--only", "page", "--with", "prices", *AT
    )
    assert "prices" in loud.marks("amber")["private_asked"]
    assert "prices" not in loud.marks()["private_out"]
    assert told("repeat", str(tmp_path / "b" / "ferry-486.leadoff.json"), "--check").data["faults"] == []


@pytest.mark.reference
def test_anybody_can_check_the_hashes_with_python_alone(told: Bench, tmp_path: Path) -> None:
    """FIPS 180-4 (SHA-256), as the standard library has it; the recipe of docs/public-file.md, nothing of ours."""
    data = publish(told, tmp_path / "out")
    assert data["forecasts"][0]["answers"][0]["run"] == "2"
    for s in data["sealed"]:
        assert sha256(s["line"].encode()).hexdigest() == s["entry"]
        if "body" in s:
            text = bytes.fromhex(s["salt"]) + s["body"].encode()
            assert sha256(text).hexdigest() == json.loads(s["line"])["body"]
    lines = {sha256(c.encode()).hexdigest(): json.loads(c) for c in data["chain"]}
    at, end = data["forecasts"][0]["answers"][0]["entry"], data["forecasts"][0]["entry"]
    seen = [at]
    for i in seen:
        seen += [p for p in (lines[i]["prev"], *lines[i]["seen"]) if p in lines and p not in seen]
    assert end in seen, "the answer reaches back to its forecast"
    rest = {k: v for k, v in data.items() if k != "digest"}
    plain = json.dumps(rest, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert sha256(plain.encode()).hexdigest() == data["digest"]
