"""Run a function in a forked child as an ordinary user: rights do not stop root."""

from __future__ import annotations

import json
import os
import traceback
from collections.abc import Callable
from typing import Any

NOBODY = 65534


def as_ordinary_user(act: Callable[[], Any]) -> Any:
    """What ``act`` returned (as JSON), run without any right beyond "others"."""
    reader, writer = os.pipe()
    pid = os.fork()
    if pid == 0:
        status = 1
        try:
            if os.geteuid() == 0:
                os.setgroups([])
                os.setresgid(NOBODY, NOBODY, NOBODY)
                os.setresuid(NOBODY, NOBODY, NOBODY)
            os.write(writer, json.dumps(act()).encode())
            status = 0
        except BaseException:
            os.write(writer, traceback.format_exc().encode())
        finally:
            os._exit(status)
    os.close(writer)
    with os.fdopen(reader, "rb") as pipe:
        said = pipe.read().decode()
    _, status = os.waitpid(pid, 0)
    assert status == 0, said
    return json.loads(said)
