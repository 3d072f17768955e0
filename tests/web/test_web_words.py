"""What a newcomer reads: words and no raw names, each thing once, the most pressing first."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from test_web_reads import PATHS
from web_bench import DEAD, HEART

from leadoff.loop.boards import board_add
from leadoff.loop.desk import Desk
from leadoff.record.pictures import RunPoint
from leadoff.record.settings import SETTINGS, in_words
from leadoff.show.charts.jumper_plan import jumper_plan
from leadoff.show.charts.record_line import MOST_TICKS, record_line
from leadoff.show.pages import words

RAW = re.compile(r"\b(" + "|".join(n for n in SETTINGS if "_" in n) + r")\b")
OTHERS = [f"/board/office-s7{end}" for end in ("", "/now", "/story", "/publish", "/why")]


def seen(page: str) -> str:
    """What stands on a page, without what stands in its tags."""
    body = re.sub(r"<head>.*?</head>|<code>.*?</code>", "", page, flags=re.S)
    return html.unescape(re.sub(r"<[^>]+>", " ", body))


@pytest.mark.parametrize("path", [*PATHS, *OTHERS])
def test_no_setting_by_its_raw_name(calm: TestClient, path: str) -> None:
    assert RAW.findall(seen(calm.get(path).text)) == []


def test_a_setting_in_words() -> None:
    assert in_words("dram_write_ws") == "memory write wait states"
    assert in_words("refresh") == "memory refresh"
    assert in_words("snoop_line") == "snoop line"  # its meaning is a sentence
    assert in_words("jp7") == "jp7"
    assert words.spoken("moved l2_read 3-1-1-1, jp7 open") == (
        "moved cache read hit 3\N{NON-BREAKING HYPHEN}1\N{NON-BREAKING HYPHEN}1\N{NON-BREAKING HYPHEN}1, jp7 open"
    )
    assert words.spoken("2019-12-07 19:20") == "2019-12-07 19:20"


def test_the_shelf_begins_with_the_ailing_and_says_what_is_due_once(calm: TestClient) -> None:
    page = calm.get("/").text
    order = re.findall(r'<b class="name">([^<]+)</b>', page)
    assert order[0] == DEAD
    assert sorted(order) == sorted(b["board"] for b in calm.get("/shelf.json").json()["data"]["boards"])
    assert page.count("firmware not dumped") == 1
    due = page[page.index("firmware not dumped") :]
    due = due[: due.index("</li>")]
    assert all(f'href="/board/{name}/shelf"' in due for name in order)
    assert f"look up: {in_words('dram_write_ws')}" in page


def test_due_things_of_one_board_come_before_what_all_share() -> None:
    def row(board: str, clock: str, firmware: str) -> dict[str, str]:
        return {"board": board, "clock": clock, "capacitors": "", "firmware": firmware}

    rows = [row("a", "", "not dumped"), row("b", "cell: due", "not dumped"), row("c", "", "dumped")]
    assert words.due(rows) == [("cell: due", ["b"]), ("firmware not dumped", ["a", "b"])]
    assert words.due([row("c", "", "dumped")]) == []


def test_a_long_remark_is_folded_behind_what_it_says() -> None:
    short = "80 MHz; the part is rated for 66.67 MHz: +20.0 %"
    assert words.folded(short) == (short, "")
    told, more = words.folded(f"{short} (from memory); the clock is assumed, " + "not known " * 12)
    assert told == short
    assert more.startswith("(from memory)")
    assert words.folded("x" * 300) == ("x" * 300, "")


def test_what_was_never_said_stands_on_the_bench_too(client: TestClient, desk: Desk, tmp_path: Path) -> None:
    """The shelf counts it, so the board's page must list it."""
    text = '[board]\nid = "wren-286"\nclass = "286"\nbuses = ["isa"]\n[fitted]\ncache = 0\n'
    text += (
        '[[jumper]]\nid = "osc"\npositions = ["24", "32"]\nsets = { bus_mhz = { "24" = 12, "32" = 16 } }\n'
    )
    sheet = tmp_path / "wren.toml"
    sheet.write_text(text)
    board_add(desk.session(), str(sheet))
    bench = client.get("/board/wren-286.json").json()["data"]["settings"]
    assert {n for n in ("cpu", "ram_mb", "bus_mhz") if bench[n]["status"] == "unknown"} == {
        "cpu",
        "ram_mb",
        "bus_mhz",
    }
    row = next(b for b in client.get("/shelf.json").json()["data"]["boards"] if b["board"] == "wren-286")
    assert row["unknown"] == 3  # the jumper that sets the bus clock is not counted beside it


