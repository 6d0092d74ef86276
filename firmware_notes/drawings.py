"""The drawings of firmware_notes, as SVG: black and white, told apart by hatches and words.

Run it anywhere: ``python drawings.py`` writes ``drawings/*.svg`` beside itself, always the same bytes.
"""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import escape

FONT_PX = 14
INK = "black"

PLATE_LENGTH_MM, PLATE_WIDTH_MM = 340.0, 240.0
BASE_LENGTH_MM, BASE_WIDTH_MM = 400.0, 260.0
CELLS_ALONG_MM, CELLS_ACROSS_MM = 300.0, 200.0
OVERHANG_MM = 20.0
STOP_FROM_MM, GUARD_FROM_MM = 22.0, 35.0  # inwards of a dome, across the foot
BETWEEN_PLATES_MM = 30.0
AHEAD_MM, BESIDE_MM, BEHIND_MM = 800.0, 500.0, 900.0

HATCHES = """<defs>
<pattern id="wood" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
<rect width="9" height="9" fill="white"/><line x1="0" y1="0" x2="0" y2="9" stroke="black" stroke-width="1"/></pattern>
<pattern id="metal" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
<rect width="5" height="5" fill="white"/><line x1="0" y1="0" x2="0" y2="5" stroke="black" stroke-width="2"/></pattern>
<pattern id="floor" width="10" height="10" patternUnits="userSpaceOnUse">
<rect width="10" height="10" fill="white"/><circle cx="2.5" cy="2.5" r="1.1"/><circle cx="7.5" cy="7.5" r="1.1"/></pattern>
<pattern id="ramp" width="8" height="8" patternUnits="userSpaceOnUse">
<rect width="8" height="8" fill="white"/><line x1="0" y1="4" x2="8" y2="4" stroke="black" stroke-width="1"/></pattern>
<marker id="tip" viewBox="0 0 10 10" refX="10" refY="5" markerWidth="8" markerHeight="8" orient="auto-start-reverse">
<path d="M0,1 L10,5 L0,9 z"/></marker>
</defs>"""


