"""The column of facts: does the body line stand over the feet, what the crutches carry, what is held elsewhere, ankle moments."""

from __future__ import annotations

from collections.abc import Iterator

from balance.findings_words import held_elsewhere_words, kg, side_of_feet, stands_parts
from balance.live_state import Reason
from balance.reading import Snapshot
from balance.rig import SIDES, Side
from balance.stance import Stance
from balance.window.drawing import Box, Shape, Stroke, Words, fitted_px, inked
from balance.window.look import Look
from balance.window.painted import Painted
from balance.window.steady import Steady
from balance.words import say

TIPS = ("left_crutch", "right_crutch")


class Facts(Painted):
    """``draw`` draws what is known now."""

    def __init__(self, stance: Stance, look: Look) -> None:
        super().__init__(say("window.facts"), look)
        self._stance, self._steady = stance, Steady()

    def draw(self, snapshot: Snapshot | None, why: Reason | None = None) -> None:
        """The facts of a snapshot; a dash where there is none. why: what the samples would give is left out."""
        self.show_picture(tuple(self._shapes(snapshot, why)))

    def _shapes(self, snapshot: Snapshot | None, why: Reason | None) -> Iterator[Shape]:
        sizes = _Sizes(self.look, float(self.height()))
        column = _Column(self.look, self.width(), sizes.gap)
        yield from self._body(column.part(sizes.body), sizes, snapshot, why)
        yield from self._crutches(column.part(sizes.crutches), sizes, snapshot, why)
        yield from self._elsewhere(column.part(sizes.elsewhere), sizes, snapshot)
        yield from self._ankles(column.part(sizes.ankles), sizes, snapshot)

    def _body(
        self, box: Box, sizes: _Sizes, snapshot: Snapshot | None, why: Reason | None
    ) -> Iterator[Shape]:
        colours = self.look.palette
        head = small = sizes.head
        yield Words(say("window.body-line"), Box(box.x, box.y, box.w, head), sizes.small, colours.quiet)
        if snapshot is None:
            large, detail = say("window.none"), ""
        elif why is not None:
            large, detail = why
        else:
            margin = snapshot.body_margin_mm
            steady = None if margin is None else float(self._steady("margin", margin))
            large, detail = stands_parts(snapshot.stands_on, steady, side_of_feet(_positions(snapshot)))  # fmt: skip
        known = snapshot is not None and why is None
        held = known and snapshot is not None and snapshot.stands_on == "feet and crutches"
        inset = self.look.px(22) if held else 0.0
        middle = Box(box.x + inset, box.y + head, box.w - inset, box.h - head - small)
        words = Words(large, middle, sizes.glance, colours.ink if known else colours.pale, bold=True, at="top", wraps=True, least_px=14, name="stands")  # fmt: skip
        yield words
        under = Box(box.x + inset, min(inked(words).bottom, box.bottom - small), box.w - inset, small)
        if held:
            yield self._bar(box.x, box.y + head, under.bottom)
        yield Words(detail, under, sizes.small, colours.quiet, name="stands detail")

    def _crutches(self, box: Box, sizes: _Sizes, snapshot: Snapshot | None, why: Reason | None) -> Iterator[Shape]:  # fmt: skip
        colours = self.look.palette
        head, big, small = sizes.head, sizes.big, sizes.head
        yield Words(say("window.fact-crutches"), Box(box.x, box.y, box.w, head), sizes.small, colours.quiet)
        pct = None if snapshot is None else snapshot.crutch_pct
        colour, detail = colours.hands, ""
        on_tips = [] if snapshot is None else [snapshot.load_n[key] for key in TIPS if key in snapshot.load_n]
        all_tips = len(on_tips) == {"none": 0, "two": 2}.get(self._stance.crutches, 1)
        if snapshot is None:
            text, colour = say("window.none"), colours.pale
        elif pct is not None:
            weight = snapshot.body_weight_n
            whole = weight if snapshot.crutch_from == "weight" and weight else snapshot.total_n
            on_kg = self._steady("crutch kg", kg(whole * pct / 100))
            text = say("window.kg-pct", kg=on_kg, pct=self._steady("crutch %", pct))
            detail = say("window.hands-from-weight" if snapshot.crutch_from == "weight" else "window.of-all")
        elif on_tips and all_tips:  # what they carry is known, what all carries is not
            text, detail = (
                say("window.kg", kg=self._steady("crutch kg", kg(sum(on_tips)))),
                why.more if why else "",
            )
        else:
            text, colour, detail = say("words.not-measured"), colours.pale, why.more if why else ""
        yield Words(
            text, Box(box.x, box.y + head, box.w, big), sizes.glance, colour, bold=True, name="crutches"
        )
        yield Words(
            detail, Box(box.x, box.bottom - small, box.w, small), sizes.small, colours.quiet, name="hands"
        )

    def _bar(self, x: float, top: float, bottom: float) -> Stroke:
        """Beside what is to be noticed: it is not told by weight of letters alone."""
        at = x + self.look.px(6)
        return Stroke(((at, top), (at, bottom - self.look.px(4))), self.look.palette.ink, self.look.px(7))

    def _elsewhere(self, box: Box, sizes: _Sizes, snapshot: Snapshot | None) -> Iterator[Shape]:
        look, colours = self.look, self.look.palette
        head = sizes.head
        yield Words(say("window.fact-elsewhere"), Box(box.x, box.y, box.w, head), sizes.small, colours.quiet)
        text, beyond = say("window.none"), False
        if snapshot is not None:
            beyond = snapshot.unmeasured_beyond_limit
            text = held_elsewhere_words(snapshot.unmeasured_n, snapshot.unmeasured_n_u, beyond, weight_known=snapshot.body_weight_n is not None)  # fmt: skip
        inset = look.px(22) if beyond else 0.0
        words = Box(box.x + inset, box.y + head, box.w - inset, box.h - head)
        yield Words(
            text, words, sizes.middle, colours.ink, bold=beyond, at="top", wraps=True, name="elsewhere"
        )
        if beyond:
            yield self._bar(box.x, box.y + head, box.bottom)

    def _ankles(self, box: Box, sizes: _Sizes, snapshot: Snapshot | None) -> Iterator[Shape]:
        colours = self.look.palette
        head, row = sizes.head, sizes.row
        yield Words(say("window.fact-ankle"), Box(box.x, box.y, box.w, head), sizes.small, colours.quiet)
        texts = {side: self._ankle(side, snapshot) for side in SIDES}
        px = min(fitted_px(text, box.w, row, sizes.middle, False, False, 10) for text in texts.values())
        for number, side in enumerate(SIDES):  # both as large: what is beyond must not be the smaller one
            line = Box(box.x, box.y + head + number * row, box.w, row)
            yield Words(texts[side], line, px, colours.ink, name=f"ankle {side}")

    def _ankle(self, side: Side, snapshot: Snapshot | None) -> str:
        moment = snapshot.ankle_nm.get(side) if snapshot else None
        if moment is None:
            return say("window.ankle-none", side=side)
        text = say("window.ankle", side=side, nm=self._steady(f"ankle {side}", moment))
        foot = self._stance.foot(side)
        if foot.resisting_moment_nm is None:
            return text
        nm, deg = foot.resisting_moment_nm, foot.resisting_at_shank_deg
        if moment > nm:
            return f"{text} · {say('window.entered-less', nm=nm)}"
        entered = say("window.entered", nm=nm) if deg is None else say("window.entered-at", nm=nm, deg=deg)
        return f"{text} · {entered}"


