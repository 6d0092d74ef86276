"""Colours and sizes. Chosen to stay apart for colour-blind eyes; shape and words carry the meaning, colour helps."""

from __future__ import annotations

PAPER, INK, QUIET, RULE = "#faf8f3", "#1d222b", "#5d6470", "#cdc7b8"
LINE = "#0d4a85"  # the body line
BAND_FILL, BAND_EDGE = "#f0dfb6", "#7c5f22"
HANDS = "#6a3b76"  # crutches and what the hands carry
LEFT, RIGHT = "#0d4a85", "#a3541a"
SOLE = "#ffffff"

# What must be read from two metres is at least 10 mm high: 1/200 of the distance, tool default. On a 24-inch screen of
# 1080 lines a millimetre is 3.6 pixels, so 10 mm of letter height want about 48 px of font size.
LARGE_PX, MIDDLE_PX, SMALL_PX = 46, 26, 17
DESIGN_HEIGHT_PX = 1080
