"""Settings, boards, cards and workloads in ordinary speech, by families over the invented book.

The expressions are ours (common speech, no source); each must name what is meant and nothing else.
"""

from __future__ import annotations

from itertools import product

import pytest
from ear import Ear

Tests = list[tuple[tuple[str, str, str], ...]]


def one(name: str, value: str, op: str = "is") -> Tests:
    return [((name, op, value),)]


def misheard(
    ear: Ear, ways: dict[str, Tests], frames: tuple[str, ...] = ("The Birch {}.", "{}, the Elm.")
) -> list[str]:
    """Sentences whose settings are not as they were said."""
    wrong = []
    for (words, tests), frame in product(ways.items(), frames):
        sentence = frame.format(words)
        said = ear.said(sentence)
        found = [w.tests for w in said.wants]
        if found != tests or said.nums:
            wrong.append(f"{sentence} -> {found} {said.nums}")
    assert len(ways) > 1
    return wrong


CLOCKS = (
    ("40", "40"),
    ("forty", "40"),
    ("66", "66"),
    ("sixty-six", "66"),
    ("a hundred", "100"),
    ("112", "112"),
)
RATIOS = (("3", "3"), ("three", "3"), ("3.5", "3.5"), ("three and a half", "3.5"), ("4", "4"), ("five", "5"))


def test_bus_and_ratio(ear: Ear) -> None:
    ways = {
        f"at {bus} times {ratio}": [(("bus_mhz", "is", b), ("ratio", "is", r))]
        for (bus, b), (ratio, r) in product(CLOCKS, RATIOS)
    }
    ways |= {
        f"at {bus}{x}{ratio}": [(("bus_mhz", "is", b), ("ratio", "is", r))]
        for (bus, b), (ratio, r), x in product(CLOCKS[::2], RATIOS[::2], ("x", " x ", " by ", "×"))
        if bus.isdigit()
    }
    ways |= {
        f"at {ratio} times {bus}": [(("bus_mhz", "is", b), ("ratio", "is", r))]
        for (bus, b), (ratio, r) in product(CLOCKS[:3], RATIOS[:2])
    }
    assert misheard(ear, ways) == []


def test_bus(ear: Ear) -> None:
    forms = (
        *(
            "with the bus at {}",
            "bus {}",
            "on a {} bus",
            "with {} on the bus",
            "at {} on the bus",
            "with a {} MHz bus",
        ),
        *(
            "FSB {}",
            "at {} FSB",
            "front-side bus at {}",
            "with a bus clock of {} MHz",
            "with the bus set to {}",
        ),
        *(
            "with the bus clocked at {}",
            "with the bus raised to {}",
            "with the bus up at {}",
            "with the bus running at {}",
        ),
        *("with a bus of {}", "bus speed {}", "with the system bus at {}"),
    )
    ways = {form.format(said): one("bus_mhz", bus) for form, (said, bus) in product(forms, CLOCKS[:4])}
    ways |= {
        "on a 75-MHz bus": one("bus_mhz", "75"),
        "bus=75": one("bus_mhz", "75"),
        "with the bus on 75": one("bus_mhz", "75"),
    }
    assert misheard(ear, ways) == []


def test_ratio(ear: Ear) -> None:
    forms = (
        *("at times {}", "with a multiplier of {}", "multiplier {}", "with the multiplier at {}", "ratio {}"),
        *("with the multiplier set to {}", "with the multiplier on {}", "on the times {} setting"),
    )
    ways = {form.format(said): one("ratio", ratio) for form, (said, ratio) in product(forms, RATIOS[:4])}
    ways |= {
        **{"at x4": one("ratio", "4"), "at 4x": one("ratio", "4"), "on the 4x multiplier": one("ratio", "4")},
        **{"on the four multiplier": one("ratio", "4"), "on the times-four setting": one("ratio", "4")},
        **{
            "with a 4:1 ratio": one("ratio", "4"),
            "clock-doubled": one("ratio", "2"),
            "clock tripled": one("ratio", "3"),
        },
        "from x3 to x4": one("ratio", "3") + one("ratio", "4"),
        "with the multiplier from three to four": one("ratio", "3") + one("ratio", "4"),
        "with the multiplier up from 3 to 3.5": one("ratio", "3") + one("ratio", "3.5"),
        "multiplier three to three and a half": one("ratio", "3") + one("ratio", "3.5"),
    }
    assert misheard(ear, ways, ("The Birch {}.",)) == []


def test_core_clock(ear: Ear) -> None:
    forms = (
        "with a {} MHz core",
        "with the core at {}",
        "core clock {} MHz",
        "with the CPU at {} MHz",
        "processor at {} MHz",
    )
    ways = {form.format(mhz): one("core_mhz", mhz) for form, mhz in product(forms, ("120", "160", "350"))}
    assert misheard(ear, ways, ("The Birch {}.",)) == []