class _Sizes:
    """Fonts and heights of the column's parts; where the column is too low for them, all of them smaller."""

    def __init__(self, look: Look, h: float) -> None:
        self.small, self.middle, self.glance = look.small, look.middle, look.glance
        self._reckon()
        least = look.px(14)
        needed = self.big + 2 * self.head + self.crutches + self.elsewhere + self.ankles + 3 * least
        if needed > h:
            self.small, self.middle, self.glance = (int(px * h / needed) for px in (look.small, look.middle, look.glance))  # fmt: skip
            self._reckon()
        rest = h - self.crutches - self.elsewhere - self.ankles
        self.body = min(max(self.big + 2 * self.head, rest - 3 * least), 2 * self.head + 3 * self.big)
        self.gap = max(0.0, (rest - self.body) / 3)

    def _reckon(self) -> None:
        self.head, self.big, self.row = self.small * 1.4, self.glance * 1.28, self.middle * 1.45
        self.crutches = 2 * self.head + self.big
        self.elsewhere = self.head + self.middle * 2.7
        self.ankles = self.head + 2 * self.row


class _Column:
    """Parts one under the other."""

    def __init__(self, look: Look, width: float, gap: float) -> None:
        self._look, self._width, self._gap, self._y = look, width, gap, 0.0

    def part(self, height: float) -> Box:
        left = self._look.px(34)
        box = Box(left, self._y, self._width - left - self._look.px(10), height)
        self._y += height + self._gap
        return box


def _positions(snapshot: Snapshot) -> list[float | None]:
    places = [snapshot.lines.get(f"body_on_{side}") for side in SIDES]
    return [None if place is None else place.position_pct for place in places]