def test_runs_are_counted_in_whole_numbers_below_their_record() -> None:
    def ticks(count: int) -> list[int]:
        points = [
            RunPoint(number=str(n), order=n, score=float(n), record=float(n), outcome="finishes")
            for n in range(1, count + 1)
        ]
        spec = record_line(points, title="t", unit="s", width=380)
        found: list[int] = spec["layer"][0]["encoding"]["x"]["axis"]["values"]
        return found

    assert ticks(3) == [1, 2, 3]
    assert ticks(25) == [1, 4, 7, 10, 13, 16, 19, 22, 25]
    assert max(len(ticks(n)) for n in range(1, 80)) <= MOST_TICKS
    assert record_line([], title="t", unit="s")["layer"][0]["encoding"]["x"]["axis"]["values"] == []


def test_a_jumper_of_two_posts_is_drawn_with_two() -> None:
    def drawn(now: str | None, positions: tuple[str, ...]) -> str:
        jumper = {
            "id": "jp14",
            "positions": positions,
            "now": now,
            "after": None,
            "leave": False,
            "at_mm": None,
        }
        return jumper_plan([jumper], title="Jumpers of a board with a long name", width=380)

    open_, closed = drawn("open", ("open", "closed")), drawn("closed", ("open", "closed"))
    assert open_.count("<circle") == closed.count("<circle") == 2
    assert open_.count("<rect") == 0
    assert closed.count("<rect") == 1
    assert drawn("2-3", ("1-2", "2-3")).count("<circle") == 3
    assert ">in the order of the sheet, not of the board</text>" in open_


def test_a_divider_reads_as_a_fraction(calm: TestClient) -> None:
    choices = {c["setting"]: c for c in calm.get(f"/board/{HEART}/forecast.json").json()["data"]["choices"]}
    texts = [v["text"] for v in choices["isa_ratio"]["values"]]
    assert texts
    assert all(re.fullmatch(r"1/\d", t) for t in texts)


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("/electric?words=heat+in+5", 'value="heat in 5"'),
        ("/substitute?words=zebra", 'value="zebra"'),
        ("/worth?asked=blah", 'value="blah"'),
        (f"/board/{HEART}/socket?want=blah+zz", 'value="blah zz"'),
    ],
)
def test_what_was_wrong_in_a_form_is_said_above_that_form(calm: TestClient, path: str, field: str) -> None:
    found = calm.get(path)
    assert found.status_code == 400
    assert "what is wrong" in found.text
    assert field in found.text


def test_an_unknown_board_is_no_form(calm: TestClient) -> None:
    found = calm.get("/board/nobody/socket?want=bus+40")
    assert found.status_code == 404
    assert "<form" not in found.text


def test_the_choices_show_the_state_that_is_foretold(calm: TestClient) -> None:
    """However the wish was typed: "bus 33" is the choice of 33.33 MHz, and the rest stays as set."""

    def chosen(query: str) -> list[str]:
        page = calm.get(f"/board/{HEART}/forecast{query}").text
        return re.findall(r"<option[^>]* selected>([^<]*)</option>", page)

    as_set, other = chosen(""), chosen("?want=bus+33")
    assert all(text.endswith(" (set)") for text in as_set)
    assert "33.33 MHz" in other
    assert len(other) == len(as_set)
