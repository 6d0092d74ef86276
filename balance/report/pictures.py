"""Pictures of a trial: the two lanes, and loads and body line over time. Readable in grey; words beside colour."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from balance.load_line import FootFrame
from balance.report.blocks import Picture
from balance.rig import SIDES, Side
from balance.stance import Stance
from balance.words import name as word_for
from balance.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, QUIET, BAND, TINT = "#1d222b", "#5d6470", "#b08d3c", "#f6ecd2"
LINE, HANDS, LEFT, RIGHT = "#0d4a85", "#6b3374", "#0d4a85", "#a3541a"
FONT_PT = 10
SOLE, APART = 34.0, 150.0  # a sole's height and the lanes' distance, in the picture's own units
AP_MM = (-130.0, 480.0)
STYLE: Any = {"font.size": FONT_PT, "font.family": "DejaVu Sans", "svg.fonttype": "path", "svg.hashsalt": "bandstand", "axes.edgecolor": QUIET,
              "axes.labelcolor": QUIET, "xtick.color": QUIET, "ytick.color": QUIET, "hatch.color": BAND}  # fmt: skip


def lanes(findings: dict[str, Any], stance: Stance, *, everyday: bool = False) -> Picture:
    """Each shoe in profile on the plates' scale: heel edge, rocker line, band, body line with its ±, foot point, crutch tip.
    everyday: for the person, without numbers."""
    figure, axes = _figure(7.2, 3.9)
    said = []
    for side in SIDES:
        y = APART if side == "left" else 0.0
        _shoe(axes, stance, side, y)
        frame = FootFrame.of(stance, side)
        heel, cosine = float(frame.heel_mm[0]), float(frame.along[0])
        block = findings["load_line"][f"body_on_{side}"]
        if block["mean_mm"] is not None:
            at, half = heel + block["mean_mm"] * cosine, 2 * block["uncertainty_mm"]
            axes.axvspan(
                at - half, at + half, ymin=_part(y - 4), ymax=_part(y + 66), color=LINE, alpha=0.18, lw=0
            )
            axes.plot([at, at], [y - 4, y + 66], color=LINE, lw=2.4)
            label = (
                say("picture.your-weight")
                if everyday
                else say("picture.body", mm=block["mean_mm"], pm=-(-2 * block["uncertainty_mm"] // 1))
            )
            axes.text(at + half + 5, y + 54, label, color=LINE, va="center")
            said.append(
                say(
                    "picture.alt-body",
                    side=side,
                    mm=block["mean_mm"],
                    pm=-(-2 * block["uncertainty_mm"] // 1),
                )
            )
        foot = findings["load_line"][side]
        if foot["mean_mm"] is not None and not everyday:
            at = heel + foot["mean_mm"] * cosine
            axes.plot([at], [y - 10], marker="^", color=INK, ms=8)
            axes.text(at + 9, y - 14, say("window.foot-point"), color=QUIET, va="center")
        crutch = stance.crutch(side)
        if stance.uses_crutch(side) and crutch is not None and crutch.tip_ap_mm is not None:
            share = findings["load"][f"{side}_crutch_pct"]
            axes.plot([crutch.tip_ap_mm], [y + 5], marker="o", color=HANDS, ms=9)
            text = say("picture.tip") if share is None or everyday else say("picture.tip-pct", pct=share)
            axes.text(crutch.tip_ap_mm, y + 16, text, color=HANDS, ha="center")
    axes.set_xlim(*AP_MM)
    axes.set_ylim(-40, APART + 100)
    axes.set_yticks([])
    for edge in ("left", "right", "top"):
        axes.spines[edge].set_visible(False)
    if everyday:
        axes.set_xticks([])
        axes.spines["bottom"].set_visible(False)
        return _picture(figure, say("picture.alt-everyday"), say("picture.everyday"))
    axes.set_xlabel(say("window.area-forward"))
    return _picture(figure, " ".join([say("picture.alt-lanes"), *said]), say("picture.lanes"))


def _part(y: float) -> float:
    """A height as a part of the axes."""
    return (y + 40) / (APART + 140)


def _shoe(axes: Axes, stance: Stance, side: Side, y: float) -> None:
    from matplotlib.patches import PathPatch, Rectangle
    from matplotlib.path import Path

    frame, foot = FootFrame.of(stance, side), stance.foot(side)
    heel, cosine = float(frame.heel_mm[0]), float(frame.along[0])
    end = heel + foot.usable_length_mm * cosine
    corners = [(heel, y), (end, y), (end + 44, y + 2), (end + 52, y + 22), (end + 40, y + SOLE), (end - 10, y + SOLE - 8),
               (heel + 4, y + SOLE), (heel - 7, y + SOLE / 2), (heel, y)]  # fmt: skip
    bends = [
        Path.MOVETO,
        Path.LINETO,
        Path.CURVE3,
        Path.CURVE3,
        Path.LINETO,
        Path.CURVE3,
        Path.CURVE3,
        Path.CURVE3,
        Path.CURVE3,
    ]
    axes.plot(AP_MM, [y, y], color="#cdc7b8", lw=1, zorder=0)
    axes.add_patch(PathPatch(Path(corners, bends), facecolor="white", edgecolor=INK, lw=1.5))
    low, high = (heel + part * foot.usable_length_mm * cosine for part in stance.band)
    axes.add_patch(
        Rectangle((low, y + 2), high - low, SOLE - 8, facecolor="none", edgecolor=BAND, hatch="////", lw=1.5)
    )
    for edge in (heel, end):
        axes.plot([edge, edge], [y - 6, y + SOLE + 8], color=INK, lw=2)
    axes.text(AP_MM[0] + 2, y + SOLE + 40, say("window.shoe", side=side), color=INK, weight="bold")


def over_time(findings: dict[str, Any], stance: Stance, events: list[tuple[float, str]]) -> Picture:
    """Loads, and the body line on each shoe with its band; events as ticks with words. findings with ``series``."""
    series = findings["series"]
    time = series["time_s"]
    figure, (loads, places) = _figure(7.2, 4.8, rows=2)
    for name, colour, dashes in (("left", LEFT, "-"), ("right", RIGHT, "--"), ("crutches", HANDS, ":")):
        if series.get(name) is not None:
            loads.plot(
                time, _gaps(series[name]), color=colour, ls=dashes, lw=1.6, label=say(f"picture.{name}")
            )
    loads.set_ylabel(say("picture.kg"))
    loads.set_ylim(bottom=min(0.0, *loads.get_ylim()))
    loads.legend(loc="upper center", bbox_to_anchor=(0.5, 1.24), ncols=3, frameon=False)
    for side, colour, dashes in (("left", LEFT, "-"), ("right", RIGHT, "--")):
        places.plot(time, _gaps(series[f"body_on_{side}"]), color=colour, ls=dashes, lw=1.6)
    low, high = (part * stance.left_foot.usable_length_mm for part in stance.band)
    places.axhspan(low, high, facecolor=TINT, edgecolor=BAND, lw=1, zorder=0)
    bottom, top = places.get_ylim()
    room = 0.22 if events else 0.05
    places.set_ylim(min(bottom, low - 8), max(top, high + 8) + room * (top - bottom))
    places.set_ylabel(say("picture.mm"))
    places.set_xlabel(say("picture.seconds"))
    for at, detail in events:
        for axes in (loads, places):
            axes.axvline(at, color=QUIET, lw=0.8, ls=(0, (2, 3)), zorder=0)
        places.text(
            at, places.get_ylim()[1], " " + word_for(detail), va="top", ha="left", color=QUIET, fontsize=9
        )
    return _picture(figure, say("picture.alt-time"), say("picture.time"))


def _gaps(values: list[float | None]) -> list[float]:
    return [float("nan") if value is None else value for value in values]


def _figure(width: float, height: float, rows: int = 1) -> tuple[Figure, Any]:
    import matplotlib as mpl
    from matplotlib.figure import Figure

    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(width, height))
        axes = figure.subplots(rows, 1, sharex=rows > 1)
        if rows > 1:  # laid out by hand: twice as quick as by itself
            figure.subplots_adjust(left=0.09, right=0.985, top=0.91, bottom=0.105, hspace=0.12)
        else:
            figure.subplots_adjust(left=0.01, right=0.99, top=0.99, bottom=0.15)
        return figure, axes


def _picture(figure: Figure, alt: str, caption: str) -> Picture:
    return Picture(lambda: _svg(figure), lambda: _png(figure), alt, caption)


def _svg(figure: Figure) -> str:
    import matplotlib as mpl

    out = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "path", "svg.hashsalt": "bandstand", "hatch.color": BAND}):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    text = out.getvalue()
    return text[text.index("<svg") :]


def _png(figure: Figure) -> bytes:
    import matplotlib as mpl

    out = io.BytesIO()
    with mpl.rc_context({"hatch.color": BAND}):
        figure.savefig(out, format="png", dpi=170)
    return out.getvalue()
