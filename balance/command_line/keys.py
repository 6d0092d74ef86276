"""Single keys from a terminal, without waiting; the terminal is always put back as it was."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from typing import Protocol


class Keys(Protocol):
    def __call__(self, timeout_s: float) -> str | None: ...


@contextlib.contextmanager
def single_keys() -> Iterator[Keys]:
    """A function that waits up to ``timeout_s`` for a key; None where none came or there is no terminal."""
    if not sys.stdin.isatty():
        import time

        def none(timeout_s: float) -> str | None:
            time.sleep(timeout_s)
            return None

        yield none
    elif sys.platform == "win32":
        import msvcrt
        import time

        def windows(timeout_s: float) -> str | None:
            if not msvcrt.kbhit():
                time.sleep(timeout_s)
            return msvcrt.getwch() if msvcrt.kbhit() else None

        yield windows
    else:
        import os
        import select
        import termios
        import tty

        fd = sys.stdin.fileno()
        before = termios.tcgetattr(fd)

        def posix(timeout_s: float) -> str | None:
            ready, _, _ = select.select([fd], [], [], timeout_s)
            return os.read(fd, 1).decode("ascii", "replace") if ready else None

        try:
            tty.setcbreak(fd)
            yield posix
        finally:
            termios.tcsetattr(fd, termios.TCSADRAIN, before)
