"""The session's set-up beside the lanes: each thing, how it is now, and the key that changes it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from balance.set_up import Item
from balance.window.drawing import Box, Disc, Shape, Words
from balance.window.look import Look
from balance.window.painted import Painted
from balance.words import say


class SetUpPage(Painted):
    """``draw`` shows the items; a filled mark: done or known, an open one: not yet."""

    def __init__(self, look: Look) -> None:
        super().__init__(say("window.set-up"), look)

    def draw(self, items: Sequence[Item]) -> None:
        self.show_picture(tuple(self._shapes(items)))

    def _shapes(self, items: Sequence[Item]) -> Iterator[Shape]:
        look, colours = self.look, self.look.palette
        left, w, h = look.px(34), float(self.width()), float(self.height())
        head = look.small * 1.6
        yield Words(say("window.set-up"), Box(left, 0, w - left, head), look.small, colours.quiet)
        row = min((h - head) / max(len(items), 1), look.small * 3.1)
        px = round(min(look.small, row / 2.9))
        for number, item in enumerate(items):
            y, r, inset = head + number * row, px * 0.3, px * 1.5
            yield Disc(left + r, y + row * 0.27, r, colours.ink if item.done else None, colours.ink, 2.5)
            wide = w - left - inset - look.px(10)
            yield Words(item.what, Box(left + inset, y, wide * 0.5, row * 0.46), px, colours.quiet)
            yield Words(
                item.key,
                Box(left + inset + wide * 0.5, y, wide * 0.5, row * 0.46),
                px,
                colours.quiet,
                align="right",
            )
            yield Words(
                item.value,
                Box(left + inset, y + row * 0.44, wide, row * 0.5),
                px,
                colours.ink,
                bold=True,
                name=item.what,
            )
