"""What any world can be asked, generated or told: what is seen of its boards, and the truth behind it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from leadoff.record.board import BoardSheet
from leadoff.record.entries import Body
from leadoff.record.runs import Run, Workload
from leadoff.validation.rigs import Rig
from leadoff.validation.sheets import Made
from leadoff.validation.telling import settled
from leadoff.validation.truth import Bench, Truth
from leadoff.validation.words import workload_of

Array = NDArray[np.float64]
LATER_BOOT = 1_000_000  # boots asked for afterwards never meet those of the history


class Answers:
    """Questions to a world. ``settings`` may be partial: the rest is the board's true state at the end.

    Scores are logs of the value in the workload's unit, unrounded; for seconds the lower one is better.
    """

    _bench: Bench
    _made: dict[str, Made]
    _events: list[tuple[str, Body]]
    _rigs: tuple[Rig, ...]

    @property
    def boards(self) -> tuple[BoardSheet, ...]:
        """The boards' sheets."""
        return tuple(m.sheet for m in self._made.values())

    @property
    def workloads(self) -> tuple[Workload, ...]:
        """The workloads as the book would describe them."""
        return tuple(workload_of(w) for w in self._bench.workloads)

    @property
    def rigs(self) -> tuple[Rig, ...]:
        """The rigs in the order they were used."""
        return self._rigs

    def events(self) -> list[tuple[str, Body]]:
        """Effective time and entry body, in order of time (ties in order of telling)."""
        return list(self._events)

    def reach(self, board_id: str) -> dict[str, tuple[str, ...]]:
        """Setting to the values that jumpers, set-up and cans at hand can give it."""
        return dict(self._made[board_id].reach)

    def truth(self, board_id: str, settings: Mapping[str, str], rig: str = "") -> Truth:
        """The truth about one state."""
        return self._bench.truth(board_id, settings, rig)

    def truths(self, board_id: str, states: Sequence[Mapping[str, str]], rig: str = "") -> list[Truth]:
        """The truth about many states of one board at once, several thousand a second."""
        return self._bench.truths(board_id, states, rig)

    def scores(self, board_id: str, states: Sequence[Mapping[str, str]], rig: str = "") -> Array:
        """True log scores, shape (states, workloads), ``nan`` where undefined."""
        return self._bench.log_scores(board_id, states, rig=rig)

    def shares(self, board_id: str, settings: Mapping[str, str]) -> dict[str, dict[str, float]]:
        """True shares of the time by part for every workload."""
        return self._bench.shares(board_id, settings)

    def attempts(self, board_id: str, settings: Mapping[str, str], of: int, boot: int = 0) -> int:
        """How many of ``of`` attempts hold; near a limit some do and some do not."""
        return self._bench.attempts(board_id, settings, of, boot)

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
        """One more attempt, the same for the same arguments: placement is by ``boot``, noise by ``take``."""
        return self._bench.measure(
            board_id,
            settings,
            workload,
            boot=LATER_BOOT + boot,
            take=take,
            repeats=repeats,
            rig=rig or self._rigs[-1].name,
            number=number,
        )

    def reachable(self, board_id: str, limit: int = 100_000) -> Iterator[dict[str, str]]:
        """States within reach of jumpers, set-up and cans, the board's own first, up to ``limit``."""
        reach = self._made[board_id].reach
        base = self.held(board_id)
        order = {n: (base[n], *(v for v in values if v != base[n])) for n, values in reach.items()}
        total = 1
        for values in order.values():
            total *= len(values)
        for k in range(min(limit, total)):
            state, rest = dict(base), k
            for name, values in order.items():
                rest, digit = divmod(rest, len(values))
                state[name] = values[digit]
            yield settled(state)

    def held(self, board_id: str) -> dict[str, str]:
        """The last true state that held."""
        raise NotImplementedError
