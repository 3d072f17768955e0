"""Soaks, copy-compares and counted starts held against what is said of them."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.claims.grade import failed, is_copy, is_soak, is_start
from leadoff.claims.rows import constant
from leadoff.claims.spoken.values import Num, Verdict
from leadoff.claims.standings import state_words
from leadoff.claims.values import Trial
from leadoff.record.runs import Outcome

V = Verdict
NOUN = {"soak": "soak", "copy": "copy-compare", "start": "counted starts"}


Counted = tuple[Num, bool | None]
"""A number with whether it counts what went well."""


class TestClaim(msgspec.Struct, frozen=True, kw_only=True):
    """What is said of tests of one kind: that they went well or badly (``None``: neither), every one or some; that
    there is none (``absent``); what it was ``meant`` to be; hours, times of a failure, the ``share`` that had gone by
    then; so many of how many, whole numbers as they came, each with whether it is of good ones."""

    kind: str
    well: bool | None
    every: bool = False
    absent: bool = False
    hours: tuple[Num, ...] = ()
    clocks: tuple[str, ...] = ()
    counts: tuple[Counted, ...] = ()
    ints: tuple[Counted, ...] = ()
    beeps: Num | None = None
    share: Num | None = None
    meant: bool = False
    events: tuple[str, ...] = ()


class Held(msgspec.Struct, frozen=True, kw_only=True):
    """A verdict with its reason. ``doubtful``: a reading as likely says otherwise."""

    verdict: Verdict
    why: str
    refs: tuple[str, ...] = ()
    doubtful: bool = False


def tests_of(kind: str, trials: Sequence[Trial]) -> list[Trial]:
    """Tests of one kind."""
    is_kind = {"soak": is_soak, "copy": is_copy, "start": is_start}[kind]
    return [t for t in trials if is_kind(t)]


def passed(t: Trial) -> bool:
    """A soak held, copies came back clean, every start was good."""
    if is_soak(t):
        return t.run.outcome is Outcome.SOAKED
    if is_copy(t):
        return t.run.outcome is Outcome.COPY_CLEAN
    return not failed(t)


def good_of(t: Trial) -> tuple[int, int]:
    """Good ones and all of a count."""
    of, count = t.run.of or 0, t.run.count or 0
    return (of - count if is_copy(t) else count), of


def text_of(t: Trial) -> str:
    """A test in a few words."""
    where = f"{t.number} ({t.board}, {state_words(t)})"
    if is_soak(t):
        hours = f"{(t.run.after_s or 0.0) / 3600:g} h"
        return f"{where}: {hours}, {'passed' if passed(t) else 'failed: ' + (t.said or t.run.place)}"
    good, of = good_of(t)
    return f"{where}: {good} good of {of}"


def judged(said: TestClaim, trials: Sequence[Trial], who: str, *, anywhere: bool = False) -> Held:
    """The verdict on what is said of the tests among these runs; ``anywhere``: of no state in particular."""
    tests = tests_of(said.kind, trials)
    refs = tuple(t.number for t in tests)
    if said.absent:
        hours = [n for n in said.hours if n.value]
        tests = [t for t in tests if not hours or _beyond(t, hours) or _hours_fit(t, said)]
        tests = [t for t in tests if not any(n.mod == "over" for n in hours) or _beyond(t, hours)]
        why = "; ".join(map(text_of, tests)) or f"{who}: no {NOUN[said.kind]} in such a state"
        return Held(verdict=V.CONTRADICTED if tests else V.SUPPORTED, why=why, refs=refs)
    if said.kind == "start" and (plain := _plain_starts(said, tests, trials, who)) is not None:
        return plain
    if not tests:
        return Held(verdict=V.UNTESTED, why=f"{who}: no {NOUN[said.kind]} in such a state")
    why = "; ".join(map(text_of, tests))
    fits = [t for t in tests if fits_amount(t, said)]
    if said.hours or said.clocks or said.counts or said.ints or said.share:
        ok = bool(fits) and (not said.every or _outcomes(said, tests))
        if not fits and len(tests) > 1 and _sums(said, tests):
            ok = True
        if anywhere and said.kind == "soak" and said.hours and not any(_hours_fit(t, said) for t in tests):
            return Held(verdict=V.NOT_FOUND, why=why, refs=refs)
        # "It did its eight hours" may say that it came through or only how long it was meant to be.
        open_ = said.kind == "soak" and said.well is None and not (said.clocks or said.share or said.meant)
        doubtful = (open_ and any(not passed(t) for t in fits)) or (
            said.kind != "soak" and unclear(said, tests)
        )
        return Held(verdict=V.SUPPORTED if ok else V.CONTRADICTED, why=why, refs=refs, doubtful=doubtful)
    good = [t for t in tests if passed(t)]
    bad = [t for t in tests if not passed(t) and _event_fits(t, said)]
    if said.well is False:
        ok = bool(bad) and (not said.every or not good)
        return Held(verdict=V.SUPPORTED if ok else V.CONTRADICTED, why=why, refs=refs)
    broken = [t for t in tests if not passed(t)]
    mixed = bool(good) and bool(broken) and not said.every
    return Held(verdict=V.CONTRADICTED if broken else V.SUPPORTED, why=why, refs=refs, doubtful=mixed)


def longest(said: TestClaim, trials: Sequence[Trial], boards: Sequence[str], *, most: bool) -> Held:
    """The longest or shortest soak of all, or of these boards: how long, and whose."""
    soaks = [t for t in tests_of("soak", trials) if t.run.after_s]
    if not soaks:
        return Held(verdict=V.UNTESTED, why="no soak in the book")
    top = (max if most else min)(t.run.after_s or 0.0 for t in soaks)
    who = [t for t in soaks if t.run.after_s == top]
    ok = {t.board for t in who} <= set(boards) and all(_near(top / 3600, n) for n in said.hours)
    why = "; ".join(map(text_of, who))
    return Held(verdict=V.SUPPORTED if ok else V.CONTRADICTED, why=why, refs=tuple(t.number for t in who))


def _beyond(t: Trial, hours: Sequence[Num]) -> bool:
    """Whether it went on for longer than was said: ``for more than 24 hours``, which 24 is not."""
    over = [n for n in hours if n.mod == "over"]
    return bool(over) and all((t.run.after_s or 0.0) / 3600 > n.value + _SLACK_H for n in over)


_SLACK_H = constant("soak_slack_hours")


def _outcomes(said: TestClaim, tests: Sequence[Trial]) -> bool:
    return all(passed(t) == (said.well is not False) for t in tests)


def _sums(said: TestClaim, tests: Sequence[Trial]) -> bool:
    """The whole of several counts: 120 copies."""
    if said.kind == "soak" or said.clocks or said.hours:
        return False
    good, of = (sum(x) for x in zip(*map(good_of, tests), strict=True))
    return _numbers_fit(said, good, of)


def fits_amount(t: Trial, said: TestClaim) -> bool:
    """Whether a test is as said, in amount and outcome."""
    if said.kind == "soak":
        if said.well is not None and passed(t) != said.well:
            return False
        if said.clocks and not any(c in t.said or c in t.run.place for c in said.clocks):
            return False
        if said.well is False and not _event_fits(t, said):
            return False
        return _hours_fit(t, said) and (said.share is None or _got_to(t, said.share))
    good, of = good_of(t)
    return _numbers_fit(said, good, of)


def _numbers_fit(said: TestClaim, good: int, of: int) -> bool:
    """Every number said is the whole, or the good or bad ones as the words beside it have it."""
    for n, well in said.counts:
        whole = round(n.of or 0)
        if n.mod == "rate" and whole < of and of % whole == 0:
            n = msgspec.structs.replace(n, value=n.value * (of // whole), of=float(of))
        if round(n.of or 0) != of or not _is(n, of - good if well is False else good):
            return False
    few = [x for x in said.ints if round(x[0].value) != of]
    whole = len(few) < len(said.ints)
    ways = {well for n, well in said.ints if round(n.value) == of and well is not None}
    if not said.counts and any(good != (of if way else 0) for way in ways):
        return False
    if not few:
        return bool(said.counts) or whole
    several = whole or bool(said.counts) or len(few) > 1
    return all(_is(n, _part(well, several, good, of, round(n.value))) for n, well in few)


def _part(well: bool | None, several: bool, good: int, of: int, n: int) -> int:
    """Which number is meant: the good ones, the bad ones or, of one number with nothing said of it, all."""
    if well is not None:
        return good if well else of - good
    return (of - good if n == of - good else good) if several else of


def unclear(said: TestClaim, tests: Sequence[Trial]) -> bool:
    """Whether a number may be of the good ones or of the bad ones."""
    halves = [n for n, well in (*said.counts, *said.ints) if well is None]
    return any(
        round(n.value) != of
        and good != of - good
        and round(n.value) in (of - good, good)
        and 2 * n.value < of
        for n in halves
        for good, of in map(good_of, tests)
    )


def _is(n: Num, found: int) -> bool:
    if n.mod == "over":
        return found >= n.value
    if n.mod == "under":
        return found <= n.value
    return found == round(n.value)


def _hours_fit(t: Trial, said: TestClaim) -> bool:
    hours = (t.run.after_s or 0.0) / 3600
    return all(_near(hours, n) or (said.well is False and _failed_at(t, n)) for n in said.hours)


def _near(hours: float, n: Num) -> bool:
    if n.mod == "over":
        return hours >= n.value - 1e-9
    if n.mod == "under":
        return hours <= n.value + 1e-9
    if n.hi is not None:
        return n.value <= hours <= n.hi
    if n.mod in ("about", "nearly", "just"):
        return abs(hours - n.value) <= 0.1 * n.value
    return abs(hours - n.value) < 0.26


def _got_to(t: Trial, share: Num) -> bool:
    """Whether a soak got so far before it failed."""
    at, hours = _end_at(t), (t.run.after_s or 0.0) / 3600
    if at is None or not hours:
        return False
    got = at / hours
    if share.mod in ("under", "over"):
        return got < share.value if share.mod == "under" else got > share.value
    return abs(got - share.value) <= _NEAR_SHARE


_NEAR_SHARE = constant("soak_share")
"""A share of a soak is spoken as exactly as this."""


def _end_at(t: Trial) -> float | None:
    """Hours after which a soak ended, where that was noted."""
    for word in f"{t.said} {t.run.place}".split():
        left, colon, right = word.partition(":")
        if colon and left.isdigit() and right.isdigit():
            return int(left) + int(right) / 60
    return None


def _failed_at(t: Trial, n: Num) -> bool:
    """``after three hours`` of a soak that ended at 3:20."""
    at = _end_at(t)
    return at is not None and abs(at - n.value) <= (0.5 if n.places == 0 else 0.1)


def _event_fits(t: Trial, said: TestClaim) -> bool:
    """A reboot is no hang."""
    text = f"{t.said} {t.run.place}".lower()
    if "hang" in said.events:
        return "hang" in text or "hung" in text
    if "reboot" in said.events:
        return "reboot" in text or "reset" in text
    return True


def _plain_starts(said: TestClaim, tests: Sequence[Trial], trials: Sequence[Trial], who: str) -> Held | None:
    """Starts without a count: boards that did not come up, and those that did."""
    if said.counts or said.ints:
        return None
    dead = [t for t in trials if t.run.outcome in (Outcome.NO_START, Outcome.NO_POWER) and t.run.of is None]
    beeps = [t for t in dead if said.beeps is None or f"{said.beeps.value:g} beep" in t.run.place]
    short = [t for t in tests if failed(t)]
    shown = "; ".join(
        [f"run {t.number} ({t.board}): {t.run.place}" for t in dead] + [text_of(t) for t in tests]
    )
    refs = tuple(t.number for t in (*dead, *tests))
    if not trials:
        return Held(verdict=V.UNTESTED, why=f"{who}: no run in such a state")
    if said.well is False:
        if said.beeps is not None:
            return Held(
                verdict=V.SUPPORTED if beeps else V.CONTRADICTED, why=shown or f"{who}: it started", refs=refs
            )
        if dead:
            return Held(verdict=V.SUPPORTED, why=shown, refs=refs)
        return Held(
            verdict=V.SUPPORTED if short else V.CONTRADICTED,
            why=shown or f"{who}: it started",
            refs=refs or tuple(t.number for t in trials[:4]),
            doubtful=bool(short),
        )
    if dead or (short and said.every):
        return Held(verdict=V.CONTRADICTED, why=shown, refs=refs)
    if said.every:
        return Held(
            verdict=V.SUPPORTED if tests else V.UNTESTED,
            why=shown or f"{who}: no counted starts in such a state",
            refs=refs,
        )
    return Held(
        verdict=V.SUPPORTED,
        why=shown or f"{who}: it started",
        refs=refs or tuple(t.number for t in trials[:4]),
        doubtful=bool(short) or said.well is None,
    )
