"""What if: sliders move heel edge, rocker line, band and tips; the lanes beside them follow at once."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QSlider, QVBoxLayout, QWidget

from balance.what_if import REACH_BAND_PCT, REACH_MM, WhatIf
from balance.window.look import Look
from balance.window.pages import label
from balance.words import say

NAMES = ("heel_mm", "rocker_mm", "band_pct", "tip_mm")


class WhatIfPage(QWidget):
    """``moved`` tells what the sliders say."""

    moved = Signal(object)  # a WhatIf

    def __init__(self, look: Look, what: WhatIf) -> None:
        """what: where the sliders begin."""
        super().__init__()
        self.setAccessibleName(say("window.what-if"))
        box = QVBoxLayout(self)
        box.setContentsMargins(round(look.px(34)), 0, round(look.px(14)), 0)
        title = label(look, 24, quiet=True)
        title.setText(say("window.what-if"))
        box.addWidget(title)
        self.sliders: dict[str, QSlider] = {}
        self._values = {name: label(look, 26) for name in NAMES}
        for name in NAMES:
            slider = QSlider(Qt.Orientation.Horizontal)
            reach = REACH_BAND_PCT if name == "band_pct" else REACH_MM
            slider.setRange(-reach, reach)
            slider.setValue(round(getattr(what, name)))
            slider.setAccessibleName(say(f"what-if.{name}"))
            slider.setMinimumHeight(round(look.px(40)))
            slider.valueChanged.connect(self._moved)
            self.sliders[name] = slider
            box.addWidget(self._values[name])
            box.addWidget(slider)
        box.addStretch(1)
        for key in ("what-if.keys", "what-if.caution"):
            words = label(look, 22, quiet=True)
            words.setText(say(key))
            box.addWidget(words)
        self._write()

    @property
    def first(self) -> QSlider:
        """The slider that the keys move first."""
        return self.sliders[NAMES[0]]

    @property
    def what(self) -> WhatIf:
        """What the sliders say now."""
        return WhatIf(**{name: float(slider.value()) for name, slider in self.sliders.items()})

    def _moved(self) -> None:
        self._write()
        self.moved.emit(self.what)

    def _write(self) -> None:
        for name, slider in self.sliders.items():
            unit = "what-if.pct" if name == "band_pct" else "what-if.mm"
            self._values[name].setText(f"{say(f'what-if.{name}')}: {say(unit, value=slider.value())}")
