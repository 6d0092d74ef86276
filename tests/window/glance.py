"""The glance test: `python -m tests.window.glance FOLDER ANSWERS.json [SEED]` makes 40 pictures as somebody sees the window from two metres, and what
they should read in each. Fresh eyes answer five questions of each picture alone; a wrong answer is a fault of the window.

As seen: an eye tells one minute of arc apart (common practice for usual sight), and that is 0.58 mm at two metres.
"""

from __future__ import annotations

import json
import math
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from balance.words import speak
from tests.window.screens import FAULT, Scene, made, state_of

COUNT, DISTANCE_MM = 40, 2000.0
QUESTIONS = (
    "Where does the body line fall on the braced shoe (either, where both are): in the band, likely in, too close to call, likely outside, ahead of the band, behind the band, or not known?",
    "Is the body line over the feet, ahead of the feet so that the crutches hold it, behind them, too close to call, or not known?",
    "How many kg are on the braced leg?",
    "How many kg are on the crutches?",
    "Is the link alive?",
)  # fmt: skip


def seen_px(px_per_mm: float) -> float:
    """Pixels that an eye at that distance can tell apart, of the window's own."""
    return 1 / (px_per_mm * DISTANCE_MM * math.tan(math.radians(1 / 60)))


def scene(number: int, rng: np.random.Generator) -> tuple[Scene, str]:
    """One state, by chance, and which side is braced."""
    crutches = float(rng.choice([0.0, 3.0, 6.0, 12.0, 20.0]))
    line = float(rng.choice([10.0, 35.0, 49.0, 52.0, 58.0, 63.0, 67.0, 80.0, 103.0, 115.0]))
    if line > 100:
        crutches = max(crutches, 15.0)
    changes = (
        ("line_pct", line), ("left_share_pct", float(rng.choice([35.0, 44.0, 50.0, 57.0, 66.0]))), ("mass_kg", float(rng.choice([48.0, 64.0, 91.0]))),
        ("left_crutch_pct", crutches / 2), ("right_crutch_pct", crutches / 2), ("sway_ap_mm", 0.3),
    )  # fmt: skip
    fate = rng.choice(["well", "lost", "cell", "places"], p=[0.76, 0.08, 0.08, 0.08])
    changed: dict[str, dict[str, Any]] = {
        "well": {},
        "lost": {"link": "lost", "state": "waiting"},
        "cell": {"troubles": (FAULT,), "troubled": frozenset({"left"})},
        "places": {"places_confirmed": False},
    }
    dark = bool(rng.random() < 0.3)
    size, px_per_mm = [((1920, 1080), 3.6), ((1280, 720), 4.1)][int(rng.random() < 0.25)]
    side = str(rng.choice(["left", "right"]))
    one = Scene(
        f"{number:02d}", lambda: replace(state_of(changes), **changed[str(fate)]), ("dark",) if dark else (), size=size, px_per_mm=px_per_mm
    )  # fmt: skip
    return one, side


def answers(view: Any, side: str) -> dict[str, str]:
    """What the window says, as it says it."""
    return {
        "braced": side,
        "band": view.parts.lanes.text_of(f"line {side}"),
        "feet": view.parts.facts.text_of("stands"),
        "leg": view.parts.lanes.text_of(f"leg {side}"),
        "crutches": view.parts.facts.text_of("crutches"),
        "link": view.parts.header.text_of("link"),
    }


def main() -> None:
    from PySide6.QtCore import Qt

    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 40
    rng, told = np.random.default_rng(seed), {}
    for number in range(1, COUNT + 1):
        one, side = scene(number, rng)
        view = made(one, {side})
        picture = view.grab()
        wide = round(picture.width() * seen_px(one.px_per_mm))
        small = picture.scaledToWidth(wide, Qt.TransformationMode.SmoothTransformation)
        small.save(str(folder / f"{one.name}.png"))
        told[one.name] = answers(view, side)
        view.close()
        view.deleteLater()
    Path(sys.argv[2]).write_text(json.dumps(told, indent=1, ensure_ascii=False), encoding="utf-8")
    speak("en")


if __name__ == "__main__":
    main()
