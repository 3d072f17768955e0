"""The pages by name, the ways between them, and what a message says there in place of a quoted command."""

from __future__ import annotations

import re

OF_BOARD = {
    "": "bench",
    "socket": "over the socket",
    "forecast": "forecast",
    "sick": "ailing",
    "sweep": "sweep",
    "read": "files",
    "why": "why",
    "story": "story",
    "shelf": "on the shelf",
    "publish": "in public",
}
"""Pages of one board: the end of the address to the name."""

OF_BOOK = {
    "": "shelf",
    "standings": "standings",
    "claim": "may I say",
    "proof": "proof",
    "worth": "an offer",
    "substitute": "what fits",
    "electric": "volts, heat",
    "repeat": "repeat",
    "book": "book",
}
"""Pages of the whole book."""

FIELDS = {
    "--from": "seller's country",
    "--to": "your country",
    "--duty": "duty, if known",
    "--tax": "import tax, if known",
    "--rate": "what others cost in it",
    "--working": "worth when it works",
    "--class": "kind of board, with the words",
    "--p-fix": "chance to fix",
    "--difference": "difference, %",
}
"""Options of a command that are fields of its page."""

BUTTONS = {"--yes": 'the button "keep"', "--as": 'the line beside "load"', "--board": "a board's page"}

_TYPED = ("log", "move", "sick")
_COMMAND = re.compile(r"`leadoff ([a-z]+)(?: ([^`]*))?`")
_OPTION = re.compile(rf'({"|".join([*FIELDS, *BUTTONS])})(?![\w-])(?: ("[^"]*"|[\d.]+))?')


def here(text: str) -> str:
    """A message with its commands and options as what is done on the pages; a command without a page stays."""
    return _OPTION.sub(_field, _COMMAND.sub(_act, text))


def _act(found: re.Match[str]) -> str:
    verb, said = found[1], found[2] or ""
    if verb == "undo":
        return 'press "undo"'
    if verb == "why":
        return f'the page "why" of {said.replace(" ", " and ")}'
    if verb in _TYPED or verb == "state":
        board, _, words = said.partition(" ")
        bench = "the bench" if board.isupper() or not board else f"the bench of {board}"
        return f'type "{words.strip(chr(34))}" on {bench}' if words else bench
    end = {"card": "socket"}.get(verb, verb)
    name = OF_BOARD.get(end) or OF_BOOK.get(end)
    if name is None or said.startswith(("merge", "export")):
        return f"at the command line: {found[0]}"
    words = said.partition(" ")[2] if end in OF_BOARD else said
    place = f'the page "{name}"'
    if end == "book":
        return f'"{said}" on {place}'
    return f"type {words} on {place}" if words else place


def _field(found: re.Match[str]) -> str:
    if found[1] in BUTTONS:
        return BUTTONS[found[1]]
    field = f'the field "{FIELDS[found[1]]}"'
    return f"{found[2]} in {field}" if found[2] else field
