"""Words of this board: its jumpers, its set-up entries, the firmware's own labels, and earlier runs."""

from __future__ import annotations

import re
from fractions import Fraction

from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import LikePhrase, SetPhrase
from leadoff.record.settings import SettingKind, kind_of
from leadoff.words.numbers import number
from leadoff.words.scan import END, NUM, TIE, Found, Scan, match
from leadoff.words.values import decimal_text, setting_value

_UNKNOWN = rf"(\?|default|unknown|auto|not known)(?:,?\s*not known)?{END}"
_JUMPER_LIKE = r"((?:jp|j|sw|jumper)\s?\d{1,3}[a-z]?)(?=[\s=:,;]|$)"


def jumper(scan: Scan, pos: int) -> Found | None:
    """``jp7 2-3``, ``jp7 open``, ``cache timing 3-1-1-1``: a position the sheet lists, else a question."""
    entries = {**scan.context.choices, **scan.context.positions}
    table = {}
    for name in entries:
        table[name.lower()] = name
        table.setdefault(name.lower().replace("_", " "), name)
    for end, name in scan.labels(pos, table):
        return _position(scan, pos, end, name, entries[name])
    return _unlisted(scan, pos)


def _position(scan: Scan, pos: int, end: int, name: str, allowed: tuple[str, ...]) -> Found:
    tie = TIE.match(scan.plain, end)
    at = tie.end() if tie else end
    if pins := match(scan, r"(?:pins?|position)\s+", at):
        at = pins.end()
    if unknown := match(scan, _UNKNOWN, at):
        return scan.setting(pos, unknown.end(), name, unknown[1])
    best: tuple[int, str] | None = None
    for position in allowed:
        words = r"\s+".join(re.escape(w) for w in position.lower().split())
        found = match(scan, rf'"?{words}"?{END}', at)
        if found is not None and (best is None or found.end() > best[0]):
            best = (found.end(), position)
    if best is not None:
        phrase = SetPhrase(text=scan.typed(pos, best[0]), name=name, value=best[1])
        return Found(best[0], (phrase,))
    rest = match(scan, r"[^\s,;]*", at)
    stop = rest.end() if rest else at
    said = scan.typed(at, stop)
    wrong = f"{name} has no position {said!r}" if said else f"{name} in which position?"
    return scan.ask(
        pos, stop, f"{wrong}; the sheet lists {', '.join(allowed)}", [f"{name} {p}" for p in allowed]
    )


def _unlisted(scan: Scan, pos: int) -> Found | None:
    found = match(scan, _JUMPER_LIKE, pos)
    if found is None:
        return None
    name = found[1].replace(" ", "")
    tie = TIE.match(scan.plain, found.end())
    value = match(scan, r"[^\s,;]+", tie.end() if tie else found.end())
    sheet = scan.context.positions
    lower = {n.lower(): n for n in sheet}
    own = next(
        (lower[n] for n in (name, name.replace("jumper", "jp"), name.replace("jumper", "j")) if n in lower),
        None,
    )
    if own is not None:
        return _position(scan, pos, found.end(), own, sheet[own])
    if sheet:
        stop = value.end() if value else found.end()
        said = value[0] if value else ""
        fits = [f"{n} {said}" for n, allowed in sheet.items() if said in allowed]
        return scan.ask(pos, stop, f"the sheet of this board has no {name}; it has {', '.join(sheet)}", fits)
    if value is None:
        return scan.ask(pos, found.end(), f"{name} in which position?")
    return scan.setting(pos, value.end(), name, scan.plain[value.start() : value.end()])


def firmware_label(scan: Scan, pos: int) -> Found | None:
    """``"cache write cycle" 1``: the firmware's own label for a setting, counted from the firmware's zero."""
    table = {label.lower(): target for label, target in scan.context.aliases.items()}
    for end, (name, add) in scan.labels(pos, table):
        tie = TIE.match(scan.plain, end)
        at = tie.end() if tie else end
        if unknown := match(scan, _UNKNOWN, at):
            return scan.setting(pos, unknown.end(), name, unknown[1])
        typed = match(scan, rf'"[^"]+"|{NUM}\s*(?:ws|t|clocks?)?{END}|[^\s,;]+', at)
        if typed is None:
            return scan.ask(pos, end, f"{scan.typed(pos, end)}: which value does the menu show?")
        text = typed[0].strip('"')
        figure = match(scan, rf"({NUM})\s*(?:ws|t|clocks?)?{END}", at)
        if figure is not None and kind_of(name) is SettingKind.NUMBER:
            return _counted(scan, pos, typed.end(), name, figure[1], add)
        return scan.setting(pos, typed.end(), name, text)
    return None


def _counted(scan: Scan, pos: int, end: int, name: str, figure: str, add: float) -> Found:
    try:
        value = setting_value(name, decimal_text(number(figure).exact + Fraction(str(add))))
    except LeadoffError as error:
        return scan.ask_error(pos, end, error)
    why = f"the firmware shows {figure} and counts from {-add:g}" if add else ""
    return Found(end, (SetPhrase(text=scan.typed(pos, end), name=name, value=value, why=why),))


def earlier_run(scan: Scan, pos: int) -> Found | None:
    """``as 41``, ``same as run 41``, ``back to 38``."""
    if bare := match(scan, rf"run\s+#?(\d+){END}", pos):
        return scan.ask(
            pos, bare.end(), f"{bare[0]}: as it was, or back to it?", (f"as {bare[1]}", f"back to {bare[1]}")
        )
    found = match(scan, rf"((?:same\s+)?as|like|back\s+to)\s+(?:run\s+|#)?#?(\w+){END}", pos)
    if found is None or (not any(c.isdigit() for c in found[2]) and found[2] not in scan.context.runs):
        return None
    run, runs = found[2], scan.context.runs
    if runs and run not in runs:
        near = sorted(runs, key=lambda r: (abs(len(r) - len(run)), r))[-5:]
        said = scan.typed(pos, found.end())
        return scan.ask(
            pos,
            found.end(),
            f"{said}: there is no run {run} of this board",
            [f"{found[1]} {r}" for r in near],
        )
    return Found(
        found.end(),
        (LikePhrase(text=scan.typed(pos, found.end()), run=run, back=found[1].startswith("back")),),
    )
