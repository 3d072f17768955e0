"""Rigs: what is held constant in a set-up, and how one follows another over the years."""

from __future__ import annotations

from dataclasses import dataclass

from leadoff.validation.rows import rows

IMAGES = ("image-1", "image-2")


@dataclass(frozen=True)
class Rig:
    """What is held constant: display card series, disk image, driver set."""

    name: str
    display: str
    image: str
    drivers: str


def rig_list(n: int) -> tuple[Rig, ...]:
    """Rigs in the order of use: display cards in turn, a new disk image at the third, new drivers at the fourth."""
    displays = list(rows().cards)
    return tuple(
        Rig(f"rig-{i + 1}", displays[i % len(displays)], IMAGES[min(1, i // 2)], f"set-{1 + i // 3}")
        for i in range(max(1, n))
    )


def rig_words(rig: Rig) -> dict[str, str]:
    """A rig as a row of the book."""
    return {"display": rig.display, "image": rig.image, "drivers": rig.drivers}
