"""Two palettes, light and dark. Chosen to stay apart for colour-blind eyes (a test simulates three kinds); shape and words carry the
meaning, colour only helps."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Palette:
    """paper: behind everything · ink: what is read · quiet: what is beside it · rule: thin lines · line: the body line ·
    hands: crutches and what the hands carry · band, band_edge: the target band · sole · pale: what may not be relied on now."""

    paper: str
    ink: str
    quiet: str
    rule: str
    line: str
    hands: str
    band: str
    band_edge: str
    sole: str
    pale: str


LIGHT = Palette("#faf8f3", "#1d222b", "#575e6a", "#cdc7b8", "#0a4a94", "#8f3b04", "#f2e2b3", "#565d69", "#ffffff", "#6b707a")  # fmt: skip
DARK = Palette("#14171c", "#f3f1ea", "#a7adb8", "#3d434d", "#7fc0ff", "#ff9d57", "#65572a", "#aab2bf", "#2a2f38", "#8e95a1")  # fmt: skip
PALETTES = {"light": LIGHT, "dark": DARK}