def test_waits(ear: Ear) -> None:
    for kind, name in (("read", "dram_read_ws"), ("write", "dram_write_ws")):
        ways = {
            form.format(kind): one(name, "0")
            for form in (
                *(
                    "with zero {} waits",
                    "without the {} wait",
                    "with no {} waits",
                    "with the {} wait gone",
                    "{} wait zero",
                ),
                *(
                    "with the {} wait at zero",
                    "with the {} wait taken out",
                    "took the {} wait out",
                    "dropped the {} wait",
                ),
                *(
                    "took out the {} wait",
                    "minus the {} wait",
                    "0 {} waits",
                    "zero {} wait",
                    "{} ws 0",
                    "with 0 {} wait states",
                ),
            )
        }
        ways |= {
            form.format(kind): one(name, "1")
            for form in (
                "with one {} wait",
                "with one wait on {}s",
                "{} ws 1",
                "one {} wait state",
                "with a wait on {}s",
            )
        }
        ways |= {
            form.format(kind): one(name, "1") + one(name, "0")
            for form in (
                *("from one {} wait to zero", "from one {} wait to none", "from one to zero {} waits"),
                *("with the {} wait from 1 to 0", "with the {} wait dropped from one to zero"),
            )
        }
        assert misheard(ear, ways, ("The Birch {}.",)) == []
    both = dict.fromkeys(
        ("zero wait states", "0WS", "no waits", "zero waits", "waits at zero", "waits off"),
        one("waits", "0", "waits"),
    )
    both["0/1 waits"] = [(("dram_read_ws", "is", "0"), ("dram_write_ws", "is", "1"))]
    assert misheard(ear, both) == []


def test_caches(ear: Ear) -> None:
    level2 = (
        "L2",
        "L2 cache",
        "second-level cache",
        "level 2 cache",
        "level-2 cache",
        "level two",
        "second cache",
        "secondary cache",
    )
    states = {
        "off": (
            "{} off",
            "without {}",
            "no {}",
            "{} disabled",
            "with its {} out",
            "with the {} switched off",
            "turned the {} off",
        )
    }
    states["on"] = ("{} on", "with {}", "{} enabled", "with the {} on", "turned the {} on")
    for value, forms in states.items():
        ways = {form.format(name): one("l2", value) for form, name in product(forms, level2)}
        assert misheard(ear, ways, ("The Cedar, {}.",)) == []
    back = ("write-back", "write back", "writeback", "WB")
    on = {
        form.format(w): one("l1_policy", "wb")
        for form, w in product(("{} on", "with {}", "turned {} on", "{} enabled", "{} mode"), back)
    }
    off = {
        form.format(w): one("l1_policy", "wt")
        for form, w in product(("{} off", "without {}", "no {}", "turned {} off"), back)
    }
    off |= dict.fromkeys(
        ("write-through", "write through", "in write-through mode", "WT", "L1 in write-through"),
        one("l1_policy", "wt"),
    )
    assert misheard(ear, on | off, ("The Cedar, {}.",)) == []


def test_column_latency(ear: Ear) -> None:
    forms = (
        "CAS {}",
        "CAS latency {}",
        "CAS latency of {}",
        "CL{}",
        "CL {}",
        "CL={}",
        "CAS at {}",
        "CAS set to {}",
        "a CAS of {}",
    )
    ways = {form.format(n): one("cas", n) for form, n in product(forms, ("2", "3"))}
    ways |= {
        "CAS two": one("cas", "2"),
        "cas three": one("cas", "3"),
        "CAS tightened to 2": one("cas", "2"),
        "CAS down to 2": one("cas", "2"),
    }
    assert misheard(ear, ways, ("The Elm with {}.",)) == []
    moves = (
        "CAS from three to two",
        "from CAS 3 to CAS 2",
        "tightened the CAS from 3 to 2",
        "CAS tightened from 3 to 2",
        "CAS 2 instead of 3",
    )
    assert misheard(ear, dict.fromkeys(moves, one("cas", "2") + one("cas", "3")), ("The Elm, {}.",)) == []


def test_memory(ear: Ear) -> None:
    forms = ("eight megs", "8 meg", "8 MB of RAM", "8MB", "8 megabytes of memory", "eight megabytes")
    assert misheard(ear, dict.fromkeys(forms, one("ram_mb", "8")), ("The Birch with {}.",)) == []
    moves = ("from 8 to 16 megs", "from 8 MB to 16 MB of RAM")
    assert (
        misheard(ear, dict.fromkeys(moves, one("ram_mb", "8") + one("ram_mb", "16")), ("The Birch {}.",))
        == []
    )


