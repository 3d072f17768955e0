"""The needs language."""

from __future__ import annotations

import msgspec
import pytest
from makers import FRAMES, setup, sheet

from leadoff.forecast.needs import not_known, undefined_because
from leadoff.machine.partfacts import Processor
from leadoff.record.runs import Workload


def needing(*needs: str) -> Workload:
    return msgspec.structs.replace(FRAMES, needs=needs)


STATE = setup(
    {"bus_mhz": "40", "ratio": "2", "ram_mb": "8", "video_bus": "vlb", "l2": "off"}, sheet(buses=("vlb",))
)


@pytest.mark.parametrize(
    ("need", "unmet"),
    [
        ("ram_mb>=8", False),
        ("ram_mb>=16", True),
        ("ram_mb<=8", False),
        ("video_bus=vlb", False),
        ("video_bus=pci|vlb", False),
        ("video_bus!=vlb", True),
        ("video_bus=pci", True),
        ("l2", True),
        ("core_mhz>=80", False),
        ("core_mhz>=81", True),
        ("class=486vlb", False),
        ("cas=2", False),  # not known is not unmet
    ],
)
def test_needs(need: str, unmet: bool) -> None:
    assert bool(undefined_because(needing(need), STATE)) is unmet


def test_what_is_not_known_is_named() -> None:
    assert not_known(needing("cas=2", "ram_mb>=8"), STATE) == ("cas=2",)


def test_the_processor_has_its_own_coprocessor() -> None:
    with_unit = Processor(id="486dx", fpu=True)
    without = Processor(id="386dx", fpu=False)
    assert undefined_because(needing("fpu"), setup({"fpu": "none"}, None, with_unit)) == ""
    assert undefined_because(needing("fpu"), setup({}, None, without)) != ""
    assert undefined_because(needing("fpu"), setup({"fpu": "387"}, None, without)) == ""
    assert undefined_because(needing("fpu"), setup({}, None, None)) == ""
