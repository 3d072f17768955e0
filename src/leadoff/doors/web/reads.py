"""Every page that can be read, as one table; each has a ``.json`` twin under the same name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

import msgspec

from leadoff.doors.web import figures
from leadoff.loop import benching
from leadoff.loop.desk import Desk
from leadoff.record.errors import LeadoffError
from leadoff.record.results import Result, failed

Given = Mapping[str, str]


class Read(NamedTuple):
    """``query``: the parameters it takes after the question mark, each with what it means.

    ``asks``: the page holds the form that was filled in, so what was wrong in it is said above that form.
    """

    path: str
    verb: str
    template: str
    work: Callable[[Desk, Given], Result]
    about: str
    query: Mapping[str, str] = {}
    asks: bool = False


def _shelf(desk: Desk, given: Given) -> Result:
    from leadoff.loop.shelving import shelf

    def made() -> Result:
        glance, kept = benching.shelf(desk.session()), shelf(desk.session(dry=True), None)
        places = {b["board"]: b for b in kept.data["boards"]}
        rows = [
            {"place": None, "waits_for": [], **places.get(b["board"], {}), **b} for b in glance.data["boards"]
        ]
        more = {name: kept.data[name] for name in ("orders", "parcels", "specimens", "parties")}
        return msgspec.structs.replace(glance, data={"boards": rows, **more}, marks=kept.marks)

    return desk.answer("shelf", made)


def _keeping(desk: Desk, given: Given) -> Result:
    from leadoff.loop.shelving import shelf

    board = given["board"]
    return desk.answer(("keeping", board), lambda: shelf(desk.session(dry=True), board))


def _now(desk: Desk, given: Given) -> Result:
    from leadoff.loop.planning import now

    board, workload = given["board"], given.get("workload") or None
    return desk.answer(("now", board, workload), lambda: now(desk.session(), board, workload=workload))


def _card(desk: Desk, given: Given) -> Result:
    from leadoff.loop.choosing import held_over

    want = given.get("want") or None
    return desk.answer(
        ("card", given["board"], want), lambda: held_over(desk.session(), given["board"], want)
    )


def _ladder(desk: Desk, given: Given) -> Result:
    from leadoff.loop.laddering import ladder

    return desk.answer(("ladder", given["board"]), lambda: ladder(desk.session(), given["board"]))


def _forecast(desk: Desk, given: Given) -> Result:
    from leadoff.loop.choosing import choose

    want = given.get("want") or None
    key = ("forecast", given["board"], want)
    return desk.answer(key, lambda: choose(desk.session(dry=True), given["board"], want))


def _sick(desk: Desk, given: Given) -> Result:
    from leadoff.loop.sicking import sick

    return desk.answer(("sick", given["board"]), lambda: sick(desk.session(), given["board"], None))


def _sweep(desk: Desk, given: Given) -> Result:
    from leadoff.loop.sweeping import sweep

    try:
        return desk.answer(("sweep", given["board"]), lambda: sweep(desk.session(), given["board"]))
    except LeadoffError as error:
        if error.problems[0].code != "no_sweep":
            raise
        empty = {"board": given["board"], "kind": "", "levels": [], "disputes": [], "understood": []}
        return desk.session().result("sweep", empty)


def _why(desk: Desk, given: Given) -> Result:
    from leadoff.loop.choosing import pairs

    return desk.answer(
        ("why", given["board"], given.get("first"), given.get("second")),
        lambda: pairs(desk.session(), given["board"], given.get("first") or "", given.get("second") or ""),
    )


def _standings(desk: Desk, given: Given) -> Result:
    from leadoff.loop.choosing import ranked

    workload, least = given.get("workload") or None, given.get("least") or None
    return desk.answer(("standings", workload, least), lambda: ranked(desk.session(), workload, least))


def _publish(desk: Desk, given: Given) -> Result:
    from leadoff.loop.choosing import publishable

    board = given["board"]
    return desk.answer(("publish", board), lambda: publishable(desk.session(dry=True), board))


def _evidence(desk: Desk, given: Given) -> Result:
    from leadoff.loop.choosing import evidence

    return desk.answer(("read", given["board"]), lambda: evidence(desk.session(), given["board"]))


def _proof(desk: Desk, given: Given) -> Result:
    from leadoff.loop.choosing import provable

    return provable(desk.session(), given)


def _repeat(desk: Desk, given: Given) -> Result:
    return desk.session().result("repeat", {"boards": sorted(desk.history().boards)})


def _worth(desk: Desk, given: Given) -> Result:
    from leadoff.loop.buying import worth

    said = {name: given[name] for name in OFFER if given.get(name)}
    if not said:
        return desk.session().result("worth", {})
    board = said.pop("board", None)
    return worth(desk.session(), board, said)


OFFER = {
    "asked": "price asked: 14, 14 USD, 10..20, or ? when not known",
    "postage": "postage; not stated, it is a band and never zero",
    "working": "what the board is worth when it works",
    "donor": "what it is worth as a donor of parts",
    "p_fix": "chance to fix it: 0.55, 55 %, 40..70 %",
    "parts": "parts for the repair, spent whether it works or not",
    "listing": "the seller's words; the odds follow from them",
    "board_class": "kind of board, with the seller's words",
    "board": "a board of the book: its findings give the odds",
    "from_country": "the seller's country, two letters",
    "to_country": "your country, two letters",
    "currency": "yours, three letters",
    "rate": 'what other currencies cost in yours: "USD 0.92, GBP 1.17"',
    "spread": "what the bank or card keeps on the exchange, percent",
    "postage_home": "postage inside the seller's country, to a forwarder",
    "packing": "packing, handling or storage",
    "insurance": "insurance of the parcel",
    "duty": "duty, if you know it better than the rule",
    "duty_pct": "rate of duty in percent, if you know it better",
    "tax": "import tax, if you know it better than the rule",
    "brokerage": "what the carrier takes for customs",
    "hour": "what an hour of yours is worth; own hours count only then",
    "hours": "your own hours",
    "seller": "whose parcels of yours tell what to expect of this one",
    "carrier": "who brings it; the same",
    "promised": "days until it comes, as promised",
    "risk": "largest R at which you take an even chance of +R or -R/2",
}
WANT = {"want": 'a state or part described, such as "bus 40 x3"'}
READS: tuple[Read, ...] = (
    Read(
        "/",
        "shelf",
        "shelf",
        _shelf,
        "all boards and what each needs next",
    ),
    Read(
        "/board/{board}",
        "bench",
        "bench",
        lambda d, g: d.answer(("bench", g["board"]), lambda: benching.bench(d.session(), g["board"])),
        "one board at a glance",
    ),
    Read("/board/{board}/now", "now", "now", _now, "the next run", {"workload": "the workload that counts"}),
    Read("/board/{board}/socket", "card", "socket", _card, "the card over the socket", WANT, asks=True),
    Read("/board/{board}/ladder", "ladder", "ladder", _ladder, "cache patterns by chip grade and bus clock"),
    Read("/board/{board}/forecast", "forecast", "forecast", _forecast, "a forecast, not sealed", WANT),
    Read("/board/{board}/sick", "sick", "sick", _sick, "causes, next tests, repair of an ailing board"),
    Read("/board/{board}/sweep", "sweep", "sweep", _sweep, "the last bandwidth sweep"),
    Read(
        "/board/{board}/why",
        "why",
        "why",
        _why,
        "where the difference of two runs comes from",
        {"first": "a run number", "second": "a run number"},
    ),
    Read(
        "/board/{board}/story",
        "story",
        "story",
        lambda d, g: benching.story(d.session(), g["board"]),
        "everything that counts on a board, newest first",
    ),
    Read(
        "/standings",
        "standings",
        "standings",
        _standings,
        "all boards: ranks with ties, what cannot be compared",
        {"workload": "this workload only", "least": "the grade a state needs, such as repeats or soaked"},
    ),
    Read("/board/{board}/publish", "publish", "publish", _publish, "what would go out, and its limits"),
    Read(
        "/board/{board}/shelf",
        "shelf",
        "keeping",
        _keeping,
        "where a board is, what it waits for, what is due, how old it is",
    ),
    Read("/board/{board}/read", "read", "read", _evidence, "what files said of a board"),
    Read(
        "/claim",
        "claim",
        "claim",
        lambda d, g: d.session().result("claim", {}),
        "a text to be checked against the book; send it by POST",
    ),
    Read(
        "/proof",
        "proof",
        "proof",
        _proof,
        "what a count proves, whether two rows differ, how many runs it takes",
        {
            "text": 'bad ones of all ("0/60"), or two rows of readings ("61.2 61.5 vs 61.6 61.3")',
            "lower": "any value: lower readings are the better ones",
            "difference_pct": "runs needed to show this difference, in percent",
            "workload": "of this workload of the book",
            "below_pct": "clean runs that bound failures below this, in percent",
        },
    ),
    Read("/repeat", "repeat", "repeat", _repeat, "somebody's public file is sent here by POST"),
    Read(
        "/worth",
        "worth",
        "worth",
        _worth,
        "landed cost and highest bid of an offer; nothing is kept",
        OFFER,
        asks=True,
    ),
    Read(
        "/substitute",
        "substitute",
        "substitute",
        figures.substitute,
        "what fits in place of a part",
        figures.PART,
        asks=True,
    ),
    Read(
        "/electric",
        "electric",
        "electric",
        figures.electric,
        "volts, heat, loads and cells",
        figures.FIGURES,
        asks=True,
    ),
    Read("/book", "book", "book", lambda d, g: benching.glance(d.session()), "the book, without checking it"),
)


def read(desk: Desk, row: Read, given: Given) -> Result:
    """The result of a page; a user's error is a result too."""
    try:
        return row.work(desk, given)
    except LeadoffError as error:
        return failed(row.verb, error, head=desk.session().head())
