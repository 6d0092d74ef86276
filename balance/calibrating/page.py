"""The page of a calibration: residuals over load, up and down, with the limit's band; limits; masses."""

from __future__ import annotations

from typing import Any

from balance.calibrating.evaluate import Evaluated
from balance.calibrating.result import Calibrated
from balance.calibrating.together import together_lines
from balance.calibrating.words import calibration_lines
from balance.report.chart import DOWN, INK, UP, Chart
from balance.report.page import figure, heading, page, paragraph, table
from balance.words import number, say

PLACE_COLUMNS = (
    ("ap_mm", ".1f"),
    ("ml_mm", ".1f"),
    ("applied_n", ".3f"),
    ("applied_u_n", ".3f"),
    ("place_u_mm", ".1f"),
)


def calibration_page(done: Calibrated) -> str:
    """The whole page as HTML."""
    lines = calibration_lines(done)
    parts = [paragraph(lines[-1]), paragraph(lines[0])]
    for row, channel in zip(done.data["channels"], done.channels, strict=True):
        limit = next(one["limit"] for one in row["limits"] if one["name"] == "nonlinearity_pct")
        parts.append(heading(say("page.channel", channel=channel.channel)))
        parts.append(figure(residual_chart(channel, limit).svg(), say("page.residuals", limit=limit)))
        rows = [
            [say(f"calibration.{one['name']}"), number(one["value"], ".3f"), number(one["limit"], "g"), say(f"page.met-{one['met']}"), number(one["of_capacity_pct"], ".3f"), number(one["class_limit_of_capacity_pct"], "g")]
            for one in row["limits"]
        ]  # fmt: skip
        parts.append(table([say(f"page.limit-{k}") for k in ("name", "value", "limit", "met", "capacity", "class")], rows, 1))  # fmt: skip
        parts.append(_points(channel))
    parts.append(heading(say("page.remarks")))
    parts += [paragraph(entry["text"]) for entry in done.data["quality"]] or [paragraph(say("page.none"))]
    return page(say("page.calibration", rig=done.calibration.rig), parts)


def together_page(data: dict[str, Any]) -> str:
    """The page of a calibration whose cells were solved together."""
    lines = together_lines(data)
    parts = [paragraph(line.strip()) for line in (lines[-1], *lines[:-1])]
    known = data["calibration"]
    head = [say(f"page.place-{k}") for k in ("ap", "ml", "load", "u", "place-u")]
    rows = [
        [number(p[key], spec) for key, spec in PLACE_COLUMNS]
        for p in known["places"]
    ]  # fmt: skip
    parts += [heading(say("page.places")), table(head, rows, 0)]
    return page(say("page.calibration", rig=known["rig"]), parts)


def residual_chart(channel: Evaluated, limit_pct: float) -> Chart:
    """Applied minus fitted, N, over the applied load; up filled, down hollow; the band is the limit on straightness."""
    band = limit_pct / 100 * channel.largest_n
    loads = [p.applied_n for p in channel.loaded]
    residuals = channel.fit.residuals.tolist()
    reach = max(1.25 * band, 1.15 * max(map(abs, residuals)))
    low, high = min(0.0, *loads), max(0.0, *loads)
    margin = 0.05 * (high - low)
    chart = Chart(
        say("page.chart-title", channel=channel.channel), say("page.applied"), say("page.residual"),
        (low - margin, high + margin), (-reach, reach),
    )  # fmt: skip
    chart.band(-band, band)
    chart.line([(low - margin, 0.0), (high + margin, 0.0)], INK)
    for point, residual in zip(channel.loaded, residuals, strict=True):
        down = point.direction == "down"
        chart.triangle(point.applied_n, residual, DOWN if down else UP, down)
    return chart


def _points(channel: Evaluated) -> str:
    rows = []
    residuals = iter(channel.fit.residuals.tolist())
    for point in channel.points:
        residual = next(residuals) if point.applied_n != 0 else None
        u = point.applied_uncertainty_n
        rows.append(
            [
                point.direction or "",
                "" if point.run is None else str(point.run),
                number(point.applied_n, ".3f"),
                "" if u is None else number(u, ".3f"),
                number(point.counts, ".0f"),
                "" if residual is None else number(residual, "+.3f"),
            ]
        )
    head = [say(f"page.point-{k}") for k in ("direction", "run", "load", "u", "counts", "residual")]
    return table(head, rows, 2)
