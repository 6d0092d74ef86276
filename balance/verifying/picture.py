"""The plates from above with an arrow at each place: from where the mass stood to where the rig saw it, ten times as long."""

from __future__ import annotations

from balance.report.chart import DOWN, INK, QUIET, UP, Chart
from balance.rig import Rig
from balance.verifying.places import Place, coverage_factor, parts_of
from balance.words import say

TIMES = 10.0


def picture(places: list[Place], rig: Rig) -> str:
    """SVG text. Filled disc: agrees; an open ring and the error in words: does not."""
    parts = parts_of(rig)
    ap = [rig.cells[i].ap_mm or 0.0 for cells in parts.values() for i in cells] + [
        p.placed.ap_mm for p in places
    ]
    ml = [rig.cells[i].ml_mm or 0.0 for cells in parts.values() for i in cells] + [
        p.placed.ml_mm for p in places
    ]
    span = max(max(ap) - min(ap), (max(ml) - min(ml)) * 0.7, 100.0)
    middle = ((max(ap) + min(ap)) / 2, (max(ml) + min(ml)) / 2)
    chart = Chart(
        say("verify.picture"), say("window.area-right"), say("window.area-forward"),
        (middle[1] - 0.78 * span, middle[1] + 0.78 * span), (middle[0] - 0.62 * span, middle[0] + 0.62 * span), 760, 620,
    )  # fmt: skip
    for cells in parts.values():
        for i in cells:
            cell = rig.cells[i]
            at = (cell.ml_mm or 0.0, cell.ap_mm or 0.0)
            chart.disc(*at, QUIET, 3)
            chart.words(*at, f" {cell.channel}", QUIET)
    k = coverage_factor(places)
    for place in places:
        p = place.placed
        seen_ml = p.ml_mm if place.ml_mm is None else place.ml_mm
        start = (p.ml_mm, p.ap_mm)
        end = (p.ml_mm + TIMES * (seen_ml - p.ml_mm), p.ap_mm + TIMES * (place.ap_mm - p.ap_mm))
        agrees = place.agrees(k)
        colour = UP if agrees else DOWN
        chart.disc(*start, colour, 5 if agrees else 7)
        chart.arrow(start, end, colour)
        if not agrees:
            chart.words(
                start[0], start[1], say("verify.off", load=place.load_n - p.applied_n), INK, "middle", 12
            )
    return chart.svg()
