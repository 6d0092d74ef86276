"""The program as its user has it: on an X display with a window manager, by real keys; and with a second screen.

The display is a virtual one (Xvfb, openbox, wmctrl, xdotool, xrandr). Where they are missing these tests skip and say so; in CI they fail.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from balance.words import say

ROOT = Path(__file__).parents[2]
NEEDED = ("Xvfb", "openbox", "wmctrl", "xdotool", "xrandr")
PATIENCE_S = 60.0
TITLE = say("person.name")  # of the person's window


@pytest.fixture(scope="module")
def display() -> Iterator[str]:
    with running_display("1920x1080x24") as name:
        yield name


@pytest.fixture
def two_screens() -> Iterator[str]:
    """One X screen with two monitors beside each other."""
    with running_display("3200x1080x24") as name:
        env = {**os.environ, "DISPLAY": name}
        for monitor in (
            ("one", "1920/508x1080/286+0+0", "screen"),
            ("two", "1280/338x800/212+1920+0", "none"),
        ):
            subprocess.run(["xrandr", "--setmonitor", *monitor], env=env, check=True)
        yield name


@contextmanager
def running_display(size: str) -> Iterator[str]:
    """With a window manager."""
    missing = [name for name in NEEDED if shutil.which(name) is None]
    if missing and os.environ.get("CI") == "true":
        pytest.fail(f"not installed: {', '.join(missing)}")
    if missing:
        pytest.skip(f"not installed: {', '.join(missing)}")
    read, write = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", size, "-nolisten", "tcp", "-noreset"], pass_fds=(write,), stderr=subprocess.DEVNULL
    )  # fmt: skip
    os.close(write)
    with os.fdopen(read) as said:
        name = f":{said.readline().strip()}"
    env = {**os.environ, "DISPLAY": name}
    until(lambda: answers(["xdotool", "getmouselocation"], env))
    manager = subprocess.Popen(["openbox"], env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        yield name
    finally:
        for one in (manager, server):
            one.terminate()
            one.wait()


def until(happens: Callable[[], object]) -> None:
    """Waits for it, at most ``PATIENCE_S``."""
    ends = time.monotonic() + PATIENCE_S
    while not happens():
        assert time.monotonic() < ends, "it did not happen"
        time.sleep(0.05)  # between two looks at another process


def answers(command: list[str], env: dict[str, str]) -> bool:
    return subprocess.run(command, env=env, capture_output=True, check=False).returncode == 0


def on(display: str) -> dict[str, str]:
    """The environment of a program on that display."""
    env = {**os.environ, "DISPLAY": display, "QT_QPA_PLATFORM": "xcb", "PYTHONPATH": str(ROOT)}
    env.pop("WAYLAND_DISPLAY", None)
    return env


@contextmanager
def demo(env: dict[str, str], folder: Path) -> Iterator[subprocess.Popen[str]]:
    """The program with a simulated person; it must have been asked to end, and ends well."""
    script = "from balance.__main__ import main; main()"
    program = subprocess.Popen(
        [sys.executable, "-c", script, "demo", "--seconds", "600", "--out", str(folder / "out")],
        cwd=folder, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        yield program
        _, err = program.communicate(timeout=PATIENCE_S)
    finally:
        program.kill()
        program.communicate()
    assert program.returncode == 0, err
    assert "Traceback" not in err
    assert "Qt" not in err


def windows(env: dict[str, str], title: str) -> list[str]:
    """Those that are shown, by their ids."""
    asked = subprocess.run(["xdotool", "search", "--onlyvisible", "--name", f"^{title}$"], env=env, capture_output=True, text=True, check=False)  # fmt: skip
    return asked.stdout.split()


def test_by_keys_on_a_display(display: str, tmp_path: Path) -> None:
    env = on(display)

    def keys(*names: str) -> None:
        subprocess.run(["xdotool", "key", "--delay", "60", *names], env=env, check=True)

    number = 0

    def picture() -> str:
        nonlocal number
        number += 1
        svg, png = (tmp_path / "out" / f"picture-{number:02d}.{kind}" for kind in ("svg", "png"))
        keys("F2")
        until(lambda: png.exists() and svg.exists() and svg.stat().st_size)
        return svg.read_text(encoding="utf-8")

    with demo(env, tmp_path):
        until(lambda: windows(env, "bandstand"))
        found = windows(env, "bandstand")
        until(lambda: answers(["xdotool", "windowactivate", "--sync", found[0]], env))
        until(lambda: "from the heel edge" in picture())
        # a trial that begins puts the card and other pages away
        until(lambda: "recording quiet standing" in picture())
        keys("f")
        until(lambda: "from the heel edge" not in picture())
        keys("Escape", "d")
        until(lambda: "#14171c" in (now := picture()) and "from the heel edge" in now)  # dark
        keys("F1")
        until(lambda: "today's trials; Enter" in picture())
        keys("F1", "r", "Down", "Return", "Escape", "i", "Tab", "Right", "Escape")
        until(lambda: "from the heel edge" in picture())
        for change in (["-b", "remove,maximized_vert,maximized_horz"], ["-e", "0,40,40,1400,800"]):
            subprocess.run(["wmctrl", "-i", "-r", found[0], *change], env=env, check=True)
        until(lambda: 'viewBox="0 0 1400 800"' in picture())
        keys("q")  # a trial runs: it asks once more
        keys("q")


def test_on_two_screens_the_person_has_the_second_and_keys_stay_with_the_first(
    two_screens: str, tmp_path: Path
) -> None:
    env = on(two_screens)

    def key(name: str) -> None:
        subprocess.run(["xdotool", "key", "--delay", "60", name], env=env, check=True)

    def place() -> dict[str, int]:
        said = subprocess.run(["xdotool", "getwindowgeometry", "--shell", *windows(env, TITLE)[:1]], env=env, capture_output=True, text=True, check=False)  # fmt: skip
        parts = dict(line.split("=") for line in said.stdout.split())
        return {name: int(parts[name]) for name in ("X", "Y", "WIDTH", "HEIGHT") if name in parts}

    with demo(env, tmp_path) as program:
        until(lambda: windows(env, "bandstand"))
        until(lambda: answers(["xdotool", "windowactivate", "--sync", *windows(env, "bandstand")], env))
        key("v")
        until(lambda: place() == {"X": 1920, "Y": 0, "WIDTH": 1280, "HEIGHT": 800})
        key("v")  # the keys are still the first window's
        until(lambda: not windows(env, TITLE))
        key("q")
        if program.poll() is None:  # a trial runs: it asks once more
            key("q")


SECOND = """
import sys
from balance.window.app import Controller, application
from balance.window.look import Look
from balance.session import Session
from tests.window.test_window import FLOOR, PERSON, TOLD
from balance.simulated_person.loads import PersonLoads
from drivers.simulated_board.board import SimulatedBoard
from drivers.simulated_board.source import SimulatedSource

