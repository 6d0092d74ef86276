"""The column of facts: findings in words, loads, what is held elsewhere, moments; large enough from two metres."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from balance.findings_words import band_words, expanded, held_elsewhere_words, kg, side_of_feet, stands_words
from balance.reading import LinePlace, Snapshot
from balance.rig import SIDES, Side
from balance.stance import Stance
from balance.window import palette as p
from balance.window.steady import Steady
from balance.words import say


def label(pixels: int, colour: str = p.INK, bold: bool = False) -> QLabel:
    """A text of the window's own look."""
    item = QLabel()
    weight = "bold" if bold else "normal"
    item.setStyleSheet(f"color: {colour}; font-size: {pixels}px; font-weight: {weight};")
    item.setWordWrap(True)
    return item


class Facts(QWidget):
    """Labels are made once; texts change only where they differ."""

    def __init__(self, stance: Stance, scale: float) -> None:
        super().__init__()
        self._stance, self._steady = stance, Steady()
        self._labels: dict[str, QLabel] = {}
        box = QVBoxLayout(self)
        box.setSpacing(round(3 * scale))
        large, middle, small = (max(12, round(x * scale)) for x in (p.LARGE_PX, p.MIDDLE_PX, p.SMALL_PX))
        for side in SIDES:
            self._add(box, f"line {side} name", small, p.QUIET)
            self._add(box, f"line {side}", large, p.INK, bold=True)
            self._add(box, f"line {side} mm", small, p.QUIET)
        box.addSpacing(round(8 * scale))
        for side in SIDES:
            self._add(box, f"leg {side} name", small, p.QUIET)
            self._add(box, f"leg {side}", large, p.INK, bold=True)
        self._add(box, "crutches name", small, p.QUIET)
        self._add(box, "crutches", large, p.HANDS, bold=True)
        self._add(box, "stands", middle, p.INK)
        box.addSpacing(round(8 * scale))
        self._add(box, "elsewhere name", small, p.QUIET)
        self._add(box, "elsewhere", middle, p.INK)
        for side in SIDES:
            self._add(box, f"ankle {side}", middle, p.INK)
        box.addStretch(1)

    def _add(self, box: QVBoxLayout, name: str, pixels: int, colour: str, bold: bool = False) -> None:
        self._labels[name] = label(pixels, colour, bold)
        self._labels[name].setAccessibleName(name)
        box.addWidget(self._labels[name])

    def _set(self, name: str, text: str) -> None:
        if self._labels[name].text() != text:
            self._labels[name].setText(text)

    def text_of(self, name: str) -> str:
        """What a fact reads now."""
        return self._labels[name].text()

    def show_snapshot(self, snapshot: Snapshot | None) -> None:
        """The facts of a snapshot; a dash where there is none."""
        for side in SIDES:
            self._line(side, snapshot.lines.get(f"body_on_{side}") if snapshot else None)
            self._leg(side, snapshot)
            self._ankle(side, snapshot)
        self._set("crutches name", say("window.fact-crutches"))
        self._set("elsewhere name", say("window.fact-elsewhere"))
        if snapshot is None:
            for name in ("crutches", "stands", "elsewhere"):
                self._set(name, say("window.none"))
            return
        if snapshot.crutch_pct is None:
            self._set("crutches", say("words.not-measured"))
        else:
            weight = snapshot.body_weight_n
            whole = weight if snapshot.crutch_from == "weight" and weight else snapshot.total_n
            on_kg = self._steady("crutch kg", kg(whole * snapshot.crutch_pct / 100))
            pct = self._steady("crutch %", snapshot.crutch_pct)
            self._set("crutches", f"{say('window.kg', kg=on_kg)}   {say('window.pct', pct=pct)}")
        margin = snapshot.body_margin_mm
        steady_margin = None if margin is None else float(self._steady("margin", margin))
        crutch = None if snapshot.crutch_pct is None else float(self._steady("crutch %", snapshot.crutch_pct))
        self._set(
            "stands",
            stands_words(snapshot.stands_on, steady_margin, None, crutch, side_of_feet(_positions(snapshot))),
        )
        missing = snapshot.unmeasured_n
        held = held_elsewhere_words(
            missing,
            snapshot.unmeasured_n_u,
            snapshot.unmeasured_beyond_limit,
            weight_known=snapshot.body_weight_n is not None,
        )
        self._set("elsewhere", held)

    def _line(self, side: Side, place: LinePlace | None) -> None:
        self._set(f"line {side} name", say("window.fact-line", side=side))
        if place is None:
            self._set(f"line {side}", say("words.not-measured"))
            self._set(f"line {side} mm", "")
            return
        offset = place.offset_mm
        shown = float(self._steady(f"offset {side}", offset))
        words = band_words(
            place.probability_inside, shown if shown else offset, place.uncertainty_mm, place.verdict
        )
        words, _, reason = words.partition(": ")  # the large line says it, the small one why
        self._set(f"line {side}", words)
        mm = self._steady(f"mm {side}", place.mean_mm)
        from_heel = say("window.from-heel", mm=mm, pm=expanded(place.uncertainty_mm))
        self._set(f"line {side} mm", f"{from_heel}; {reason}" if reason else from_heel)

    def _leg(self, side: Side, snapshot: Snapshot | None) -> None:
        known = snapshot is not None and snapshot.body_weight_n is not None
        self._set(
            f"leg {side} name",
            say("window.fact-leg" if known or snapshot is None else "window.fact-leg-unknown", side=side),
        )
        load = snapshot.load_n.get(side) if snapshot else None
        if snapshot is None or load is None:
            self._set(f"leg {side}", say("window.none"))
            return
        text = say("window.kg", kg=self._steady(f"leg {side}", kg(load)))
        if snapshot.body_weight_n is not None:
            pct = self._steady(f"leg % {side}", 100 * load / snapshot.body_weight_n)
            text += f"   {say('window.pct', pct=pct)}"
        self._set(f"leg {side}", text)

    def _ankle(self, side: Side, snapshot: Snapshot | None) -> None:
        moment = snapshot.ankle_nm.get(side) if snapshot else None
        text = f"{say('window.fact-ankle', side=side)}: "
        text += (
            say("window.none")
            if moment is None
            else say("window.nm", nm=self._steady(f"ankle {side}", moment))
        )
        foot = self._stance.foot(side)
        if moment is not None and foot.resisting_moment_nm is not None:
            nm, deg = foot.resisting_moment_nm, foot.resisting_at_shank_deg
            entered = (
                say("window.entered", nm=nm) if deg is None else say("window.entered-at", nm=nm, deg=deg)
            )
            text += f" ({entered})"
        self._set(f"ankle {side}", text)


def _positions(snapshot: Snapshot) -> list[float | None]:
    places = [snapshot.lines.get(f"body_on_{side}") for side in SIDES]
    return [None if place is None else place.position_pct for place in places]
