"""Can Qt start here? It aborts where it cannot, so a child process tries first."""

from __future__ import annotations

import contextlib
import ctypes
import os
import subprocess
import sys
from pathlib import Path

from balance.words import say

PACKAGES = (
    "libgl1 libegl1 libxkbcommon0 libxkbcommon-x11-0 libdbus-1-3 libfontconfig1 libglib2.0-0 libx11-xcb1 libxcb-cursor0 "
    "libxcb-icccm4 libxcb-image0 libxcb-keysyms1 libxcb-randr0 libxcb-render-util0 libxcb-shape0 libxcb-sync1 "
    "libxcb-xfixes0 fonts-dejavu-core"
)
TRY = "from PySide6.QtWidgets import QApplication; QApplication([])"
PATIENCE_S = 20


def qt_problem() -> str | None:
    """The sentence that says why there is no window here, None where there is one."""
    offscreen = os.environ.get("QT_QPA_PLATFORM", "") in ("offscreen", "minimal")
    if (
        sys.platform.startswith("linux")
        and not offscreen
        and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
    ):
        return say("window.no-display")
    try:
        with subprocess.Popen(
            [sys.executable, "-c", TRY], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
        ) as tried:
            _load_meanwhile()
            try:
                _, said = tried.communicate(timeout=PATIENCE_S)
            except subprocess.TimeoutExpired:
                tried.kill()
                raise
    except (OSError, subprocess.TimeoutExpired) as error:
        return say("window.no-qt", reason=type(error).__name__, packages=PACKAGES)
    if tried.returncode == 0:
        return None
    lines = said.decode("utf-8", "replace").strip().splitlines()
    reason = _missing_library() or (lines[0] if lines else f"status {tried.returncode}")
    return say("window.no-qt", reason=reason[:200], packages=PACKAGES)


def _load_meanwhile() -> None:
    """What the window will need: to import Qt cannot abort, to start it can."""
    with contextlib.suppress(ImportError):  # then the child says why
        import balance.window.stand_view  # noqa: F401  # only to have it loaded


def _missing_library() -> str | None:
    """What the loader misses for Qt's X11 plugin."""
    try:
        import PySide6

        plugin = Path(str(PySide6.__file__)).parent / "Qt" / "plugins" / "platforms" / "libqxcb.so"
        if plugin.exists():
            ctypes.CDLL(str(plugin))
    except (ImportError, OSError) as error:
        return str(error)
    return None
