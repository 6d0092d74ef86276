"""All keys on one card, in groups, and a sole with its names: F1."""

from __future__ import annotations

from collections.abc import Iterator

from balance.controls import CARD
from balance.window.drawing import Box, Fill, Shape, Stroke, Words, rectangle
from balance.window.lane import sole
from balance.window.look import Look
from balance.window.painted import Painted
from balance.words import say

COLUMNS = (("trial", "replay"), ("after", "hands"), ("picture",))


class KeyCard(Painted):
    """``show`` draws it for the window's size."""

    def __init__(self, look: Look) -> None:
        super().__init__(say("window.card"), look)

    def show_card(self) -> None:
        self.show_picture(tuple(self._shapes()))

    def _shapes(self) -> Iterator[Shape]:
        look, w, h = self.look, float(self.width()), float(self.height())
        legend = min(0.26 * h, look.px(230))
        most = max(sum(len(CARD[group]) + 1.6 for group in groups) for groups in COLUMNS)
        row = min((h - legend) / most, look.font(24) * 1.55)
        for number, groups in enumerate(COLUMNS):
            box = Box(number * w / 3, 0, w / 3 - look.px(24), row)
            y = 0.0
            for group in groups:
                yield Words(
                    say(f"keys.{group}"), Box(box.x, y, box.w, row), look.font(22), look.palette.quiet
                )
                y += row
                for key in CARD[group]:
                    yield from self._key(key, Box(box.x, y, box.w, row))
                    y += row
                y += row * 0.6
        yield from self._legend(Box(0, h - legend, w, legend))

    def _key(self, key: str, box: Box) -> Iterator[Shape]:
        look, wide = self.look, self.look.font(24) * 6.6
        what, _, words = say(f"key.{key}").partition(" | ")
        yield Words(what, Box(box.x, box.y, wide, box.h), look.font(23), look.palette.ink, bold=True, name=f"key {key}")  # fmt: skip
        yield Words(words, Box(box.x + wide, box.y, box.w - wide, box.h), look.font(23), look.palette.ink, name=f"does {key}")  # fmt: skip

    def _legend(self, box: Box) -> Iterator[Shape]:
        """One sole with the names of what is drawn."""
        look, colours = self.look, self.look.palette
        heel, end = box.x + 0.26 * box.w, box.x + 0.58 * box.w
        y, h = box.y + 0.66 * box.h, 0.34 * box.h
        low, high = heel + (end - heel) / 2, heel + (end - heel) * 2 / 3
        at = low + 0.4 * (high - low)
        yield Stroke(((box.x, box.y), (box.right - look.px(24), box.y)), colours.rule, 2)
        yield Fill(sole(heel, end, y, h), colours.sole, colours.ink, max(2.0, look.px(3)))
        yield Fill(
            rectangle(Box(low, y - 0.74 * h, high - low, 0.72 * h)), colours.band, colours.band_edge, 2
        )
        yield Fill(rectangle(Box(at - look.px(26), y - 1.5 * h, look.px(52), 1.5 * h)), colours.line, opacity=0.14)  # fmt: skip
        yield Stroke(((at, y - 1.5 * h), (at, y)), colours.line, look.px(7))
        for x in (heel, end):
            yield Stroke(((x, y - 1.15 * h), (x, y + look.px(12))), colours.ink, look.px(4))
        a, foot = look.px(11), heel + 0.36 * (end - heel)
        yield Fill(((foot, y + 3), (foot - a, y + 3 + 1.7 * a), (foot + a, y + 3 + 1.7 * a)), colours.ink)
        px, row = look.font(22), look.font(22) * 1.4
        beside = look.px(16)
        for words, around, align in (
            ("legend.heel", Box(box.x, y - 0.9 * h, heel - box.x - beside, row), "right"),
            (
                "legend.rocker",
                Box(end + 1.4 * h, y - 0.9 * h, box.right - end - 1.5 * h, row),
                "left",
            ),
            ("legend.line", Box(at + look.px(34), y - 1.55 * h, box.right - at - look.px(60), row), "left"),
            ("legend.foot", Box(box.x, y + look.px(8), foot - box.x - 1.5 * a, row), "right"),
            ("legend.band", Box(low, y + look.px(8), box.right - low, row), "left"),
        ):
            yield Words(say(words), around, px, colours.ink, align="right" if align == "right" else "left", name=words)  # fmt: skip
