"""The plates from above with an arrow at each place: from where the mass stood toward where the rig saw it, lengthened."""

from __future__ import annotations

from balance.report.chart import DOWN, INK, QUIET, UP, Chart
from balance.rig import Rig
from balance.verifying.places import Place, coverage_factor, parts_of
from balance.words import say

TIMES = (20.0, 10.0, 5.0, 2.0, 1.0, 0.5)  # the longest arrows that stay in the picture
NAME_MM = 5.0  # from a cell to its channel
EDGE_MM = 14.0  # a plate reaches so far beyond its cells, drawn


def picture(places: list[Place], rig: Rig) -> str:
    """SVG text. A small disc: agrees; a large one with the load's error: does not."""
    on_plates = [rig.cells[i] for cells in parts_of(rig).values() for i in cells]
    ap = [c.ap_mm or 0.0 for c in on_plates] + [p.placed.ap_mm for p in places]
    ml = [c.ml_mm or 0.0 for c in on_plates] + [p.placed.ml_mm for p in places]
    span = max(max(ap) - min(ap), (max(ml) - min(ml)) * 0.7, 100.0)
    ap_0, ml_0 = (max(ap) + min(ap)) / 2, (max(ml) + min(ml)) / 2
    chart = Chart(
        say("verify.picture"), say("window.area-right"), say("window.area-forward"),
        (ml_0 - 0.78 * span, ml_0 + 0.78 * span), (ap_0 - 0.62 * span, ap_0 + 0.62 * span), 760, 620,
    )  # fmt: skip
    for cells in parts_of(rig).values():
        _plate(chart, rig, cells)
    worst = max((max(abs(error) for error, _ in place.errors[1:]) for place in places), default=0.0)
    times = next((t for t in TIMES if t * worst <= 0.3 * span), 0.2)
    chart.words(chart.x[0] + 0.02 * span, chart.y[1] - 0.02 * span, say("verify.times", times=times), QUIET)
    k = coverage_factor(places)
    for place in places:
        p, agrees = place.placed, place.agrees(k)
        seen_ml = p.ml_mm if place.ml_mm is None else place.ml_mm
        colour = UP if agrees else DOWN
        chart.disc(p.ml_mm, p.ap_mm, colour, 5 if agrees else 7)
        end = (p.ml_mm + times * (seen_ml - p.ml_mm), p.ap_mm + times * (place.ap_mm - p.ap_mm))
        chart.arrow((p.ml_mm, p.ap_mm), end, colour)
        if not agrees:
            off = say("verify.off", load=place.load_n - p.applied_n)
            chart.words(p.ml_mm, p.ap_mm - 0.05 * span, off, INK, "middle", 12)
    return chart.svg()


def _plate(chart: Chart, rig: Rig, cells: list[int]) -> None:
    """The plate's outline around its cells, and each cell's channel."""
    ap = [rig.cells[i].ap_mm or 0.0 for i in cells]
    ml = [rig.cells[i].ml_mm or 0.0 for i in cells]
    (left, right), (back, front) = ((min(v) - EDGE_MM, max(v) + EDGE_MM) for v in (ml, ap))
    chart.line([(left, back), (right, back), (right, front), (left, front), (left, back)], QUIET)
    for i, x, y in zip(cells, ml, ap, strict=True):
        chart.disc(x, y, QUIET, 3)
        chart.words(x + NAME_MM, y, str(rig.cells[i].channel), QUIET)