app = application()
source = SimulatedSource(SimulatedBoard(PersonLoads(PERSON, FLOOR.calibration)), 2.0)
controller = Controller(lambda news: Session(source, FLOOR.rig, FLOOR.stance, FLOOR.calibration, on_news=news), lambda _: TOLD[0], [], Look(), False)
controller.view.show()
controller.start()
controller.session.finished.wait(60)
app.processEvents()
controller.view.do("person")
app.processEvents()
own, theirs = controller.view.screen(), controller.person.screen()
print(own.name(), theirs.name(), controller.person.width(), controller.person.height(), controller.person.said() == "")
controller.view.do("person")
print(controller.person is None)
controller.stop()
"""


def test_the_persons_view_opens_on_the_second_screen(tmp_path: Path) -> None:
    screens = {
        "screens": [
            {"name": "ONE", "x": 0, "y": 0, "width": 1920, "height": 1080, "logicalDpi": 96},
            {"name": "TWO", "x": 1920, "y": 0, "width": 1280, "height": 800, "logicalDpi": 96},
        ]
    }
    config = tmp_path / "screens.json"
    config.write_text(json.dumps(screens))
    env = {**os.environ, "QT_QPA_PLATFORM": f"offscreen:configfile={config}", "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", SECOND], env=env, capture_output=True, text=True, timeout=120, check=False)  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == ["ONE", "TWO", "1280", "800", "True", "True"]
