"""Paper, stills, film marks, label and sale words of a published board."""

from __future__ import annotations

import io
import json
from collections import Counter
from hashlib import sha256
from pathlib import Path

import pypdf
import pytest
from paper_structure import faults, tree
from PIL import Image

from cli_bench import Bench
from leadoff.show.report import typesetting
from leadoff.show.report.film import Cue, plain, short, stamp, vtt

AT = ("--at", "2024-03-02T10:00")


def publish(bench: Bench, to: Path, *only: str, more: tuple[str, ...] = ()) -> Path:
    wanted = [w for kind in only for w in ("--only", kind)]
    bench("publish", "ferry-486", "--to", str(to), *AT, *wanted, *more)
    return to


@pytest.mark.reference
def test_the_paper_is_tagged_and_can_be_read_aloud(told: Bench, tmp_path: Path) -> None:
    """ISO 14289-1 (PDF/UA-1), what a program can see of it; from memory of the standard. The typesetter itself
    refuses to write what breaks its own checks."""
    one = publish(told, tmp_path / "a", "paper") / "ferry-486.pdf"
    assert faults(one) == []
    pdf = pypdf.PdfReader(one)
    kinds = Counter(n.kind for n in tree(pdf).walk())
    assert kinds["/H1"] == 1
    assert kinds["/Figure"] >= 4
    assert kinds["/Table"] >= 4
    assert kinds["/L"] >= 1
    text = "".join(page.extract_text() for page in pdf.pages)
    assert "19.65" in text
    assert "Not soaked" in text
    alts = [str(n.element["/Alt"]) for n in tree(pdf).below("/Figure")]
    assert any("core" in alt and "% of the time" in alt for alt in alts), "the picture of the time in words"
    two = publish(told, tmp_path / "b", "paper") / "ferry-486.pdf"
    assert sha256(one.read_bytes()).digest() == sha256(two.read_bytes()).digest()


def test_the_checks_see_what_is_wrong(tmp_path: Path) -> None:
    """A paper without title, language or words for its picture, set by the same typesetter, is found out."""
    body = b'#image("l.svg")\n= A\n=== C\n#table(columns: 2, [a], [b], [c])'
    square = (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><rect width="9" height="9"/></svg>'
    )
    path = tmp_path / "bad.pdf"
    path.write_bytes(typesetting._bytes({"main.typ": body, "l.svg": square}, format="pdf"))
    found = "; ".join(faults(path))
    for why in ("a figure has no words", "headings go [1, 3]", "no header cell", "PDF/UA-1", "no title"):
        assert why in found


def test_stills_have_the_size_of_a_film_frame(told: Bench, tmp_path: Path) -> None:
    told("sweep", "ferry-486", "4K 10.1us/KB, 8K 10.2, 16K 26.0, 32K 26.1, 256K 26.2, 512K 60.1, 1024K 60.0")
    made = publish(told, tmp_path / "a", "stills") / "stills"
    names = {p.stem for p in made.glob("*.png")}
    assert names >= {"record", "forecasts", "sweep", "jumpers"}
    assert names == {p.stem for p in made.glob("*.svg")}
    for path in made.glob("*.png"):
        picture = Image.open(io.BytesIO(path.read_bytes())).convert("RGBA")
        assert picture.size == (1920, 1080)
        assert picture.getpixel((2, 2)) == (251, 250, 246, 255)
    clear = publish(told, tmp_path / "b", "stills", more=("--clear",)) / "stills" / "record.png"
    assert Image.open(clear).convert("RGBA").getpixel((2, 2))[3] == 0
    assert "head of the book" in (made / "record.svg").read_text(encoding="utf-8")


@pytest.mark.reference
def test_cues_follow_the_web_standard() -> None:
    """W3C, WebVTT: the file begins with WEBVTT; a cue's times are hh:mm:ss.ttt with an arrow between; its words
    hold no bare ampersand, less-than sign or arrow (sections 4.1 and 4.2, from memory)."""
    made = vtt(
        [Cue(start_s=0, end_s=61.5, text="start"), Cue(start_s=61.5, end_s=3723.004, text="a --> b & <c>")],
        "x",
    )
    lines = made.split("\n")
    assert lines[0].startswith("WEBVTT")
    assert lines[1] == ""
    assert "00:00:00.000 --> 00:01:01.500" in lines
    assert "00:01:01.500 --> 01:02:03.004" in lines
    assert "a --&gt; b &amp; &lt;c&gt;" in lines
    assert plain([Cue(start_s=125, end_s=130, text="two\nlines")]) == "2:05 two lines\n"
    assert (short(3723), stamp(0.0005)) == ("1:02:03", "00:00:00.000")


def test_film_marks_become_chapters_and_runs_captions(told: Bench, tmp_path: Path) -> None:
    from leadoff.loop.marking import film
    from leadoff.loop.session import Session

    for at, text in (("18:05:00", "cold start"), ("18:35:00", "up to 40")):
        session = Session(at=f"2024-03-01T{at}")
        film(session, "ferry-486", text)
        session.close()
    made = publish(told, tmp_path / "a", "film") / "film"
    assert (
        (made / "chapters-1.txt").read_text(encoding="utf-8").startswith("0:00 cold start\n30:00 up to 40\n")
    )
    captions = (made / "captions-1.vtt").read_text(encoding="utf-8")
    assert "00:05:00.000 --> 00:05:06.000\nrun 1: w2 19.6, 19.7 frames/s" in captions


def test_sale_words_put_the_faults_first(told: Bench, tmp_path: Path) -> None:
    text = (publish(told, tmp_path / "a", "sale") / "sale.txt").read_text(encoding="utf-8")
    assert text.index("What is wrong") < text.index("What was measured")
    assert "Not soaked" in text
    assert "no promise" in text
    assert "1 did not end well" in text
    assert "run 3 (2024-03-01): " in text, "what failed is said, not only counted"


@pytest.mark.reference
def test_the_label_says_what_the_code_says(told: Bench, tmp_path: Path) -> None:
    """ISO/IEC 18004, read back by a decoder that is not ours (ZXing) from the label as it is printed."""
    import zxingcpp

    svg = (publish(told, tmp_path / "a", "label") / "label.svg").read_text(encoding="utf-8")
    assert 'width="70mm"' in svg
    assert "ferry-486 |" in svg
    # As the label on paper: drawn by the typesetter, then seen as a scanner at 200 dots an inch sees it.
    sheet = b'#set page(width: 70mm, height: 37mm, margin: 0mm)\n#image("l.svg", width: 70mm, alt: "label")'
    seen = typesetting._bytes({"main.typ": sheet, "l.svg": svg.encode()}, format="png", ppi=200.0)
    (code,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(seen)).convert("L"))
    data = json.loads((tmp_path / "a" / "ferry-486.leadoff.json").read_text(encoding="utf-8"))
    assert code.format == zxingcpp.BarcodeFormat.QRCode
    assert code.text.startswith("ferry-486 | 486-vlb | w2 19.65 frames/s | ")
    assert code.text.endswith(f"head {data['head']}")
    assert f"{len(data['limits'])} limits" in code.text
