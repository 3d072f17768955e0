"""A state: every setting known, assumed, unknown or disputed, with its source."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

import msgspec

from leadoff.record.quantity import Source


class Status(StrEnum):
    """How far a setting can be relied on."""

    KNOWN = "known"
    ASSUMED = "assumed"
    UNKNOWN = "unknown"
    DISPUTED = "disputed"


class Setting(msgspec.Struct, frozen=True, kw_only=True):
    """One setting of one state.

    ``value`` is canonical text (fractions such as ``100/3``); ``None`` only when unknown. ``said`` keeps
    what was typed or read, ``why`` where it comes from in words, ``against`` the other value of a dispute.
    """

    value: str | None
    status: Status
    source: Source
    said: str = ""
    why: str = ""
    against: str = ""

    def __post_init__(self) -> None:
        if (self.value is None) != (self.status is Status.UNKNOWN):
            raise ValueError(f"value {self.value!r} does not go with status {self.status.value!r}")


UNKNOWN_SETTING = Setting(value=None, status=Status.UNKNOWN, source=Source.UNKNOWN)


class State(msgspec.Struct, frozen=True, kw_only=True):
    """The complete configuration of one board at one moment."""

    board: str
    settings: Mapping[str, Setting]

    def get(self, name: str) -> Setting:
        """The setting, unknown when nothing was ever said of it."""
        return self.settings.get(name, UNKNOWN_SETTING)

    def value(self, name: str) -> str | None:
        """The canonical text of a setting or ``None``."""
        return self.get(name).value

    def unknown_names(self) -> tuple[str, ...]:
        """Names that are part of this state and have no value."""
        return tuple(sorted(n for n, s in self.settings.items() if s.value is None))
