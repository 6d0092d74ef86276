"""The front picture: a mark slides on the line between the two shoes; each side's load above its shoe; what is asked as a bracket."""

from __future__ import annotations

from collections.abc import Iterator

from balance.findings_words import kg
from balance.protocols.asked import Asked, target_share_pct
from balance.reading import Snapshot
from balance.rig import SIDES, Side
from balance.window.drawing import Box, Fill, Points, Shape, Stroke, Words, wide_of
from balance.window.look import Look
from balance.window.painted import Painted
from balance.window.steady import Steady
from balance.words import say

TICKS = (0.0, 25.0, 50.0, 75.0, 100.0)
CENTRE = {"left": 0.18, "right": 0.82}  # of the width, where each shoe stands; as the person faces the screen


class Front(Painted):
    """``draw`` draws what is known now."""

    def __init__(self, braced: set[str], look: Look) -> None:
        super().__init__(say("window.front"), look)
        self._braced, self._steady = braced, Steady()

    def draw(self, snapshot: Snapshot | None, asked: Asked | None = None) -> None:
        """asked: what the last cue asks for."""
        look, w, h = self.look, float(self.width()), float(self.height())
        colours, y = look.palette, 0.58 * h
        shapes: list[Shape] = []
        if asked is not None and asked.side is not None:
            task = Box(look.px(10), look.px(6), w - look.px(20), look.glance * 1.3)
            words = say("window.asked-shift", side=asked.side, target=asked.target_pct)
            shapes.append(
                Words(words, task, look.glance, colours.ink, bold=True, align="centre", name="asked")
            )
        shapes.append(Stroke(((CENTRE["left"] * w, y), (CENTRE["right"] * w, y)), colours.ink, 3))
        for right_pct in TICKS:
            x = self._x(right_pct)
            shapes.append(Stroke(((x, y - look.px(12)), (x, y + look.px(12))), colours.ink, 2))
        for side in SIDES:
            shapes += self._shoe(side, y, snapshot)
        share = target_share_pct(asked, snapshot)
        if asked is not None and share is not None:
            edge = self._x(float(self._steady("target", share)))
            shapes += bracket(look, edge, self._x(0.0 if asked.side == "left" else 100.0), y, look.px(58))
        if asked is None:  # what is asked is told in shares of the weight, not in these
            shapes += self._scale(y)
        if snapshot is not None and snapshot.right_pct is not None:
            shapes.append(mark(look, self._x(snapshot.right_pct), y, look.px(34)))
        self.show_picture(tuple(shapes))

    def _scale(self, y: float) -> Iterator[Shape]:
        """The nearer foot's share of the load on both, at each tick."""
        look, high = self.look, self.look.small * 1.3
        top, half = y + look.px(35), look.px(60)
        for right_pct in TICKS:
            at = Box(self._x(right_pct) - half, top, 2 * half, high)
            words = say("window.pct", pct=max(right_pct, 100 - right_pct))
            yield Words(
                words, at, look.small, look.palette.quiet, align="centre", name=f"share {right_pct:.0f}"
            )
        between = Box(self._x(25.0), top + high, self._x(75.0) - self._x(25.0), high)
        yield Words(
            say("window.share-of"), between, look.small, look.palette.quiet, align="centre", name="share of"
        )

    def _x(self, right_pct: float) -> float:
        left, right = CENTRE["left"], CENTRE["right"]
        return self.width() * (left + right_pct / 100 * (right - left))

    def _shoe(self, side: Side, y: float, snapshot: Snapshot | None) -> list[Shape]:
        look, colours = self.look, self.look.palette
        w = float(self.width())
        x, half = CENTRE[side] * w, 0.165 * w
        words = say("window.shoe-braced" if side in self._braced else "window.shoe", side=side)
        tag = (colours.ink, colours.paper) if side in self._braced else (None, colours.ink)
        wide = min(2 * half, wide_of(words, look.middle, True) + look.px(28))
        name = Box(x - wide / 2, y + look.px(176), wide, look.middle * 1.4)
        shapes: list[Shape] = [
            Fill(shoe_from_front(x, y + look.px(164), look.px(80)), colours.sole, colours.ink, max(2.0, look.px(3.5))),
            Words(words, name, look.middle, tag[1], bold=True, align="centre", name=f"shoe {side}", tag=tag[0]),
        ]  # fmt: skip
        load = snapshot.load_n.get(side) if snapshot else None
        if snapshot is None or load is None:
            return shapes
        big = Box(
            x - half, y - look.px(70) - look.glance * 2.4 - look.small * 0.4, 2 * half, look.glance * 1.3
        )
        beside = Box(x - half, big.bottom, 2 * half, look.glance * 1.1)
        text = say("window.kg", kg=self._steady(side, kg(load)))
        shapes.append(Words(text, big, look.glance, colours.ink, bold=True, align="centre", name=f"leg {side}"))  # fmt: skip
        if snapshot.body_weight_n:
            pct = self._steady(f"{side} %", 100 * load / snapshot.body_weight_n)
            shapes.append(Words(say("window.pct-of-weight", pct=pct), beside, look.middle, colours.quiet, align="centre", at="top", name=f"leg % {side}"))  # fmt: skip
        return shapes


def shoe_from_front(x: float, bottom: float, half: float) -> Points:
    """A shoe seen from its toe."""
    top = bottom - 1.1 * half
    return (
        (x - half, bottom), (x + half, bottom), (x + half, bottom - 0.35 * half), (x + 0.72 * half, top), (x - 0.72 * half, top), (x - half, bottom - 0.35 * half),
    )  # fmt: skip


def mark(look: Look, x: float, y: float, r: float) -> Shape:
    """The mark that slides."""
    return Fill(((x, y - r), (x + 0.8 * r, y), (x, y + r), (x - 0.8 * r, y)), look.palette.line, look.palette.ink, 2)  # fmt: skip


def bracket(look: Look, edge: float, end: float, y: float, r: float) -> list[Shape]:
    """What is asked for: from its edge to its end, a pale field between brackets."""
    colours, lip = look.palette, look.px(16) * (1 if end > edge else -1)
    field = ((edge, y - r), (end, y - r), (end, y + r), (edge, y + r))
    near = ((edge + lip, y - r), (edge, y - r), (edge, y + r), (edge + lip, y + r))
    return [Fill(field, colours.band, opacity=0.8), Stroke(near, colours.band_edge, max(2.0, look.px(5)))]
