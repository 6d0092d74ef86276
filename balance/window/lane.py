"""One lane: a shoe's sole in profile, its name and finding above, its load behind the heel, the marks on it; and the floor it stands on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from balance.findings_words import band_words, expanded, kg
from balance.live_state import Reason
from balance.load_line import FootFrame
from balance.reading import Snapshot
from balance.rig import Side
from balance.stance import Stance
from balance.window.drawing import (
    Box,
    Disc,
    Fill,
    Picture,
    Points,
    Shape,
    Stroke,
    Words,
    fitted_px,
    rectangle,
    wide_of,
)
from balance.window.look import Look
from balance.window.steady import Steady
from balance.words import say

VIEW_MM = (-200.0, 500.0)  # of the plates' scale
TICK_MM, NUMBER_MM = 20, 100
CURVE = 12  # points of a curve


@dataclass(frozen=True)
class Overlay:
    """An earlier trial on the soles: what it is called, and of each side mm from the heel edge with its ±."""

    label: str
    places: dict[Side, tuple[float, float]]


class Floor:
    """Where millimetres of the plates' scale and the lanes stand."""

    def __init__(self, look: Look, width: float, height: float) -> None:
        self.look, self.width = look, width
        self.scale_h = look.middle * 1.2 + look.small * 1.5 + look.px(30)
        self.lane_h = (height - self.scale_h) / 2
        self.scale_y = height - self.scale_h
        self.left, self.right = look.px(10), width - look.px(20)

    def x(self, ap_mm: float) -> float:
        low, high = VIEW_MM
        return self.left + (ap_mm - low) / (high - low) * (self.right - self.left)

    def scale(self) -> Picture:
        """The plates' scale with its numbers."""
        look, colours = self.look, self.look.palette
        y = self.scale_y + look.middle * 1.2 + look.px(12)
        shapes: list[Shape] = [Stroke(((self.x(VIEW_MM[0]), y), (self.x(VIEW_MM[1]), y)), colours.ink, 2)]
        for mm in range(round(VIEW_MM[0]) // TICK_MM * TICK_MM + TICK_MM, round(VIEW_MM[1]) + 1, TICK_MM):
            long = mm % NUMBER_MM == 0
            shapes.append(Stroke(((self.x(mm), y), (self.x(mm), y + look.px(14 if long else 8))), colours.ink, 2))  # fmt: skip
            if long:
                last = mm + NUMBER_MM > VIEW_MM[1]
                wide = look.small * (6 if last else 3)
                box = Box(self.x(mm) - (wide if last else wide / 2), y + look.px(16), wide, look.small * 1.4)  # fmt: skip
                text = say("window.mm", mm=mm) if last else str(mm)
                shapes.append(Words(text, box, look.small, colours.quiet, align="right" if last else "centre"))  # fmt: skip
        return tuple(shapes)

    def where(self, ap_mm: float, steady: Steady) -> Picture:
        """The marker of the body line and its number; beyond the picture an arrow at its edge."""
        look, colours = self.look, self.look.palette
        y = self.scale_y + look.middle * 1.2 + look.px(12)
        x, a = self.x(min(max(ap_mm, VIEW_MM[0]), VIEW_MM[1])), look.px(12)
        if ap_mm > VIEW_MM[1]:
            points: Points = ((x, y - a), (x - 2 * a, y), (x - 2 * a, y - 2 * a))
        elif ap_mm < VIEW_MM[0]:
            points = ((x, y - a), (x + 2 * a, y), (x + 2 * a, y - 2 * a))
        else:
            points = ((x, y - 3), (x - a, y - 2 * a), (x + a, y - 2 * a))
        text, wide = say("window.mm", mm=steady("scale", ap_mm)), look.middle * 6
        left = x + 2 * a + wide > self.width
        box = Box(x - 2 * a - wide if left else x + 2 * a, y - look.middle * 1.35, wide, look.middle * 1.25)
        return (
            Fill(points, colours.line),
            Words(text, box, look.middle, colours.line, bold=True, align="right" if left else "left", name="scale"),
        )  # fmt: skip


class Lane:
    """One shoe's part of the picture: name and finding above, the sole below them, its load behind the heel."""

    def __init__(self, floor: Floor, number: int, stance: Stance, side: Side) -> None:
        self.floor, self.look, self.side, self.number = floor, floor.look, side, number
        self.foot, self.frame = stance.foot(side), FootFrame.of(stance, side)
        self.top = number * floor.lane_h
        self.name_px = self.look.middle if self.look.notices > 1 else self.look.small
        self.name_h, self.finding_h = self.name_px * 1.35, self.look.glance * 1.3
        bottom = self.top + floor.lane_h - self.look.px(10)
        self.under = self.look.small * 1.2 + self.look.px(10)  # the foot point's mark and name
        self.y = bottom - self.under
        self.zone_top = self.top + self.name_h + self.finding_h + self.look.px(6)
        self.sole_h = min(self.look.px(96), 0.62 * (self.y - self.zone_top))
        beside_heel = self.look.glance * 1.25 + self.look.small * 1.4
        self.is_low = self.y - self.zone_top < beside_heel  # then the load stands in the finding's row
        self.finding_w = (0.63 if self.is_low else 1.0) * floor.right - floor.left
        longest = [
            say("words.ahead", mm=188) + " →",
            say("words.behind", mm=188) + " ←",
            say("words.too-close", pm=18),
        ]
        self.finding_px = min(fitted_px(one, self.finding_w, self.finding_h, self.look.glance, True, False, 10) for one in longest)  # fmt: skip
        self.heel, cosine = self.frame.heel_mm[0], self.frame.along[0]
        self.end = self.heel + self.frame.length_mm * cosine
        low, high = stance.band
        self.band = (self.heel + low * (self.end - self.heel), self.heel + high * (self.end - self.heel))

    def shoe(self, braced: set[str], faded: bool) -> Picture:
        """Name, ground, sole, band, heel edge and rocker line. faded: nothing is known of who stands on it."""
        look, colours, x = self.look, self.look.palette, self.floor.x
        ink = colours.pale if faded else colours.ink
        low, high = x(self.band[0]), x(self.band[1])
        band = Box(low, self.y - self.sole_h * 0.74, high - low, self.sole_h * 0.72)
        up, down = self.sole_h * 1.18, look.px(12)
        shapes: list[Shape] = [
            *self._name(self.side in braced),
            Stroke(((self.floor.left, self.y), (self.floor.right, self.y)), colours.rule, 3),
            Fill(sole(x(self.heel), x(self.end), self.y, self.sole_h), colours.sole, ink, max(2.0, look.px(3.5))),
            Fill(rectangle(band), colours.band, opacity=0.4 if faded else 1.0),
        ]  # fmt: skip
        for edge, inward in (
            (low, 1),
            (high, -1),
        ):  # brackets, higher than the sole: the line may stand before them
            lip, top = edge + inward * look.px(10), self.y - self.sole_h * 1.12
            corners = ((lip, top), (edge, top), (edge, band.bottom), (lip, band.bottom))
            shapes.append(Stroke(corners, colours.pale if faded else colours.band_edge, max(2.0, look.px(4))))
        for at in (self.heel, self.end):
            shapes.append(Stroke(((x(at), self.y - up), (x(at), self.y + down)), ink, max(2.0, look.px(4))))
        return tuple(shapes)

    def _name(self, is_braced: bool) -> Picture:
        """Which shoe; a braced one carries a dark tag."""
        look, colours = self.look, self.look.palette
        words = say("window.shoe", side=self.side)
        name = Box(self.floor.left, self.top, wide_of(words, self.name_px, True) + 2, self.name_h)
        shoe = Words(words, name, self.name_px, colours.ink, bold=True, name=f"shoe {self.side}")
        if not is_braced:
            return (shoe,)
        words = say("window.braced")
        wide = wide_of(words, self.name_px, True) + look.px(28)
        tag = Box(name.right + look.px(20), self.top + look.px(2), wide, self.name_h - look.px(4))
        return (shoe, Words(words, tag, self.name_px, colours.paper, bold=True, align="centre", name=f"braced {self.side}", tag=colours.ink))  # fmt: skip

    def load(self, snapshot: Snapshot | None, steady: Steady) -> Picture:
        """Kilograms and % of body weight on this leg."""
        look, colours = self.look, self.look.palette
        load = snapshot.load_n.get(self.side) if snapshot else None
        weight = snapshot.body_weight_n if snapshot else None
        colour = colours.ink if load is not None else colours.pale
        on_kg = None if load is None else steady(f"leg {self.side}", kg(load))
        pct = None if load is None or not weight else steady(f"leg % {self.side}", 100 * load / weight)
        name = f"leg {self.side}"
        if self.is_low:
            right, row = self.floor.right, self.top + self.name_h
            text = say("window.none") if on_kg is None else say("window.kg", kg=on_kg)
            beside = "" if pct is None else say("window.pct", pct=pct)
            return (
                Words(text, Box(0.64 * right, row, 0.22 * right, self.finding_h), self.finding_px, colour, bold=True, align="right", name=name),
                Words(beside, Box(0.87 * right, row, 0.13 * right, self.finding_h), look.middle, colours.quiet, align="right", name=f"leg % {self.side}"),
            )  # fmt: skip
        right = self.floor.x(self.heel) - look.px(22)
        big = Box(0, self.y - look.small * 1.4 - look.glance * 1.25, right, look.glance * 1.25)
        text = say("window.none") if on_kg is None else say("window.kg", kg=on_kg)
        shapes = [Words(text, big, look.glance, colour, bold=True, align="right", name=name)]
        if on_kg is not None:
            share = say("window.weight-unknown") if pct is None else say("window.pct-of-weight", pct=pct)
            under = Box(0, big.bottom, right, look.small * 1.4)
            shapes.append(Words(share, under, look.small, colours.quiet, align="right", name=f"leg % {self.side}"))  # fmt: skip
        return tuple(shapes)

    def finding(self, snapshot: Snapshot | None, steady: Steady, why: Reason | None) -> tuple[Words, Words]:
        """Where the body line falls, in words; beside the name how far from the heel edge."""
        look, colours = self.look, self.look.palette
        big = Box(self.floor.left, self.top + self.name_h, self.finding_w, self.finding_h)
        beside = Box(self.floor.width * 0.44, self.top, self.floor.width * 0.56 - look.px(20), self.name_h)
        place = snapshot.lines.get(f"body_on_{self.side}") if snapshot else None
        if place is None or snapshot is None:
            reason = why.more if why else _why(snapshot, f"body_on_{self.side}")
            words = (
                say("window.none") if snapshot is None else why.short if why else say("words.not-measured")
            )
            return (
                Words(words, big, look.glance, colours.pale, bold=True, name=f"line {self.side}"),
                Words(reason, beside, look.small, colours.quiet, align="right", name=f"line {self.side} mm"),
            )
        shown = float(steady(f"offset {self.side}", place.offset_mm))
        words = band_words(place.probability_inside, shown or place.offset_mm, place.uncertainty_mm, place.verdict)  # fmt: skip
        words, _, reason = words.partition(": ")  # the large line says it, the small one why
        if place.verdict == "outside" or words == say("words.likely-out"):
            words += " →" if place.offset_mm > 0 else " ←"
        mm = steady(f"mm {self.side}", place.mean_mm)
        far = say("window.from-heel", mm=mm, pm=expanded(place.uncertainty_mm))
        return (
            Words(words, big, look.glance, colours.ink, bold=True, name=f"line {self.side}"),
            Words(f"{far}; {reason}" if reason else far, beside, look.small, colours.quiet, align="right", name=f"line {self.side} mm"),
        )  # fmt: skip

    def marks(
        self, snapshot: Snapshot, points: dict[str, tuple[float, float]], steady: Steady, told: bool
    ) -> list[Shape]:
        """Body line with its width, foot point, crutch tip. told: nothing is left out as in doubt."""
        look, colours, shapes = self.look, self.look.palette, list[Shape]()
        place, body = snapshot.lines.get(f"body_on_{self.side}"), points.get("body")
        if place is not None and body is not None:
            shapes += self._line(body[0], 2 * place.uncertainty_mm)
        foot = points.get(self.side)
        if told and foot is not None and snapshot.load_n.get(self.side) is not None:
            x, a = self._within(foot[0]), look.px(13)
            corners: Points = ((x, self.y + 4), (x - a, self.y + 4 + 1.7 * a), (x + a, self.y + 4 + 1.7 * a))
            box = Box(x + 1.6 * a, self.y + look.px(8), look.small * 8, look.small * 1.3)
            shapes.append(Fill(corners, colours.ink))
            shapes.append(Words(say("window.foot-point"), box, round(look.small * 0.9), colours.quiet))
        tip = snapshot.tips_mm.get(f"{self.side}_crutch")
        if tip is not None:
            shapes += self._tip(tip[0], snapshot.load_n.get(f"{self.side}_crutch"), steady)
        return shapes

    def _within(self, ap_mm: float) -> float:
        return min(max(self.floor.x(ap_mm), self.floor.left), self.floor.right)

    def _line(self, ap_mm: float, half_mm: float) -> list[Shape]:
        """The body line, as high as its lane's sole, with its uncertainty as a width; beyond the picture an arrow."""
        look, colours, x = self.look, self.look.palette, self.floor.x
        low, high = max(x(ap_mm - half_mm), self.floor.left), min(x(ap_mm + half_mm), self.floor.right)
        top, bottom = self.zone_top, self.y + look.px(4)
        shapes: list[Shape] = []
        if high > low:
            shapes.append(Fill(rectangle(Box(low, top, high - low, bottom - top)), colours.line, opacity=0.14))  # fmt: skip
            shapes += [Stroke(((at, top), (at, bottom)), colours.line, 1.5, dashed=True) for at in (low, high)]  # fmt: skip
        at, a = self._within(ap_mm), look.px(14)
        if VIEW_MM[0] <= ap_mm <= VIEW_MM[1]:
            shapes.append(Stroke(((at, top), (at, bottom)), colours.line, max(3.0, look.px(8))))
        else:
            way, middle = (1 if ap_mm > VIEW_MM[1] else -1), (top + bottom) / 2
            shapes.append(Fill(((at, middle), (at - 2 * a * way, middle - a), (at - 2 * a * way, middle + a)), colours.line))  # fmt: skip
        return shapes

    def _tip(self, ap_mm: float, load_n: float | None, steady: Steady) -> list[Shape]:
        """A crutch's lower end, and what it carries."""
        look, colours = self.look, self.look.palette
        x, r = self._within(ap_mm), look.px(13)
        shaft = ((x, self.y - r / 2), (x - look.px(16), self.y - self.sole_h * 0.72))
        shapes: list[Shape] = [
            Stroke(shaft, colours.hands, look.px(9)),
            Disc(x, self.y - r / 2, r, colours.hands),
        ]
        if load_n is not None:
            wide = look.middle * 4
            ahead = x + 1.6 * r + wide <= self.floor.right
            box = Box(x + 1.6 * r if ahead else x - 1.6 * r - wide, self.y - look.middle * 1.35, wide, look.middle * 1.25)  # fmt: skip
            text = say("window.kg", kg=steady(f"tip {self.side}", kg(load_n)))
            shapes.append(Words(text, box, look.middle, colours.hands, bold=True, align="left" if ahead else "right", name=f"tip {self.side}"))  # fmt: skip
        return shapes

    def earlier(self, overlays: Sequence[Overlay]) -> list[tuple[list[Shape], list[Shape]]]:
        """Where earlier trials had the body line, behind the present one: a line and its width; before all, the trial's number."""
        look, colours, found = self.look, self.look.palette, list[tuple[list[Shape], list[Shape]]]()
        for number, overlay in enumerate(overlays):
            if self.side not in overlay.places:
                continue
            mean_mm, pm_mm = overlay.places[self.side]
            at = self._within(self.heel + mean_mm * self.frame.along[0])
            y = self.y - self.sole_h * (0.30 + 0.34 * number)
            half = pm_mm * (self.floor.x(1) - self.floor.x(0))
            top, wide = self.zone_top + look.small * 1.3 * number, look.small * 1.4
            label = Box(at - wide / 2, top, wide, look.small * 1.3)
            lines: list[Shape] = [
                Stroke(
                    ((at, label.bottom), (at, self.y)), colours.ink, max(2.0, look.px(4)), dashed=number > 0
                ),
                Stroke(((at - half, y), (at + half, y)), colours.ink, max(2.0, look.px(3))),
            ]
            box: list[Shape] = [
                Fill(rectangle(label), colours.paper, colours.ink, 1.5),
                Words(overlay.label, label, look.small, colours.ink, bold=True, align="centre", name=f"earlier {number} {self.side}"),
            ]  # fmt: skip
            found.append((lines, box))
        return found

    def imagined(self) -> Words:
        """Over a sole that does not stand like this."""
        look, colours = self.look, self.look.palette
        words = say("window.imagined")
        wide = wide_of(words, look.small, True) + look.px(28)
        box = Box(self.floor.right - wide, self.zone_top, wide, look.small * 1.5)
        return Words(words, box, look.small, colours.paper, bold=True, align="centre", name=f"imagined {self.side}", tag=colours.ink)  # fmt: skip

    def hatch(self) -> Shape:
        """Over what comes from a cell that may not be relied on."""
        box = Box(0, self.zone_top, self.floor.x(self.end) + self.look.px(120), self.y - self.zone_top)
        return Fill(rectangle(box), self.look.palette.pale, hatched=True, opacity=0.75)


def _why(snapshot: Snapshot | None, name: str) -> str:
    if snapshot is None:
        return ""
    key = snapshot.absent.get(name) or snapshot.absent.get("body")
    return "" if key is None else say(key)


def sole(heel: float, end: float, y: float, h: float) -> Points:
    """A shoe's sole from the side: flat from heel edge to rocker line, rising ahead of it."""
    long = end - heel
    toe = min(0.24 * long, 1.3 * h)
    return (
        (heel, y),
        *_curve((end, y), (end + 0.88 * toe, y), (end + toe, y - 0.55 * h)),
        *_curve((end + 0.88 * toe, y - h), (end, y - 0.83 * h), (heel + 0.02 * long, y - h)),
        *_curve((heel + 0.02 * long, y - h), (heel - 0.02 * long, y - h / 2), (heel, y)),
    )


def _curve(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> Points:
    """From a to c, drawn to b."""
    points = []
    for k in range(CURVE + 1):
        t = k / CURVE
        of_a, of_b, of_c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        points.append((of_a * a[0] + of_b * b[0] + of_c * c[0], of_a * a[1] + of_b * b[1] + of_c * c[1]))
    return tuple(points)
