"""Pictures as SVG text: a frame with a scale, and marks in it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from html import escape

from balance.words import number

INK, QUIET, RULE, UP, DOWN, BAND = "#1d222b", "#5d6470", "#cdc7b8", "#0d4a85", "#a3541a", "#f0dfb6"


def ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Round values from low to high."""
    span = high - low
    if span <= 0:
        return [low]
    step = 10 ** math.floor(math.log10(span / about))
    step *= next(m for m in (1, 2, 5, 10) if span / (step * m) <= about)
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


@dataclass
class Chart:
    """x and y ranges on a frame of pixels; marks are added, ``svg`` is the text."""

    title: str
    x_name: str
    y_name: str
    x: tuple[float, float]
    y: tuple[float, float]
    width: int = 640
    height: int = 300
    parts: list[str] = field(default_factory=list)

    LEFT, RIGHT, TOP, BOTTOM = 74, 16, 14, 46

    def px(self, x: float) -> float:
        return self.LEFT + (x - self.x[0]) / (self.x[1] - self.x[0]) * (self.width - self.LEFT - self.RIGHT)

    def py(self, y: float) -> float:
        return self.height - self.BOTTOM - (y - self.y[0]) / (self.y[1] - self.y[0]) * (self.height - self.TOP - self.BOTTOM)  # fmt: skip

    def band(self, low: float, high: float) -> None:
        """A tinted stripe over the whole width."""
        top, bottom = self.py(min(high, self.y[1])), self.py(max(low, self.y[0]))
        self.parts.append(
            f'<rect x="{self.LEFT}" y="{top:.1f}" width="{self.width - self.LEFT - self.RIGHT}" height="{max(bottom - top, 0):.1f}" fill="{BAND}"/>'
        )

    def line(self, points: list[tuple[float, float]], colour: str = INK, width: float = 1.5) -> None:  # fmt: skip
        path = " ".join(f"{self.px(x):.1f},{self.py(y):.1f}" for x, y in points)
        self.parts.append(f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="{width}"/>')  # fmt: skip

    def triangle(self, x: float, y: float, colour: str, down: bool = False) -> None:
        """A mark that points up or down, so that colour does not carry the meaning alone."""
        cx, cy, s = self.px(x), self.py(y), -5.5 if down else 5.5
        self.parts.append(
            f'<polygon points="{cx:.1f},{cy - s:.1f} {cx + 5:.1f},{cy + s:.1f} {cx - 5:.1f},{cy + s:.1f}" fill="{"none" if down else colour}" stroke="{colour}" stroke-width="1.5"/>'
        )

    def disc(self, x: float, y: float, colour: str, radius: float = 4) -> None:
        self.parts.append(f'<circle cx="{self.px(x):.1f}" cy="{self.py(y):.1f}" r="{radius}" fill="{colour}"/>')  # fmt: skip

    def arrow(self, start: tuple[float, float], end: tuple[float, float], colour: str) -> None:
        x0, y0, x1, y1 = self.px(start[0]), self.py(start[1]), self.px(end[0]), self.py(end[1])
        angle = math.atan2(y1 - y0, x1 - x0)
        head = " ".join(
            f"{x1 - 9 * math.cos(angle + turn):.1f},{y1 - 9 * math.sin(angle + turn):.1f}" for turn in (0.45, -0.45)
        )  # fmt: skip
        self.parts.append(f'<line x1="{x0:.1f}" y1="{y0:.1f}" x2="{x1:.1f}" y2="{y1:.1f}" stroke="{colour}" stroke-width="2"/>')  # fmt: skip
        self.parts.append(f'<polygon points="{x1:.1f},{y1:.1f} {head}" fill="{colour}"/>')

    def words(
        self, x: float, y: float, text: str, colour: str = INK, anchor: str = "start", size: int = 13
    ) -> None:
        self.parts.append(f'<text x="{self.px(x):.1f}" y="{self.py(y):.1f}" fill="{colour}" font-size="{size}" text-anchor="{anchor}">{escape(text)}</text>')  # fmt: skip

    def svg(self) -> str:
        """The whole picture; its title is what a screen reader says."""
        frame = []
        for tick in ticks(*self.x):
            at = self.px(tick)
            frame.append(f'<line x1="{at:.1f}" y1="{self.height - self.BOTTOM}" x2="{at:.1f}" y2="{self.height - self.BOTTOM + 5}" stroke="{QUIET}"/>')  # fmt: skip
            frame.append(f'<text x="{at:.1f}" y="{self.height - self.BOTTOM + 19}" text-anchor="middle">{number(tick, "g")}</text>')  # fmt: skip
        for tick in ticks(*self.y):
            at = self.py(tick)
            frame.append(f'<line x1="{self.LEFT}" y1="{at:.1f}" x2="{self.width - self.RIGHT}" y2="{at:.1f}" stroke="{RULE}"/>')  # fmt: skip
            frame.append(
                f'<text x="{self.LEFT - 8}" y="{at + 4:.1f}" text-anchor="end">{number(tick, "g")}</text>'
            )
        middle = (self.LEFT + self.width - self.RIGHT) / 2
        names = (
            f'<text x="{middle}" y="{self.height - 8}" text-anchor="middle">{escape(self.x_name)}</text>'
            f'<text transform="translate(16 {(self.TOP + self.height - self.BOTTOM) / 2}) rotate(-90)" text-anchor="middle">{escape(self.y_name)}</text>'
        )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {self.width} {self.height}" width="{self.width}" height="{self.height}" '
            f'font-family="DejaVu Sans, sans-serif" font-size="12"><title>{escape(self.title)}</title>'
            f'<rect width="{self.width}" height="{self.height}" fill="#fff"/>'
            + "".join(part for part in self.parts if part.startswith("<rect"))
            + f'<g fill="{QUIET}">{"".join(frame)}{names}</g>'
            + "".join(part for part in self.parts if not part.startswith("<rect"))
            + "</svg>"
        )
