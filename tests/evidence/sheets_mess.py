"""A messy table of sixty rows with its truth. Everything in it is invented: dates, figures, remarks."""

from __future__ import annotations

import io
import random
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from fractions import Fraction

import openpyxl

WORKLOADS = {"w2": "frames/s", "w3": "s"}
ASK, ASIDE, IN, NOTHING = "ask", "aside", "in", "nothing"


@dataclass(frozen=True)
class Truth:
    """What a row really says: the day, settings, and for each workload the value or the way it failed."""

    day: str
    settings: dict[str, str]
    results: dict[str, float | str]


@dataclass
class Mess:
    """Rows as typed, what must become of each, and the truth of those that may go in."""

    rows: list[list[object]] = field(default_factory=list)
    fate: list[str] = field(default_factory=list)
    truth: list[Truth | None] = field(default_factory=list)


HEAD = ["Date", "Bus", "x", "Settings", "w2 (fps)", "w3", "Remarks"]
GROUPS = ["", "clocks", "clocks", "", "results", "results", ""]
UNITS = ["", "MHz", "", "", "", "s", ""]
FOOT = ["* = side panel off"]


def typed(value: float, rng: random.Random) -> str:
    return f"{value:.1f}".replace(".", "," if rng.random() < 0.6 else ".")


def mess(seed: int = 1, count: int = 60) -> Mess:
    """The rows in order of days."""
    rng = random.Random(seed)
    made = Mess()
    day = date(1999, 1, 14)
    for n in range(count):
        day += timedelta(days=rng.randrange(1, 5))
        bus, ratio = rng.choice([("33", Fraction(100, 3)), ("40", Fraction(40))]), "2"
        settings = {"bus_mhz": str(bus[1]), "ratio": ratio}
        mash = rng.choice(["l2 wb", "l2 wt, dram read ws 1", "", "dram read ws 0; l2 wb", "?"])
        if "l2 wb" in mash:
            settings["l2_policy"] = "wb"
        if "l2 wt" in mash:
            settings["l2_policy"] = "wt"
        if "read ws" in mash:
            settings["dram_read_ws"] = mash.partition("read ws ")[2][0]
        fps, seconds = round(rng.uniform(15, 30), 1), round(rng.uniform(30, 60), 1)
        kind = KINDS[n % len(KINDS)] if n < 2 * len(KINDS) else rng.choice(KINDS[:7])
        when: object = day.strftime("%d.%m.%y")
        score: object = typed(fps, rng)
        other: object = typed(seconds, rng)
        note, fate = rng.choice(["", "fan on", "zweiter Lauf, Gehäuse zu", "cold day"]), IN
        results: dict[str, float | str] = {"w2": fps, "w3": seconds}
        if kind == "real date":
            when, score, other = datetime(day.year, day.month, day.day), fps, seconds
        elif kind == "named date":
            when = f"{day.day} {day.strftime('%b')} {day.year}"
        elif kind == "units":
            score, other = f"{fps:.1f} fps", f"{seconds:.1f} s"
        elif kind == "about":
            score = f"~{fps:.1f}"
        elif kind == "crash":
            score, results["w2"] = rng.choice(["crash", "hang", "freezes", "reboot"]), "fails_mid_run"
        elif kind == "blank":
            other = ""
            del results["w3"]
        elif kind == "slashed":
            order = rng.choice(["%d/%m/%y", "%m/%d/%y"])
            when = day.strftime(order)
            fate = ASK if day.day <= 12 and day.day != day.month else IN
        elif kind == "star":
            score, fate = f"{score}*", ASK
        elif kind == "dash":
            other, fate = "-", ASK
        elif kind == "unclear policy":
            mash, fate = "wb", ASIDE
        elif kind == "twice":
            mash, fate = "bus 25" if bus[0] != "25" else "bus 33", ASIDE
        elif kind == "remark sets":
            note, fate = "with turbo off", ASIDE
        elif kind == "remark fails":
            note, fate = "crash after the second", ASIDE
        elif kind == "no day":
            when, fate = rng.choice(["spring", "31.2.99", "35884"]), ASIDE
        elif kind == "date for score":
            score, fate = datetime(day.year, 5, 23), ASIDE
        elif kind == "two figures":
            score, fate = f"{fps:.1f}/{fps + 0.2:.1f}", ASIDE
        elif kind == "words":
            score, fate = "rather good", ASIDE
        elif kind == "wrong unit":
            score, fate = f"{fps:.1f} s", ASIDE
        elif kind == "impossible bus":
            bus, fate = ("0", Fraction(0)), ASIDE
        elif kind == "nothing":
            score = other = ""
            fate = NOTHING
        made.rows.append([when, bus[0], ratio, mash, score, other, note])
        made.fate.append(fate)
        made.truth.append(Truth(day.isoformat(), settings, results) if fate in (IN, ASK) else None)
    return made


KINDS = (
    *("plain", "real date", "named date", "units", "about", "crash", "blank"),
    *("slashed", "star", "dash", "unclear policy", "twice", "remark sets", "remark fails", "no day"),
    *(
        "date for score",
        "two figures",
        "words",
        "wrong unit",
        "impossible bus",
        "nothing",
        "slashed",
        "slashed",
    ),
)


def lines(made: Mess) -> list[list[object]]:
    """The table as it stands: a title, headings in three rows, again half way, totals, a footnote."""
    half = len(made.rows) // 2
    out: list[list[object]] = [["Old table of a board that never was"], [], GROUPS, HEAD, UNITS]
    out += made.rows[:half]
    out += [["Average", "", "", "", "22,2", "41,1", ""], [], HEAD, UNITS]
    out += made.rows[half:]
    out += [["Total", "", "", "", str(len(made.rows)), "", ""], [], FOOT]
    return out


def workbook(made: Mess) -> bytes:
    """As a spreadsheet, with the group headings and a run of settings merged."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Runs"
    for row in lines(made):
        sheet.append([None if v == "" else v for v in row])
    sheet.merge_cells("B3:C3")
    sheet.merge_cells("E3:F3")
    for row in sheet.iter_rows():
        for cell in row:
            if isinstance(cell.value, float):
                cell.number_format = "0.0"
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def separated(made: Mess, mark: str = ";", coding: str = "cp1252") -> bytes:
    """As separated values in a code page; dates of the spreadsheet printed day first."""

    def shown(value: object) -> str:
        if isinstance(value, datetime):
            return value.strftime("%d.%m.%Y")
        if isinstance(value, float):
            return f"{value:.1f}"
        return f'"{value}"' if mark in str(value) else str(value)

    return "\r\n".join(mark.join(shown(v) for v in row) for row in lines(made)).encode(coding)
