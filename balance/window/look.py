"""How large and in which colours: what must be read from two metres by the glass's own size, the rest by the window's."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from balance.window.palette import LIGHT, Palette

# What must be read from two metres is at least 10 mm high: 1/200 of the distance, tool default.
DISTANCE_M, OF_DISTANCE = 2.0, 200
LETTER_MM = 1000 * DISTANCE_M / OF_DISTANCE
DIGIT_OF_EM = 0.73  # height of a digit in DejaVu Sans and most grotesques, of the font's size
LARGEST_OF_HEIGHT = 0.078  # of the window: a larger fact leaves no room for the picture
DESIGN_PX = (1920, 1080)
LEAST_PX = 12
TEXT_STEPS = (1.0, 1.2, 1.4)
USUAL_PX_PER_MM = 96 / 25.4  # where a screen does not say how large it is
PLAUSIBLE_MM = (80.0, 3000.0)  # of a screen's height; projectors and virtual screens say what is not


@dataclass(frozen=True)
class Look:
    """Of one window: its size in pixels, pixels per millimetre of glass, the palette, how much larger the text is wished."""

    width: int = DESIGN_PX[0]
    height: int = DESIGN_PX[1]
    px_per_mm: float = 3.6  # a 24-inch screen of 1080 lines
    palette: Palette = LIGHT
    text: float = 1.0

    @cached_property
    def unit(self) -> float:
        """Pixels of the window for one of the design."""
        return min(self.width / DESIGN_PX[0], self.height / DESIGN_PX[1])

    def px(self, design: float) -> float:
        """A length of the design."""
        return design * self.unit

    def font(self, design: float) -> int:
        """A font's size in pixels for one of the design."""
        return max(LEAST_PX, round(design * self.unit * self.text))

    @cached_property
    def glance(self) -> int:
        """Font size of what is read from two metres: 10 mm digits, as far as the window has room."""
        wanted = math.ceil(LETTER_MM * self.px_per_mm / DIGIT_OF_EM) * self.text
        return max(LEAST_PX, round(min(wanted, LARGEST_OF_HEIGHT * self.height)))

    @property
    def small(self) -> int:
        return self.font(22)

    @property
    def middle(self) -> int:
        return self.font(30)

    @property
    def below(self) -> int:
        """Font size of buttons and cautions: they grow a little only, the picture needs the room."""
        return max(LEAST_PX, round(19 * self.unit * min(self.text, 1.15)))

    @property
    def notices(self) -> int:
        """Lines for what to do and faults."""
        return 2 if self.text < TEXT_STEPS[-1] else 1

    def read_from_m(self, font_px: float) -> float:
        """The distance from which digits of this font are read, by the same rule."""
        return font_px * DIGIT_OF_EM / self.px_per_mm * OF_DISTANCE / 1000


def px_per_mm(screen_px: float, screen_mm: float | None, told_mm: float | None = None) -> float:
    """Of a screen's height: as the person said, else as the screen says where that can be, else as usual."""
    for mm in (told_mm, screen_mm):
        if mm is not None and PLAUSIBLE_MM[0] <= mm <= PLAUSIBLE_MM[1]:
            return screen_px / mm
    return USUAL_PX_PER_MM
