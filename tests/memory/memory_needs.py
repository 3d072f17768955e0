"""What the checks against outside programs need on the machine."""

from __future__ import annotations

import shutil


def tool(name: str) -> str:
    """The path of a program that ``.ci/run`` installs; a check that needs it fails where it is missing."""
    found = shutil.which(name)
    assert found is not None, f"{name} is not on this machine: install it, the check cannot be left out"
    return found
