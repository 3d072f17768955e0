"""The tour's world: six machines from the closed lending library of an invented town, and some evenings.

Everything is invented: the town of Marl Quay, its library, the machines, the limits of their silicon and
every score. The boards follow the same rules as generated ones; data/tour.toml says who moved what when, and
the rules say what came of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from leadoff.record.runs import Run
from leadoff.validation.script import Script
from leadoff.validation.telling import Logged
from leadoff.validation.truth import Truth


class TourWorld(Script):
    """The invented lot. ``heart`` is the board the tour walks with, ``dead`` the one that never starts."""

    def __init__(self) -> None:
        super().__init__("tour.toml")

    @property
    def log(self) -> tuple[Logged, ...]:
        """Ground truth of every run."""
        return tuple(self._log)

    def unknown(self, board_id: str) -> str:
        """The setting nobody has read on this board, or ""."""
        return self._unknown[board_id]

    def state(self, board_id: str) -> dict[str, str]:
        """The true state at the end."""
        return dict(self._true[board_id])

    def declared(self, board_id: str) -> dict[str, str | None]:
        """What the book says of the state at the end; ``None`` is unknown."""
        return self._said(board_id)

    def held(self, board_id: str) -> dict[str, str]:
        """The last true state that held."""
        return dict(self._held[board_id])

    def truths(self, board_id: str, states: Sequence[Mapping[str, str]], rig: str = "") -> list[Truth]:
        """The truth about states; nothing holds on the dead board, and no score exists there."""
        if board_id != self.dead:
            return super().truths(board_id, states, rig)
        none = {w.name: None for w in self.workloads}
        return [Truth(none, hold=False, chance=0.0, limits={"fault": -9.0}) for _ in states]

    def truth(self, board_id: str, settings: Mapping[str, str], rig: str = "") -> Truth:
        """The truth about one state."""
        return self.truths(board_id, [settings], rig)[0]

    def attempts(self, board_id: str, settings: Mapping[str, str], of: int, boot: int = 0) -> int:
        """How many of ``of`` attempts hold; the dead board's never do."""
        return 0 if board_id == self.dead else super().attempts(board_id, settings, of, boot)

    def measure(
        self,
        board_id: str,
        settings: Mapping[str, str],
        workload: str,
        *,
        boot: int = 0,
        take: int = 0,
        repeats: int = 1,
        rig: str = "",
        number: str = "",
    ) -> Run:
        """One more attempt; same arguments, same run. The dead board never starts."""
        if board_id == self.dead:
            return self._no_start(board_id, number)
        return super().measure(
            board_id, settings, workload, boot=boot, take=take, repeats=repeats, rig=rig, number=number
        )


@lru_cache(maxsize=1)
def tour_world() -> TourWorld:
    """The tour's world, the same on any day."""
    return TourWorld()
