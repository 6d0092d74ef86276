"""What if, as a picture: sliders move heel edge, rocker line, band and tips; the two lanes follow at once."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QSlider, QVBoxLayout, QWidget

from balance.findings_words import band_words, expanded
from balance.reading import Snapshot
from balance.rig import SIDES
from balance.stance import Stance
from balance.what_if import REACH_BAND_PCT, REACH_MM, WhatIf
from balance.window import palette as p
from balance.window.facts import label
from balance.window.lanes import LanesView
from balance.words import say

NAMES = ("heel_mm", "rocker_mm", "band_pct", "tip_mm")


class WhatIfView(QWidget):
    """``asked`` tells what the sliders say; ``show_if`` draws what came of it."""

    asked = Signal(object)  # a WhatIf

    def __init__(self, stance: Stance, braced: set[str], scale: float) -> None:
        super().__init__()
        small, middle = max(11, round(p.SMALL_PX * scale)), round(p.MIDDLE_PX * scale)
        self.lanes = LanesView(stance, braced, scale)
        self.sliders: dict[str, QSlider] = {}
        self._values = {name: label(small, p.INK) for name in NAMES}
        self.words = label(middle, p.INK)
        grid, box = QGridLayout(), QVBoxLayout(self)
        for row, name in enumerate(NAMES):
            slider = QSlider(Qt.Orientation.Horizontal)
            reach = REACH_BAND_PCT if name == "band_pct" else REACH_MM
            slider.setRange(-reach, reach)
            slider.setAccessibleName(say(f"what-if.{name}"))
            slider.valueChanged.connect(self._moved)
            self.sliders[name] = slider
            title = label(small, p.INK)
            title.setText(say(f"what-if.{name}"))
            grid.addWidget(title, row, 0)
            grid.addWidget(slider, row, 1)
            grid.addWidget(self._values[name], row, 2)
        grid.setColumnStretch(1, 1)
        caution = label(small, p.QUIET)
        caution.setText(say("what-if.caution"))
        box.addWidget(self.lanes, 1)
        box.addWidget(self.words)
        box.addLayout(grid)
        box.addWidget(caution)
        self._write()

    @property
    def what(self) -> WhatIf:
        """What the sliders say now."""
        return WhatIf(**{name: float(slider.value()) for name, slider in self.sliders.items()})

    def _moved(self) -> None:
        self._write()
        self.asked.emit(self.what)

    def _write(self) -> None:
        for name, slider in self.sliders.items():
            self._values[name].setText(
                say("what-if.pct" if name == "band_pct" else "what-if.mm", value=slider.value())
            )

    def show_if(self, stance: Stance, snapshot: Snapshot | None) -> None:
        """The lanes of another stance, and where the body line would be told to fall in it."""
        self.lanes.set_stance(stance)
        self.lanes.show_snapshot(snapshot)
        told = []
        for side in SIDES:
            place = snapshot.lines.get(f"body_on_{side}") if snapshot else None
            words = say("words.not-measured")
            if place is not None:
                words = band_words(
                    place.probability_inside, place.offset_mm, place.uncertainty_mm, place.verdict
                )
                words += say("terminal.from-heel", mm=place.mean_mm, pm=expanded(place.uncertainty_mm))
            told.append(say("terminal.body", side=side, words=words))
        self.words.setText("\n".join(told))