def test_boards(ear: Ear) -> None:
    ways = {
        "larch": (
            "the 386",
            "the 386DX",
            "the i386",
            "the three-eighty-six",
            "the three eighty six",
            "my 386 board",
        ),
        "alder": (
            "the VLB board",
            "the VLB one",
            "the VLB 486",
            "the VL-bus board",
            "the VESA local bus board",
            "the alder",
        ),
        "birch": (
            "the PCI 486",
            "the PCI board",
            "the PCI one",
            "the PCI machine",
            "the PCI bus board",
            "the Birch board",
        ),
        "cedar": (
            "the Socket 7",
            "socket seven",
            "the socket7",
            "the Socket 7 board",
            "the socket board",
            "the super 7",
        ),
        "elm": ("Slot 1", "slot one", "the slot-1", "the Slot 1 machine", "the slot board", "the Slot One"),
    }
    for board, said in ((b, s) for b, every in ways.items() for s in every):
        found = ear.said(f"In the sort {said} is slow.")
        assert (found.boards, found.nums, found.wants) == ([board], [], []), said
    for said in ("the 486s", "both 486s", "the two 486 boards", "the 486es"):
        found = ear.said(f"In the sort {said} are slow.")
        assert found.groups == [("alder", "birch")], said


def test_cards(ear: Ear) -> None:
    swaps = (
        *(
            "out with the ISA card, in with the PCI card",
            "ISA out, PCI in",
            "ISA card out and PCI card in",
            "ISA out / PCI in",
        ),
        *(
            "swapped the ISA card for the PCI one",
            "from ISA to PCI",
            "from the ISA card to the PCI",
            "replaced the ISA card by the PCI card",
        ),
        *("with the ISA card out and the PCI card in", "with ISA graphics first, then PCI graphics"),
    )
    for words in swaps:
        assert ear.said(f"On the Birch {words}.").rigs == ["isa", "pci"], words
    assert ear.said("PCI card in, ISA card out.").rigs == ["isa", "pci"]
    for words in ("the VLB card", "the VESA card", "the local bus card", "the VL-bus card"):
        assert ear.said(f"With {words} in the Alder.").rigs == ["vlb"], words


def test_workloads(ear: Ear) -> None:
    ways = {
        "corridor": ("the corridor", "corridor", "the corridor test", "the corridors", "the corridor demo"),
        "scroll": ("scroll", "the scroll", "scrolling", "the scroller", "the scroll test"),
        "memory copy": (
            "the memory copy",
            "memcopy",
            "mem copy",
            "copy rate",
            "copying memory",
            "memory copying",
        ),
        "sort": ("the sort", "sorting", "the sort test", "the sorting test"),
        "ray trace": (
            "the ray trace",
            "raytrace",
            "ray-trace",
            "raytracing",
            "ray-tracing",
            "the ray tracer",
            "tracing rays",
        ),
    }
    for work, said in ((w, s) for w, every in ways.items() for s in every):
        assert ear.said(f"The Elm is best in {said}.").workloads == [work], said


def test_marks_are_numbered_as_they_stand(ear: Ear) -> None:
    said = ear.said(
        "The Slot 1 takes 9.5 s and the 386 between 40 and 41, 3 % more, at 66 and CAS 2, in scroll and corridor."
    )
    for kind in "bwns":
        signs = said.signs(kind)
        assert signs == [f"{kind}{i}" for i in range(max(1, len(signs)))]
    assert said.boards == ["elm", "larch"]
    assert said.workloads == ["scroll", "corridor"]


@pytest.mark.parametrize(
    ("loose", "written"),
    [
        ("the birchs corridor is best", "The Birch's corridor is best."),
        ("dont know , its 3% faster", "Don't know, it's 3 % faster."),
        ("the cedar does 8,9 seconds", "The Cedar does 8.9 seconds."),
        ("CEDAR AT 66X3.5 DOES 8.9 IN SORT", "Cedar at 66 x 3.5 does 8.9 in sort"),
    ],
)
def test_sloppy_writing_reads_as_careful_writing(ear: Ear, loose: str, written: str) -> None:
    one_, other = ear.said(loose), ear.said(written)
    assert one_.low.strip(" ,") == other.low.strip(" ,")
    assert (one_.boards, one_.workloads, [w.tests for w in one_.wants]) == (
        other.boards,
        other.workloads,
        [w.tests for w in other.wants],
    )
    assert [(n.kind, n.value, n.unit) for n in one_.nums] == [(n.kind, n.value, n.unit) for n in other.nums]
