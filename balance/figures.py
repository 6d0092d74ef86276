"""Figures for a paper: stabilogram with its ellipse, spectra, diffusion, load over time, agreement of repeats. Readable in grey, every
curve told apart by its dashes too, every axis with its unit; each function gives a matplotlib Figure."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from balance.exporting.signals import Signals
from balance.measures import areas, diffusion, spectrum
from balance.report.pictures import HANDS, INK, LEFT, QUIET, RIGHT, STYLE
from balance.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Array = npt.NDArray[np.float64]

AXES = (("ap", LEFT, "-"), ("ml", RIGHT, "--"))
GRAVITY = 9.80665
LEAST_N = 20.0  # on both feet: below it there is no share


def feet_points(signals: Signals) -> Array:
    """(2, n) AP, ML of the feet's point over the longest stretch without a gap, mm; (2, 0) without any."""
    points = signals.point_mm["feet"]
    best = (0, 0)
    for start, end in signals.stretches:
        edges = np.diff(np.concatenate(([0], (~np.isnan(points[start:end, 0])).astype(np.int8), [0])))
        for a, b in zip(np.flatnonzero(edges == 1) + start, np.flatnonzero(edges == -1) + start, strict=True):
            best = max(best, (int(a), int(b)), key=lambda run: run[1] - run[0])
    return np.ascontiguousarray(points[best[0] : best[1]].T)


def stabilogram(points: Array) -> Figure:
    """The path of the feet's point seen from above, and its 95 % prediction ellipse. points (2, n) AP, ML in mm."""
    figure, axes = _axes(4.2, 4.2)
    ap, ml = points - points.mean(axis=1, keepdims=True)
    axes.plot(ml, ap, color=LEFT, lw=0.7)
    values, vectors = np.linalg.eigh(np.cov(np.stack([ap, ml])))
    turn = np.linspace(0, 2 * math.pi, 200)
    half = np.sqrt(areas.prediction_k2(len(ap)) * np.maximum(values, 0))
    outline = vectors @ (half[:, None] * np.stack([np.cos(turn), np.sin(turn)]))
    axes.plot(outline[1], outline[0], color=INK, lw=1.4, ls="--", label=say("figure.ellipse"))
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_xlabel(say("figure.ml"))
    axes.set_ylabel(say("figure.ap"))
    _legend(figure)
    return figure


def spectra(points: Array, rate_hz: float, kind: spectrum.Spectrum = "multitaper") -> Figure:
    """Densities of AP and ML with the frequency below which half of the power between 0.15 and 5 Hz lies."""
    figure, axes = _axes(5.2, 3.6)
    for x, (axis, colour, dashes) in zip(points, AXES, strict=True):
        f, density = spectrum.multitaper(x, rate_hz) if kind == "multitaper" else spectrum.welch(x, rate_hz)
        shown = (f >= spectrum.LOW_HZ) & (f <= spectrum.HIGH_HZ)
        half_hz = spectrum.spectral(x, rate_hz, kind)["power50_hz"]
        words = say("figure.axis-half", axis=axis.upper(), hz=half_hz or math.nan)
        axes.loglog(f[shown], density[shown], color=colour, ls=dashes, lw=1.3, label=words)
    axes.set_xticks([0.2, 0.5, 1, 2, 5], ["0.2", "0.5", "1", "2", "5"])
    axes.minorticks_off()
    axes.set_xlabel(say("figure.hz"))
    axes.set_ylabel(say("figure.density"))
    _legend(figure)
    return figure


def diffusion_plot(points: Array, rate_hz: float) -> Figure:
    """Mean square displacement over time apart, AP and ML, with the two regions' straight lines."""
    figure, axes = _axes(5.2, 3.6)
    for x, (axis, colour, dashes) in zip(points, AXES, strict=True):
        square = diffusion.mean_square_displacement(x, min(round(diffusion.LONG_S[1] * rate_hz), len(x) - 2))
        apart_s = np.arange(len(square)) / rate_hz
        axes.plot(apart_s, square, color=colour, ls=dashes, lw=1.5, label=axis.upper())
        for low, high in (diffusion.SHORT_S, diffusion.LONG_S):
            inside = (apart_s > 0) & (apart_s >= low) & (apart_s <= high)
            if np.count_nonzero(inside) > 2:
                slope, level = np.polyfit(apart_s[inside], square[inside], 1)
                reach = np.array([low, min(2.5 * high if high < 1 else high, apart_s[-1])])
                axes.plot(reach, level + slope * reach, color=INK, lw=0.9, ls=":")
    axes.set_ylim(bottom=0)
    axes.set_xlabel(say("figure.apart"))
    axes.set_ylabel(say("figure.square"))
    _legend(figure)
    return figure


