"""Firmware images and option ROMs: what kind of dump it is, what it holds, what sums to what."""

from leadoff.evidence.firmware.reading import read, sniff

__all__ = ["read", "sniff"]
