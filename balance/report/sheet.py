"""A shoe's outline sheet to print 1:1: taped on the plate, the shoe finds its place again in seconds."""

from __future__ import annotations

import math
from html import escape
from typing import Literal

import numpy as np
import numpy.typing as npt

from balance.load_line import FootFrame
from balance.rig import Rig, Side
from balance.stance import Stance
from balance.support import usable_support_mm
from balance.words import language, say

Array = npt.NDArray[np.float64]
Paper = Literal["a4", "letter"]

SIZES_MM: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN_MM, OVERLAP_MM, AROUND_MM = 12.0, 15.0, 18.0
TOE_MM = 50.0  # the sole goes on ahead of the rocker line; drawn only
INK, QUIET, BAND = "#1d222b", "#5d6470", "#f0dfb6"


def sheet(rig: Rig, stance: Stance, sides: tuple[Side, ...], paper: Paper) -> str:
    """An HTML page whose printed pages are exactly one paper each; AP upward, ML to the right, as on the plate."""
    width, height = SIZES_MM[paper]
    pages = [tile for side in sides for tile in _tiles(rig, stance, side, width, height)]
    style = (
        f"@page {{ size: {width}mm {height}mm; margin: 0; }} html, body {{ margin: 0; }} "
        "svg { display: block; break-after: page; } @media screen { svg { border: 1px solid #cdc7b8; margin: 8px; } }"
    )
    return (
        f'<!doctype html>\n<html lang="{language()}"><head><meta charset="utf-8"><title>{escape(say("sheet.title"))}</title><style>{style}</style></head>\n<body>'
        + "\n".join(pages)
        + "</body></html>\n"
    )


def _tiles(rig: Rig, stance: Stance, side: Side, width: float, height: float) -> list[str]:
    """As many papers as the foot needs, overlapping."""
    frame, foot = FootFrame.of(stance, side), stance.foot(side)
    corners = usable_support_mm(stance, side)
    toe = np.array(frame.along) * TOE_MM
    around = np.vstack([corners, corners[1:3] + toe])
    low, high = around.min(axis=0) - AROUND_MM, around.max(axis=0) + AROUND_MM
    room = (height - 2 * MARGIN_MM - 16.0, width - 2 * MARGIN_MM)  # AP, ML; a line of words at the foot
    counts = [max(1, math.ceil((high[a] - low[a] - OVERLAP_MM) / (room[a] - OVERLAP_MM))) for a in (0, 1)]
    drawing = _drawing(rig, stance, side, corners, toe)
    tiles = []
    for row in range(counts[0]):
        for column in range(counts[1]):
            ap_0 = low[0] + row * (room[0] - OVERLAP_MM)
            ml_0 = low[1] + column * (room[1] - OVERLAP_MM)
            if counts[0] == 1:
                ap_0 = (low[0] + high[0] - room[0]) / 2
            if counts[1] == 1:
                ml_0 = (low[1] + high[1] - room[1]) / 2
            number = row * counts[1] + column + 1
            words = say(
                "sheet.words", side=side, tile=number, of=counts[0] * counts[1], length=foot.usable_length_mm, toe=foot.toe_out_deg
            )  # fmt: skip
            tiles.append(_page(drawing, ap_0, ml_0, room, width, height, words))
    return tiles