def load_over_time(signals: Signals) -> Figure:
    """Load on each foot and on the crutches, kg, and the left foot's share of both feet's load, %; events as ticks with words."""
    figure, (loads, shares) = _axes(6.4, 4.4, rows=2)
    hands = [
        signals.load_n[f"{side}_crutch"] for side in ("left", "right") if f"{side}_crutch" in signals.load_n
    ]
    for name, load, colour, dashes in (("left", signals.load_n["left"], LEFT, "-"), ("right", signals.load_n["right"], RIGHT, "--"),
                                       ("crutches", sum(hands) if hands else None, HANDS, ":")):  # fmt: skip
        if load is not None:
            loads.plot(
                signals.time_s,
                np.asarray(load) / GRAVITY,
                color=colour,
                ls=dashes,
                lw=1.3,
                label=say(f"picture.{name}"),
            )
    feet = signals.load_n["left"] + signals.load_n["right"]
    share = np.divide(
        100 * signals.load_n["left"], feet, out=np.full(len(feet), np.nan), where=feet > LEAST_N
    )
    shares.plot(signals.time_s, share, color=INK, lw=1.1)
    loads.set_ylim(0, loads.get_ylim()[1] * (1.18 if signals.events else 1.0))
    for at, _, detail in signals.events:
        for axes in (loads, shares):
            axes.axvline(at, color=QUIET, lw=0.8, ls=(0, (2, 3)))
        loads.text(at, loads.get_ylim()[1], f" {detail}", va="top", fontsize=9, color=QUIET)
    shares.set_xlabel(say("picture.seconds"))
    loads.set_ylabel(say("picture.kg"))
    shares.set_ylabel(say("figure.share"))
    _legend(figure)
    return figure


def agreement_plot(first: Array, second: Array, measure: str, unit: str) -> Figure:
    """Differences of two repeats over their means, (n,) each; bias and limits of agreement at 1.96 SD (Bland & Altman 1986)."""
    figure, axes = _axes(5.2, 3.6)
    mean, difference = (first + second) / 2, second - first
    axes.plot(mean, difference, "o", color=LEFT, ms=5, mfc="none")
    bias, reach = float(difference.mean()), 1.96 * float(difference.std(ddof=1))
    for at, dashes, key in (
        (bias, "-", "bias"),
        (bias - reach, "--", "limit"),
        (bias + reach, "--", "limit"),
    ):
        axes.axhline(at, color=INK, lw=1, ls=dashes)
        axes.annotate(
            say(f"figure.{key}", value=at),
            (1.0, at),
            xycoords=("axes fraction", "data"),
            va="bottom",
            ha="right",
            fontsize=9,
        )
    axes.set_xlabel(say("figure.mean-of", measure=measure, unit=unit))
    axes.set_ylabel(say("figure.difference", unit=unit))
    return figure


def _axes(width: float, height: float, rows: int = 1) -> tuple[Figure, Any]:
    import matplotlib as mpl
    from matplotlib.figure import Figure

    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(width, height), layout="constrained")
        axes = figure.subplots(rows, 1, sharex=rows > 1)
    for one in figure.axes:
        one.spines[["top", "right"]].set_visible(False)
    return figure, axes


def _legend(figure: Figure) -> None:
    """Above the picture, where it covers nothing."""
    lines, names = figure.axes[0].get_legend_handles_labels()
    figure.legend(lines, names, loc="outside upper center", ncols=len(names), frameon=False)


def save(figure: Figure, path: Any) -> None:
    """PNG, SVG or PDF by the ending; the same figure gives the same bytes. Raises OSError."""
    import matplotlib as mpl

    dates = {
        ".svg": {"Date": None, "Creator": None},
        ".pdf": {"CreationDate": None, "Creator": None, "Producer": None},
    }
    with mpl.rc_context(STYLE):
        figure.savefig(path, dpi=200, metadata=dates.get(path.suffix, {"Software": None}))
