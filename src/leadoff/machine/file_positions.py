"""Jumpers and set-up entries of a board file: their positions, what each sets, and how they stand now."""

from __future__ import annotations

from collections.abc import Mapping

from leadoff.machine.names import near_setting, setting_name
from leadoff.machine.own_names import Sets, as_values
from leadoff.machine.pins import pin_level, pin_setting
from leadoff.machine.tomlwalk import UNKNOWN, Walk, listed
from leadoff.record.board import Jumper, Option
from leadoff.record.errors import LeadoffError
from leadoff.record.settings import SETTINGS
from leadoff.words import setting_value


def jumper(walk: Walk) -> Jumper | None:
    """A jumper with its positions and what they set."""
    name = walk.text("id")
    positions = walk.texts("positions") or ()
    members = walk.texts("members") or ()
    sets = _sets(walk, positions, "position")
    at = walk.raw("at_mm")
    place = None
    if at is not None:
        if isinstance(at, list) and len(at) == 2 and all(isinstance(v, int | float) for v in at):
            place = (float(at[0]), float(at[1]))
        else:
            walk.wrong("at_mm", f"is {at!r}", "write [x, y] in millimetres from the board's top left corner")
    leave = bool(walk.flag("leave"))
    note = walk.text("note") or ""
    walk.done()
    if not name:
        walk.wrong("id", "is missing", "write the name printed beside the jumper")
        return None
    if not positions and not leave:
        walk.wrong(
            "positions", "is missing", 'list the positions, such as ["1-2", "2-3"] or ["open", "closed"]'
        )
        return None
    if members:
        for position in positions:
            if len(position.split()) != len(members):
                walk.wrong(
                    "positions",
                    f'"{position}" has {len(position.split())} words for {len(members)} members',
                    "write one position for each member, in the order of members",
                )
    jumper_id = _jumper_id(name)
    places, sets = _by_value(walk, jumper_id, positions, sets)
    return Jumper(
        id=jumper_id,
        positions=places,
        sets=sets,
        members=tuple(_jumper_id(m) for m in members),
        leave=leave,
        at_mm=place,
        note=note,
    )


def option(walk: Walk) -> Option | None:
    """An entry of the set-up with its choices and what they set."""
    name = walk.text("id")
    choices = next((c for k in ("choices", "values", "positions") if (c := walk.texts(k)) is not None), ())
    sets = _sets(walk, choices, "choice")
    label, menu, note = (walk.text(k) or "" for k in ("label", "menu", "note"))
    walk.done()
    if not name:
        walk.wrong("id", "is missing", "give the set-up entry a short name")
        return None
    option_id = _jumper_id(name)
    if not label and " " in name.strip():
        label = name.strip()  # an id holds no blanks; people read the words of the set-up page
    places, sets = _by_value(walk, option_id, choices, sets)
    return Option(id=option_id, choices=places, sets=sets, label=label, menu=menu, note=note)


def positions_now(top: Walk, jumpers: tuple[Jumper, ...], options: tuple[Option, ...]) -> dict[str, str]:
    """How jumpers, entries and settings stand, by name; what is not known is "?"."""
    walk = top.sub("now")
    if walk is None:
        return {}
    places = {j.id: j.positions for j in jumpers} | {o.id: o.choices for o in options}
    out: dict[str, str] = {}
    for typed in walk.table:
        text = walk.as_typed(typed)
        if isinstance(walk.table[typed], bool):
            text = "on" if walk.table[typed] else "off"
            walk.problems.pop()
        if text is None:
            continue
        name = _jumper_id(typed)
        if text in (*UNKNOWN, "default", ""):
            out[name if name in places else setting_name(typed) or name] = "?"
        elif places.get(name):
            as_value = _quiet(name, text)
            if text.lower() in places[name]:
                out[name] = text.lower()
            elif as_value in places[name]:
                out[name] = as_value
            else:
                walk.wrong(typed, f'is "{text}"', f"positions on the sheet: {listed(places[name])}")
        elif (known := setting_name(typed)) is not None or typed.startswith(("ram.", "card.")):
            value = _canonical(walk, known or typed, text, at=typed)
            if value is not None:
                out[known or typed] = value
        else:
            near = near_setting(typed)
            hint = f'did you mean "{near}"? Otherwise ' if near is not None else ""
            walk.wrong(
                typed,
                "is neither a jumper or set-up entry of this file nor a setting",
                f"{hint}add the jumper to the file, or see the list of settings in docs/words.md",
            )
    return out


def _jumper_id(name: str) -> str:
    return name.strip().lower().replace(" ", "")


def _by_value(walk: Walk, name: str, positions: tuple[str, ...], sets: Sets) -> tuple[tuple[str, ...], Sets]:
    """Positions in lower case, or as values where the name is a setting's."""
    places = tuple(p.lower() for p in positions)
    named = name in SETTINGS and not sets
    own = {p: v for p in places if (v := _canonical(walk, name, p)) is not None} if named else {}
    return as_values(walk, name, places, sets, own)


def _sets(walk: Walk, positions: tuple[str, ...], word: str) -> Sets:
    table = walk.sub("sets")
    if table is None:
        return {}
    allowed = {p.lower() for p in positions}
    out: dict[str, dict[str, str]] = {}
    for typed, pairs in table.table.items():
        known = setting_name(typed) or pin_setting(typed)
        name = known or typed.lower()
        if known is None and (near := near_setting(typed)) is not None:
            table.wrong(typed, "is not a setting", f'did you mean "{near}"? docs/words.md lists the settings')
            continue
        if not isinstance(pairs, Mapping):
            table.wrong(typed, f"is {pairs!r}", f"write a table from {word} to value")
            continue
        values: dict[str, str] = {}
        for position, value in pairs.items():
            if position.lower() not in allowed:
                table.wrong(
                    f"{typed}.{position}",
                    f'"{position}" is not one of its {word}s ({listed(allowed)})',
                    f"add it to the {word}s or correct it",
                )
                continue
            text = pin_level(str(value)) if name.startswith("pin.") else str(value)
            canonical = _canonical(table, name, text, at=f"{typed}.{position}")
            if canonical is not None:
                values[position.lower()] = canonical
        out[name] = values
    return out


def _canonical(walk: Walk, name: str, text: str, at: str = "") -> str | None:
    try:
        return setting_value(name, text)
    except LeadoffError as error:
        walk.wrong(at or name, error.problems[0].text, error.problems[0].do)
        return None


def _quiet(name: str, text: str) -> str:
    """The value a text has as a setting, the text itself where it has none."""
    try:
        return setting_value(name, text) or text if name in SETTINGS else text
    except LeadoffError:
        return text