def _page(drawing: str, ap_0: float, ml_0: float, room: tuple[float, float], width: float, height: float, words: str) -> str:  # fmt: skip
    """One paper; floor coordinates are turned so that AP goes up the page."""
    shift = f"translate({MARGIN_MM - ml_0:.3f} {MARGIN_MM + room[0] + ap_0:.3f}) scale(1 -1)"
    clip = f'<clipPath id="room"><rect x="{MARGIN_MM}" y="{MARGIN_MM}" width="{room[1]}" height="{room[0]}"/></clipPath>'
    grid = []
    for k in range(math.ceil(ap_0 / 10), math.floor((ap_0 + room[0]) / 10) + 1):
        y = MARGIN_MM + room[0] - (k * 10 - ap_0)
        grid.append(
            f'<line x1="{MARGIN_MM}" x2="{MARGIN_MM + (6 if k % 5 else 10)}" y1="{y:.2f}" y2="{y:.2f}"/>'
        )
        if k % 5 == 0:
            grid.append(f'<text x="{MARGIN_MM + 11}" y="{y + 1:.2f}" stroke="none">{k * 10}</text>')
    for k in range(math.ceil(ml_0 / 10), math.floor((ml_0 + room[1]) / 10) + 1):
        x = MARGIN_MM + k * 10 - ml_0
        low = MARGIN_MM + room[0]
        grid.append(f'<line x1="{x:.2f}" x2="{x:.2f}" y1="{low - (6 if k % 5 else 10)}" y2="{low}"/>')
        if k % 5 == 0 and x > MARGIN_MM + 15:
            grid.append(f'<text x="{x + 0.7:.2f}" y="{low - 7}" stroke="none">{k * 10}</text>')
    foot_y = height - MARGIN_MM - 4
    check = (
        f'<line x1="{MARGIN_MM + 30}" x2="{MARGIN_MM + 130}" y1="{foot_y}" y2="{foot_y}"/>'
        f'<line x1="{MARGIN_MM + 30}" x2="{MARGIN_MM + 30}" y1="{foot_y - 2}" y2="{foot_y + 2}"/>'
        f'<line x1="{MARGIN_MM + 130}" x2="{MARGIN_MM + 130}" y1="{foot_y - 2}" y2="{foot_y + 2}"/>'
        f'<text x="{MARGIN_MM + 80}" y="{foot_y - 1.5}" text-anchor="middle" stroke="none">{escape(say("sheet.check"))}</text>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}" '
        f'font-family="DejaVu Sans, sans-serif" font-size="3.6" fill="{INK}"><title>{escape(words)}</title>{clip}'
        f'<g clip-path="url(#room)"><g transform="{shift}">{drawing}</g></g>'
        f'<rect x="{MARGIN_MM}" y="{MARGIN_MM}" width="{room[1]}" height="{room[0]}" fill="none" stroke="{QUIET}" stroke-width="0.2" stroke-dasharray="2 2"/>'
        f'<g stroke="{QUIET}" stroke-width="0.25">{"".join(grid)}</g><g stroke="{INK}" stroke-width="0.35">{check}</g>'
        f'<text x="{MARGIN_MM}" y="{height - MARGIN_MM + 2}">{escape(words)}</text></svg>'
    )


def _drawing(rig: Rig, stance: Stance, side: Side, corners: Array, toe: Array) -> str:
    """In floor coordinates, x = ML, y = AP."""
    frame, (b0, b1) = FootFrame.of(stance, side), stance.band
    heel_right, toe_right, toe_left, heel_left = corners

    def at(p: Array) -> str:
        return f"{p[1]:.3f},{p[0]:.3f}"

    def across(part: float) -> tuple[Array, Array]:
        return heel_left + part * (toe_left - heel_left), heel_right + part * (toe_right - heel_right)

    band = [*across(b0), *reversed(across(b1))]
    outline = f"M{at(heel_right)} L{at(toe_right)} Q{at(toe_right + toe)} {at((toe_left + toe_right) / 2 + toe)} Q{at(toe_left + toe)} {at(toe_left)} L{at(heel_left)} Z"
    axis = (
        np.array(frame.heel_mm),
        np.array(frame.heel_mm) + np.array(frame.along) * (frame.length_mm + TOE_MM),
    )
    parts = [
        f'<polygon points="{" ".join(at(p) for p in band)}" fill="{BAND}" stroke="none"/>',
        f'<path d="{outline}" fill="none" stroke="{INK}" stroke-width="0.5"/>',
        f'<polyline points="{at(axis[0])} {at(axis[1])}" fill="none" stroke="{QUIET}" stroke-width="0.25" stroke-dasharray="4 2"/>',
    ]
    for start, end, name in ((heel_left, heel_right, "heel"), (toe_left, toe_right, "rocker")):
        reach = (end - start) / np.linalg.norm(end - start) * 8
        parts.append(f'<polyline points="{at(start - reach)} {at(end + reach)}" fill="none" stroke="{INK}" stroke-width="0.9"/>')  # fmt: skip
        parts.append(_text((start + end) / 2, say(f"sheet.{name}")))
    parts.append(_text((band[0] + band[2]) / 2, say("sheet.band")))
    for i in rig.foot_cells(side):
        cell = rig.cells[i]
        x, y = cell.ml_mm or 0.0, cell.ap_mm or 0.0
        parts.append(f'<path d="M{x - 5},{y} H{x + 5} M{x},{y - 5} V{y + 5}" stroke="{QUIET}" stroke-width="0.4"/>')  # fmt: skip
        parts.append(_text(np.array([y + 6, x]), say("sheet.cell", channel=cell.channel)))
    return "".join(parts)


def _text(at: Array, words: str) -> str:
    """Upright words at a floor place (the drawing's y goes up)."""
    return f'<text transform="translate({at[1]:.3f} {at[0] + 1.5:.3f}) scale(1 -1)" text-anchor="middle">{escape(words)}</text>'