class Drawing:
    """A picture of ``width`` × ``height`` px; shapes come in the order in which they are asked for."""

    def __init__(self, name: str, width: float, height: float, title: str, description: str) -> None:
        self.name = name
        self._parts = [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}" height="{height:g}" '
            f'viewBox="0 0 {width:g} {height:g}" role="img" aria-labelledby="title desc" '
            f'font-family="sans-serif" font-size="{FONT_PX}">',
            f'<title id="title">{escape(title)}</title>',
            f'<desc id="desc">{escape(description)}</desc>',
            HATCHES,
            f'<rect width="{width:g}" height="{height:g}" fill="white"/>',
        ]

    def rect(
        self,
        x: float,
        y: float,
        w: float,
        h: float,
        fill: str = "none",
        *,
        stroke: float = 1.5,
        dash: str = "",
        round_px: float = 0,
    ) -> None:
        """A rectangle by its upper left corner. fill: a colour or the name of a hatch."""
        self._parts.append(
            f'<rect x="{x:g}" y="{y:g}" width="{w:g}" height="{h:g}" rx="{round_px:g}" fill="{_paint(fill)}" '
            f'stroke="{INK}" stroke-width="{stroke:g}"{_dashes(dash)}/>'
        )

    def shape(self, points: list[tuple[float, float]], fill: str = "none", *, stroke: float = 1.5) -> None:
        """A closed polygon."""
        joined = " ".join(f"{x:g},{y:g}" for x, y in points)
        self._parts.append(
            f'<polygon points="{joined}" fill="{_paint(fill)}" stroke="{INK}" stroke-width="{stroke:g}"/>'
        )

    def path(self, d: str, fill: str = "none", *, stroke: float = 1.5, dash: str = "") -> None:
        """A path in SVG's own words."""
        self._parts.append(
            f'<path d="{d}" fill="{_paint(fill)}" stroke="{INK}" stroke-width="{stroke:g}"{_dashes(dash)}/>'
        )

    def circle(self, x: float, y: float, r: float, fill: str = "white") -> None:
        """A circle."""
        self._parts.append(
            f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}" fill="{_paint(fill)}" stroke="{INK}" stroke-width="1.5"/>'
        )

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        *,
        stroke: float = 1.5,
        dash: str = "",
        tips: str = "",
    ) -> None:
        """A line; tips: "end" or "both" for arrows."""
        marks = {
            "": "",
            "end": ' marker-end="url(#tip)"',
            "both": ' marker-start="url(#tip)" marker-end="url(#tip)"',
        }[tips]
        self._parts.append(
            f'<line x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}" stroke="{INK}" '
            f'stroke-width="{stroke:g}"{_dashes(dash)}{marks}/>'
        )

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        anchor: str = "start",
        size: float = FONT_PX,
        bold: bool = False,
        plain: bool = False,
    ) -> None:
        """Words on a white ground, so that hatches do not run through them; plain: without the ground. Lines are parted by newlines."""
        for number, part in enumerate(words.split("\n")):
            ground = (
                ""
                if plain
                else ' stroke="white" stroke-width="5" paint-order="stroke" stroke-linejoin="round"'
            )
            weight = ' font-weight="bold"' if bold else ""
            self._parts.append(
                f'<text x="{x:g}" y="{y + number * size * 1.25:g}" text-anchor="{anchor}" font-size="{size:g}"'
                f"{weight}{ground}>{escape(part)}</text>"
            )

    def across(self, x1: float, x2: float, y: float, words: str, *, from_y: float | None = None) -> None:
        """A dimension from left to right, with lines of help from from_y."""
        if from_y is not None:
            for x in (x1, x2):
                self.line(x, from_y, x, y + (6 if y > from_y else -6), stroke=0.75)
        self.line(x1, y, x2, y, stroke=1, tips="both")
        self.text((x1 + x2) / 2, y - 6, words, anchor="middle")

    def along(
        self, y1: float, y2: float, x: float, words: str, *, from_x: float | None = None, left: bool = False
    ) -> None:
        """A dimension from top to bottom; its words stand to the right, or to the left."""
        if from_x is not None:
            for y in (y1, y2):
                self.line(from_x, y, x + (6 if x > from_x else -6), y, stroke=0.75)
        self.line(x, y1, x, y2, stroke=1, tips="both")
        self.text(x - 7 if left else x + 7, (y1 + y2) / 2 + 5, words, anchor="end" if left else "start")

    def pointer(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """A thin line from words to a thing, with a dot on the thing."""
        self.line(x1, y1, x2, y2, stroke=0.9)
        self._parts.append(f'<circle cx="{x2:g}" cy="{y2:g}" r="2.5"/>')

    def write(self, folder: Path) -> None:
        """Writes ``folder/name.svg``."""
        text = "\n".join([*self._parts, "</svg>"]) + "\n"
        (folder / f"{self.name}.svg").write_text(text, encoding="utf-8", newline="\n")


def _paint(fill: str) -> str:
    return f"url(#{fill})" if fill in ("wood", "metal", "floor", "ramp") else fill


def _dashes(dash: str) -> str:
    return f' stroke-dasharray="{dash}"' if dash else ""


def plate() -> Drawing:
    """One plate from above."""
    d = Drawing(
        "plate", 900, 680, "A plate from above",
        "The left plate, 340 mm long and 240 mm wide, on four load cells: two under the heel and two under the forefoot, "
        "300 mm apart along the foot and 200 mm across, 20 mm inside the plate's edges. A shoe stands against the heel stop.",
    )  # fmt: skip
    k, x0, y0 = 1.4, 250.0, 100.0
    w, h, o = PLATE_WIDTH_MM * k, PLATE_LENGTH_MM * k, OVERHANG_MM * k
    d.rect(x0 - 3 * k - 18, y0 - 3 * k - 18, w + 6 * k + 36, h + 6 * k + 36, "wood", stroke=0)
    d.rect(x0 - 3 * k, y0 - 3 * k, w + 6 * k, h + 6 * k, "white", stroke=1)
    d.rect(x0, y0, w, h, "white", stroke=2.5)
    middle = x0 + w / 2
    d.line(middle, y0 + 8, middle, y0 + h - 8, stroke=1, dash="14 4 3 4")
    left, right, top, bottom = x0 + o, x0 + w - o, y0 + o, y0 + h - o
    shoe = middle
    d.path(
        f"M{shoe - 32 * k:g},{bottom - k:g} C{shoe - 40 * k:g},{bottom - 110 * k:g} {shoe - 52 * k:g},{bottom - 170 * k:g} "
        f"{shoe - 50 * k:g},{bottom - 225 * k:g} C{shoe - 44 * k:g},{top - 4 * k:g} {shoe + 44 * k:g},{top - 4 * k:g} "
        f"{shoe + 48 * k:g},{bottom - 215 * k:g} C{shoe + 50 * k:g},{bottom - 170 * k:g} {shoe + 36 * k:g},{bottom - 110 * k:g} "
        f"{shoe + 32 * k:g},{bottom - k:g} z",
        dash="7 5",
    )
    d.rect(shoe - 40 * k, bottom, 80 * k, 6 * k, "black")  # its front face on the heel cells' line
    for guard_y in (y0 + 5 * k, y0 + h - 50 * k):
        for guard_x in (left + GUARD_FROM_MM * k, right - (GUARD_FROM_MM + 40) * k):
            d.rect(guard_x, guard_y, 40 * k, 45 * k, dash="2 3", stroke=1.2)
    for stop_x in (left + STOP_FROM_MM * k, right - STOP_FROM_MM * k):
        for stop_y in (top, bottom):
            d.rect(stop_x - 5 * k, stop_y - 5 * k, 10 * k, 10 * k, "black")
    for x, y, name in (
        (left, top, "forefoot, outer"),
        (right, top, "forefoot, inner"),
        (left, bottom, "heel, outer"),
        (right, bottom, "heel, inner"),
    ):
        d.circle(x, y, 15, "metal")
        d.circle(x, y, 4, "white")
        inwards = 1 if x == left else -1
        dx, dy = -22, 60 if y == top else -46
        d.text(x + inwards * dx, y + dy, name, anchor="start" if x == left else "end")
    d.across(left, right, 44, "200 mm between the cells", from_y=top)
    d.across(x0, x0 + w, y0 + h + 62, "plate 240 mm", from_y=y0 + h)
    d.along(top, bottom, 162, "300 mm\nbetween\nthe cells", from_x=left, left=True)
    d.along(y0, y0 + h, 660, "plate 340 mm", from_x=x0 + w)
    d.across(right, x0 + w, y0 + h + 36, "", from_y=bottom)
    d.text(x0 + w + 34, y0 + h + 41, "20 mm from cell to edge, on every side")
    d.text(middle + 20 * k, y0 + h * 0.5, "shoe", anchor="middle")
    d.pointer(112, 506, shoe - 39 * k, bottom + 3 * k)
    d.text(20, 492, "heel stop,\non the plate")
    d.pointer(680, 150, x0 + w + 1.5 * k, y0 + 50)
    d.text(686, 144, "gap 3 mm all round;\nnothing bridges it")
    d.pointer(680, 210, x0 + w + 3 * k + 9, y0 + 130)
    d.text(686, 215, "boards, flush")
    d.pointer(680, 436, right + 14, bottom - 6)
    d.text(686, 430, "a cell each, its place\nknown to 1 mm")
    d.pointer(680, 265, middle, y0 + 200)
    d.text(686, 270, "middle line, marked")
    d.pointer(680, 372, right - STOP_FROM_MM * k, bottom - 4)
    d.text(686, 366, f"a stop beside each cell,\n{STOP_FROM_MM:g} mm inwards of its dome")
    to_mm = GUARD_FROM_MM + 40
    d.pointer(118, 208, left + (GUARD_FROM_MM + 4) * k, y0 + 44 * k)
    d.text(
        8, 196, f"dotted: under each\ncorner a guard,\n{GUARD_FROM_MM:g} to {to_mm:g} mm\ninwards of the dome"
    )
    d.line(60, 640, 60, 580, stroke=2, tips="end")
    d.text(72, 592, "AP: forward")
    d.line(60, 640, 120, 640, stroke=2, tips="end")
    d.text(128, 645, "ML: to the right")
    d.text(450, 665, "left plate; the right one is its mirror image", anchor="middle")
    return d


def section() -> Drawing:
    """Through plate, cells, base, boards and ramp; heights larger than lengths."""
    d = Drawing(
        "section", 1000, 520, "Section through plate, cells and floor",
        "Along the foot: the plate, two aluminium sheets bonded to plywood, rests on domed heads on two load cells, which are screwed to a stiff "
        "base on the floor. Boards on joists lie flush with the plate, 3 mm from it, and end in a ramp. "
        "Stops under the plate touch before a cell is overloaded.",
    )  # fmt: skip
    top, floor_y = 150.0, 350.0
    d.rect(20, floor_y, 960, 34, "floor", stroke=0)
    d.line(20, floor_y, 980, floor_y, stroke=2)
    d.text(34, floor_y + 56, "floor of the room")
    x1, x2 = 120.0, 560.0
    d.rect(x1 - 39, floor_y - 24, x2 - x1 + 78, 24, "metal")
    d.rect(x1, top, x2 - x1, 8, "black", stroke=1)
    d.rect(x1, top + 8, x2 - x1, 42, "wood")
    d.rect(x1, top + 50, x2 - x1, 8, "black", stroke=1)
    under = top + 58
    for x, turned in ((x1 + 36, 1), (x2 - 36, -1)):
        y = under + 22
        far = x + turned * 96
        d.rect(min(x - turned * 14, far), y, 110, 30, "white")
        d.circle(x + turned * 34, y + 15, 9, "white")
        d.circle(x + turned * 48, y + 15, 9, "white")
        d.rect(min(far, far - turned * 32), y + 30, 32, floor_y - 24 - y - 30, "metal")
        d.path(
            f"M{x - 10:g},{y:g} L{x - 10:g},{under + 12:g} A10,12 0 0 1 {x + 10:g},{under + 12:g} L{x + 10:g},{y:g} z",
            "black",
        )
    for x in (x1 + 29, x2 - 43):  # beside the domes: between them they would meet the bent plate first
        d.rect(x, under + 9, 14, floor_y - 24 - under - 9, dash="4 3")
    d.rect(x1 + 22, top - 16, 14, 16, "black")
    d.rect(20, top, x1 - 20 - 8, 44, "wood")
    d.rect(x2 + 8, top, 222, 44, "wood")
    d.rect(30, top + 44, 22, floor_y - top - 44, "wood")
    d.rect(x2 + 60, top + 44, 22, floor_y - top - 44, "wood")
    d.rect(x2 + 184, top + 44, 22, floor_y - top - 44, "wood")
    d.shape([(x2 + 230, top), (x2 + 230, floor_y), (975, floor_y)], "ramp")
    d.text(340, 24, "forward is to the right; heights are drawn larger than lengths", anchor="middle")
    d.pointer(330, 86, 330, top + 28)
    d.text(330, 56, "plate: two aluminium sheets of 2 mm\nbonded to plywood of 18 mm", anchor="middle")
    d.pointer(86, 102, x1 + 25, top - 8)
    d.text(30, 96, "heel stop")
    d.pointer(590, 112, x2 + 4, top + 6)
    d.text(596, 92, "gap 3 mm,\nnothing bridges it")
    d.pointer(740, 112, 740, top + 22)
    d.text(730, 92, "boards, flush within 2 mm,\non joists")
    d.text(x2 + 270, top + 16, "ramp, 1 : 12 or flatter,", plain=True)
    d.text(x2 + 294, top + 36, "its edge marked", plain=True)
    d.pointer(170, 440, x1 + 36, under + 17)
    d.text(60, 456, "domed head at a measured\nplace: the load's contact")
    d.pointer(335, 440, x1 + 110, under + 44)
    d.text(270, 456, "load cell, a bending beam,\nscrewed down at its other end")
    d.pointer(520, 440, x2 - 36, under + 100)
    d.text(490, 456, "dashed: fixed stop beside the cell,\ntouches before its safe overload")
    d.pointer(720, 440, x2 + 14, floor_y - 10)
    d.text(746, 456, "stiff base under both cells,\nshimmed on the floor")
    return d


def guard() -> Drawing:
    """One guard against lifting, in section along the foot, to scale."""
    d = Drawing(
        "guard", 1000, 640, "A guard against lifting, at the plate's end",
        "Section along the foot at the end of a plate. A steel tab, 45 mm long, 40 mm wide and 5 mm thick, hangs on a spacer of 10 mm below the "
        "plate and points to the plate's end. A bracket screwed to the base outside the plate's end has a lip of 5 mm that reaches 20 mm under the "
        "plate, between tab and plate: 1 mm above the tab, 4 mm below the plate. The bracket stands below the loose board.",
    )  # fmt: skip
    k, end, under = 6.0, 610.0, 262.0

    def box(from_mm: float, to_mm: float, top_mm: float, bottom_mm: float, fill: str, **how: float) -> None:
        """A part by its distance from the plate's end (inwards is +) and its depth below the plate's underside."""
        d.rect(
            end - to_mm * k, under + top_mm * k, (to_mm - from_mm) * k, (bottom_mm - top_mm) * k, fill, **how
        )

    box(0, 92, -22, 0, "wood")
    box(0, 62, -20, -2, "white")
    d.text(end - 18 * k, under - 10 * k, "hard wood", anchor="middle")
    box(0, 92, -22, -20, "black", stroke=1)
    box(0, 92, -2, 0, "black", stroke=1)
    box(30, 50, 0, 10, "metal")
    box(5, 50, 10, 15, "metal")
    box(-10, 20, 4, 9, "metal")
    box(-10, -5, 9, 40, "metal")
    box(-30, -5, 40, 45, "metal")
    box(-30, 92, 45, 55, "metal")
    box(-50, -3, -22, -4, "wood")
    for x_mm, top_mm, bottom_mm in ((40, -14, 15), (-20, 38, 52)):
        d.rect(end - (x_mm + 2.5) * k, under + top_mm * k, 5 * k, (bottom_mm - top_mm) * k, "white")
    box(-25, -15, 36, 40, "white")
    d.line(end, under, end, under + 12 * k, stroke=0.75, dash="4 3")
    d.pointer(150, 100, end - 80 * k, under - 12 * k)
    d.text(60, 92, "plate, 22 mm")
    d.pointer(760, 100, end + 24 * k, under - 13 * k)
    d.text(770, 92, "board, flush, can be taken out;\ngap 3 mm to the plate")
    d.pointer(190, 366, end - 49 * k, under + 5 * k)
    d.text(24, 352, "spacer, 10 mm high,\n20 mm long, 40 mm wide")
    d.pointer(190, 430, end - 44 * k, under + 13 * k)
    d.text(24, 420, "tab, 45 × 40 × 5 mm,\ntwo countersunk wood screws\n5 × 30 through tab and spacer")
    d.pointer(760, 318, end + 8 * k, under + 9 * k)
    d.text(770, 314, "bracket, steel 5 mm, 40 mm wide;\nits lip reaches 20 mm\nunder the plate")
    d.pointer(760, 450, end + 24 * k, under + 38 * k)
    d.text(
        820,
        404,
        "two screws M6 into\nthe base, from above,\nthe board taken out;\nshims under the foot\nset the 1 mm",
    )
    d.text(end - 60 * k, under + 51 * k, "base, 10 mm", anchor="middle")
    d.pointer(500, 496, end - 12 * k, under + 9.5 * k)
    d.text(380, 514, "1 mm free between lip and tab", anchor="middle")
    d.text(770, 266, "4 mm free between lip and plate")
    d.pointer(760, 262, end - 10 * k, under + 2 * k)
    d.across(end - 20 * k, end, under + 31 * k, "20", from_y=under + 17 * k)
    d.across(end - 50 * k, end, under - 26 * k, "50", from_y=under - 22.5 * k)
    d.across(end, end + 30 * k, under + 60 * k, "30", from_y=under + 55.5 * k)
    d.text(end + 33 * k, under + 61 * k, "base beyond the plate")
    d.text(500, 34, "to scale; the plate's end is to the right, its middle to the left", anchor="middle")
    return d


def bases() -> Drawing:
    """Both bases from above without the plates, to scale."""
    d = Drawing(
        "bases", 1000, 700, "The two bases from above, plates off",
        "Two bases of 400 by 260 mm lie 10 mm apart, joined by a bar across the joint at each end. On each: four cells with their domes, a stop beside "
        "each dome, four brackets of the guards at the ends, and in the middle of each end a strip that holds the base down to a joist.",
    )  # fmt: skip
    k, x0, y0 = 1.2, 200.0, 100.0
    long, wide, ends, sides = BASE_LENGTH_MM * k, BASE_WIDTH_MM * k, 30 * k, 10 * k
    for y in (y0 - 60 * k, y0 + long):
        d.rect(x0 - 8, y, 2 * wide + 10 * k + 16, 60 * k, "wood")
    for number in (0, 1):
        left = x0 + number * (wide + 10 * k)
        d.rect(left, y0, wide, long, "white", stroke=2.5)
        d.rect(left + sides, y0 + ends, PLATE_WIDTH_MM * k, PLATE_LENGTH_MM * k, dash="7 5", stroke=1)
        near, far = left + sides + OVERHANG_MM * k, left + wide - sides - OVERHANG_MM * k
        front, back = y0 + ends + OVERHANG_MM * k, y0 + long - ends - OVERHANG_MM * k
        for x, inwards in ((near, 1), (far, -1)):
            for y, turned in ((front, 1), (back, -1)):
                tail = y + turned * 100 * k
                d.rect(x - 15 * k, min(y - turned * 14 * k, tail), 30 * k, 114 * k, "white")
                d.circle(x, y, 8, "metal")
                d.circle(x + inwards * STOP_FROM_MM * k, y, 5 * k, "black")
                guard_x = x + GUARD_FROM_MM * k if inwards > 0 else x - (GUARD_FROM_MM + 40) * k
                d.rect(guard_x, y - turned * 50 * k if turned > 0 else y + 25 * k, 40 * k, 25 * k, "metal")
        for y in (y0 - 50 * k, y0 + long - 20 * k):
            d.rect(left + wide / 2 - 20 * k, y, 40 * k, 70 * k, "ramp")
    joint = x0 + wide + 5 * k
    for y in (y0 + 2 * k, y0 + long - 27 * k):
        d.rect(joint - 55 * k, y, 110 * k, 25 * k, "ramp")
    d.rect(joint - 12 * k, y0 + ends, 24 * k, long - 2 * ends, "wood")
    d.across(x0, x0 + wide, y0 + long + 92, "base 260 mm", from_y=y0 + long)
    d.across(x0 + wide, x0 + wide + 10 * k, y0 + long + 92, "10", from_y=y0 + long)
    d.along(y0, y0 + long, x0 - 34, "400 mm", from_x=x0, left=True)
    right = x0 + 2 * wide + 10 * k
    d.pointer(right + 50, 60, right - wide / 2 + 12 * k, y0 - 6 * k)
    d.text(right + 16, 46, "strip 70 × 40 × 5 mm:\nholds the base down\nto the joist", plain=True)
    d.pointer(right + 14, 176, right - 66 * k, y0 + 16 * k)
    d.text(right + 16, 166, "bracket of a guard,\n40 mm wide")
    d.pointer(right + 14, 230, right - sides - (OVERHANG_MM + STOP_FROM_MM) * k, y0 + ends + OVERHANG_MM * k)
    d.text(right + 16, 230, "stop, 22 mm\nfrom its dome")
    d.pointer(right + 14, 290, right - sides - OVERHANG_MM * k, y0 + ends + OVERHANG_MM * k + 4)
    d.text(right + 16, 290, "dome on its cell")
    d.pointer(right + 14, 350, right - sides, y0 + 250)
    d.text(right + 16, 350, "the plate above")
    d.pointer(right + 14, 440, joint + 8 * k, y0 + 330)
    d.text(right + 16, 430, "joist 24 mm wide\nbelow the strip\nbetween the plates")
    d.pointer(right + 14, 540, joint + 50 * k, y0 + long - 16 * k)
    d.text(right + 16, 524, "bar 110 × 25 × 5 mm\njoins the bases")
    d.line(60, 190, 60, 110, stroke=2, tips="end")
    d.text(30, 100, "forward")
    d.text(20, 440, "cells' sizes\nare an example;\ntheir fixed ends\npoint to the middle")
    return d


def floor() -> Drawing:
    """Plates, boards, ramps and chair from above, to scale."""
    d = Drawing(
        "floor", 1000, 940, "The floor from above",
        "Two plates side by side in boards that reach 800 mm ahead of them, 500 mm beside them and 900 mm behind, all at one height, with "
        "ramps on the outer edges. Crutch tips stand on the boards ahead and beside. A braked chair stands behind, a helper beside.",
    )  # fmt: skip
    k = 0.34
    wide = 2 * BESIDE_MM + 2 * PLATE_WIDTH_MM + BETWEEN_PLATES_MM
    tall = AHEAD_MM + PLATE_LENGTH_MM + BEHIND_MM
    x0, y0 = 500 - wide * k / 2, 110.0
    w, h, ramp = wide * k, tall * k, 56.0
    d.rect(x0 - ramp, y0 - ramp, w + 2 * ramp, h + 2 * ramp, "ramp")
    d.rect(x0, y0, w, h, "white", stroke=2)
    for x, out_x in ((x0, -ramp), (x0 + w, ramp)):
        for y, out_y in ((y0, -ramp), (y0 + h, ramp)):
            d.line(x, y, x + out_x, y + out_y, stroke=1)
    py, ph, pw = y0 + AHEAD_MM * k, PLATE_LENGTH_MM * k, PLATE_WIDTH_MM * k
    lx, rx = x0 + BESIDE_MM * k, x0 + w - BESIDE_MM * k - pw
    for x, name in ((lx, "left"), (rx, "right")):
        d.rect(x, py, pw, ph, "metal", stroke=2.5)
        d.text(x + pw / 2, py + ph / 2 + 5, name, anchor="middle", bold=True)
    d.across(lx, rx + pw, py + ph + 32, f"{2 * PLATE_WIDTH_MM + BETWEEN_PLATES_MM:g} mm", from_y=py + ph)
    d.along(y0, py, lx + 30, "boards 800 mm ahead")
    d.across(x0, lx, py + ph / 2, "500 mm beside")
    d.across(rx + pw, x0 + w, py + ph / 2, "500 mm beside")
    d.along(py, py + ph, rx + pw + 16, "", from_x=rx + pw)
    d.text(rx + pw + 26, py + 22, "340 mm")
    d.along(py + ph, y0 + h, lx - 40, "900 mm behind,\nfor chair\nand helper", left=True)
    origin = py + ph - OVERHANG_MM * k - 40 * k
    for ml, ap in ((-318, 372), (322, 386)):
        d.circle(500 + ml * k, origin - ap * k, 6, "black")
    d.pointer(340, py - 104, 500 - 318 * k - 5, origin - 372 * k - 5)
    d.text(x0 + 8, py - 122, "crutch tip, its", plain=True)
    d.text(x0 + 8, py - 104, "place marked", plain=True)
    d.text(rx + 52, py - 84, "crutch tip")
    cx, cy = 500 - 230 * k, py + ph + 70
    d.rect(cx, cy, 460 * k, 440 * k, "wood", stroke=2, round_px=8)
    d.text(500, cy + 66, "braked chair,", anchor="middle")
    d.text(500, cy + 84, "arms at both sides", anchor="middle")
    d.circle(rx + pw + 88, py + ph + 62, 20, "white")
    d.text(rx + pw + 88, py + ph + 67, "H", anchor="middle", bold=True)
    d.text(x0 + w - 8, py + ph + 104, "H: helper,\nwithin reach", anchor="end")
    d.text(500, y0 - ramp / 2 + 5, "ramp", anchor="middle", bold=True)
    d.text(500, y0 + h + ramp / 2 + 5, "ramp", anchor="middle", bold=True)
    d.across(
        x0, x0 + w, y0 + h + ramp + 40, f"boards {wide:g} mm, all at the plates' height", from_y=y0 + h + ramp
    )
    d.line(70, 150, 70, 70, stroke=2, tips="end")
    d.text(82, 80, "forward")
    d.line(x0 - ramp - 60, py + ph + 236, x0 + 60, py + ph + 236, stroke=3, dash="9 5")
    d.text(20, py + ph + 150, "cables leave\nto the side and\nrear, under\nthe boards")
    d.text(x0 + w + ramp + 12, y0 + 60, "outer edges marked\nwith a stripe;\nslope as local\ncodes ask")
    d.text(x0 + w + ramp + 12, py + ph / 2, "plates 30 mm\napart, gaps 3 mm")
    return d


def wiring() -> Drawing:
    """One cell, its converter and the board; a second converter to show that nothing but supply and ground is shared."""
    d = Drawing(
        "wiring", 1000, 640, "Wiring of one cell",
        "A load cell's four wires go to its own converter: excitation plus and minus, signal plus and minus. The converter's supply and ground come "
        "from the board; its data line goes to the channel's data pin and its clock line comes from the channel's own clock pin. "
        "The rate pin is tied to the supply. A second converter shares supply and ground only.",
    )  # fmt: skip
    bx, by, r = 150.0, 190.0, 82.0
    tips = [(bx, by - r), (bx + r, by), (bx, by + r), (bx - r, by)]
    d.shape(tips)
    for (xa, ya), (xb, yb) in zip(tips, [*tips[1:], tips[0]], strict=True):
        mx, my = (xa + xb) / 2, (ya + yb) / 2
        turn = 45 if (xb - xa) * (yb - ya) > 0 else -45
        d.shape(_turned(mx, my, turn), "white")
    d.text(bx, by + 5, "load cell", anchor="middle", bold=True)
    d.text(bx, 335, "four strain gauges,\na full bridge", anchor="middle")
    d.rect(370, 84, 210, 226, round_px=6, stroke=2.5)
    d.text(475, 70, "converter of channel 0", anchor="middle", bold=True)
    pins = (("excitation +", 110), ("signal +", 166), ("signal −", 214), ("excitation −", 270))
    for name, y in pins:
        d.circle(370, y, 4, "black")
        d.text(382, y + 5, name)
    d.path(f"M{bx:g},{by - r:g} V94 H300 V110 H370")
    d.path(f"M{bx + r:g},{by:g} H270 V166 H370")
    d.path(f"M{bx:g},{by + r:g} V286 H300 V270 H370")
    d.path(f"M{bx - r:g},{by:g} H44 V306 H330 V214 H370")
    for name, y in (("supply", 110), ("data", 162), ("clock", 214), ("ground", 270)):
        d.circle(580, y, 4, "black")
        d.text(568, y + 5, name, anchor="end")
    d.path("M562,84 V48 H620 V110", dash="5 3")
    d.text(628, 54, "rate pin to supply: 80 a second")
    d.rect(780, 84, 190, 470, round_px=6, stroke=2.5)
    d.text(875, 440, "microcontroller\nboard", anchor="middle", bold=True)
    board = (
        ("5 V", 110), ("data pin of 0", 162), ("clock pin of 0", 214), ("ground", 270), ("data pin of 1", 350), ("clock pin of 1", 390),
    )  # fmt: skip
    for name, y in board:
        d.circle(780, y, 4, "black")
        d.text(792, y + 5, name)
    d.line(580, 110, 780, 110)
    d.line(580, 162, 776, 162, tips="end")
    d.line(776, 214, 586, 214, tips="end")
    d.line(580, 270, 780, 270)
    d.rect(640, 98, 80, 184, dash="6 4", round_px=14)
    d.line(680, 282, 680, 300, dash="3 3")
    d.path("M680,300 H760 V270", dash="3 3")
    d.text(590, 318, "cable's shield: to ground at\nthe board's end only")
    d.rect(370, 372, 210, 130, round_px=6, stroke=2.5)
    d.text(475, 404, "converter of channel 1", anchor="middle", bold=True)
    d.text(475, 426, "its cell, its own\ndata and clock line", anchor="middle")
    d.path("M580,396 H690 V350 H776")
    d.path("M776,390 H714 V430 H586")
    d.line(760, 350, 776, 350, tips="end")
    d.line(600, 430, 586, 430, tips="end")
    d.path("M580,466 H756 M580,488 H756")
    d.text(610, 460, "to 5 V")
    d.text(610, 506, "to ground")
    d.line(875, 554, 875, 592, stroke=3)
    d.text(600, 614, "USB, through an isolated adapter, or computer on battery")
    d.text(40, 400, "Each converter has a clock line of its own.\nOnly supply and ground are shared.\n\nThe converter sits near its cell, in a\nmetal box joined to the shield.\n"
                    "Its second input: both wires to ground.")  # fmt: skip
    return d


def _turned(x: float, y: float, degrees: int) -> list[tuple[float, float]]:
    """A resistor's box, 40 × 16 px, on a line at 45° up or down."""
    s = 0.70710678
    down = 1 if degrees > 0 else -1
    corners = ((-20, -8), (20, -8), (20, 8), (-20, 8))
    return [(round(x + s * (a - down * b), 2), round(y + s * (down * a + b), 2)) for a, b in corners]


def main(folder: Path = Path(__file__).parent / "drawings") -> None:
    """Writes all six."""
    folder.mkdir(exist_ok=True)
    for drawing in (plate(), section(), guard(), bases(), floor(), wiring()):
        drawing.write(folder)


if __name__ == "__main__":
    main()
