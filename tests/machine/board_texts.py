"""Invented boards for the tests of the machine."""

from __future__ import annotations

from leadoff.catalogue import Catalogue, load
from leadoff.machine.boardfile import read_board_file
from leadoff.machine.fold import BoardFold, start
from leadoff.machine.partfacts import Processor
from leadoff.machine.processors import base_straps, processor
from leadoff.machine.reach import Reach, Want, reach

LEVER = """
[board]
id = "lever-s5"
class = "socket5"
buses = ["pci", "isa"]
rails = [{ v = 3.3, amps = 5.0 }, { v = 3.52, amps = 5.0 }]
sheet_confirmed = true
ratio_pins_wired = ["BF0"]
dividers = { pci = { 50 = "1/2", 60 = "1/2", 66 = "1/2" }, isa = { 66 = "1/8" } }

[[jumper]]
id = "JP1"
positions = ["1-2", "2-3", "open"]
sets = { bus_mhz = { "1-2" = 50, "2-3" = 60, "open" = "200/3" } }

[[jumper]]
id = "JP2"
positions = ["open", "closed"]
sets = { ratio = { open = "3/2", closed = 2 } }

[[jumper]]
id = "JP5"
positions = ["1-2", "2-3"]
sets = { core_v = { "1-2" = 3.3, "2-3" = 3.52 } }

[fitted]
cpu = "p54c-133-3v3"

[now]
JP1 = "open"
JP2 = "closed"
JP5 = "1-2"
"""

HALF_KNOWN = """
[board]
id = "tin-486"
class = "486-vlb"
buses = ["vlb", "isa"]
rails = [{ v = 5 }, { v = 3.45 }]

[[jumper]]
id = "JP 11"
positions = ["1-2 2-3", "2-3 2-3", "1-2 1-2"]
members = ["JP11A", "JP11B"]
sets = { bus_mhz = { "1-2 2-3" = 33, "2-3 2-3" = 40, "1-2 1-2" = 50 } }

[[jumper]]
id = "JP20"
positions = ["3v", "5v"]
sets = { core_v = { "3v" = 3.45, "5v" = 5 } }

[[jumper]]
id = "CLKMUL"
positions = ["open", "closed"]
sets = { ratio = { open = 3, closed = 2 } }

[[jumper]]
id = "JP99"
positions = ["on", "off"]
leave = true

[[option]]
id = "l2_write_ws"
choices = ["0", "1"]
label = "Cache Write Wait"
menu = "Chipset"

[fitted]
cpu = "486dx4-100-wt-3v3"
"""

CAN_386 = """
[board]
id = "oar-386"
class = "386dx"
buses = ["isa"]

[fitted]
cpu = "NG80386DX-40"

[now]
can = 66.667
"""

_CATALOGUE: list[Catalogue] = []


def catalogue() -> Catalogue:
    """The house's own rows, loaded once."""
    if not _CATALOGUE:
        _CATALOGUE.append(load((), None))
    return _CATALOGUE[0]


def board(text: str) -> BoardFold:
    """A board as its file declares it."""
    return start(read_board_file(text))


def part(name: str | None) -> Processor | None:
    """A processor of the catalogue."""
    return processor(name, catalogue())


def ask(fold: BoardFold, cpu: str | None = None, **wanted: str) -> Reach:
    """Ask a board for settings, with the part that is wanted or fitted."""
    said = fold.said.get("cpu")
    name = cpu or (said.value if said is not None else None)
    wants = [Want(name=n, value=v) for n, v in wanted.items()]
    if cpu is not None:
        wants.append(Want(name="cpu", value=cpu))
    return reach(fold, wants, part=part(name), base=base_straps(fold.sheet, catalogue()))


def codes(way: Reach) -> list[str]:
    """The codes of the causes, sorted."""
    return sorted(c.code for c in way.causes)
