"""Figures: what they are drawn from, that nothing is cut off, the same bytes each time; looked at by eye, not here."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from typer.testing import CliRunner, Result

from balance import figures
from balance.command_line.app import app
from balance.exporting.signals import signals_of
from balance.recording import read_recording
from tests.balance.day.a_day import AFTER, BEFORE, SHIFT, add


def bandstand(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(a) for a in arguments])


def all_figures() -> dict[str, Figure]:
    signals = signals_of(read_recording(SHIFT), 10.0)
    points = figures.feet_points(signals)
    rng = np.random.default_rng(1)
    return {
        "load": figures.load_over_time(signals), "stabilogram": figures.stabilogram(points),
        "spectra": figures.spectra(points, signals.rate_hz), "diffusion": figures.diffusion_plot(points, signals.rate_hz),
        "agreement": figures.agreement_plot(rng.normal(500, 50, 12), rng.normal(510, 50, 12), "sway.resultant.path_mm", "mm"),
    }  # fmt: skip


@pytest.mark.parametrize("name", ["load", "stabilogram", "spectra", "diffusion", "agreement"])
def test_words_are_large_enough_whole_and_with_units(name: str) -> None:
    figure = all_figures()[name]
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    page = figure.bbox
    texts = [
        t
        for axes in figure.axes
        for t in (
            *axes.texts,
            axes.xaxis.label,
            axes.yaxis.label,
            *axes.get_xticklabels(),
            *axes.get_yticklabels(),
        )
    ]
    texts += [t for legend in figure.legends for t in legend.get_texts()]
    shown = [t for t in texts if t.get_text() and t.get_visible()]
    assert shown
    for text in shown:
        assert text.get_fontsize() >= 9
    labels = [axes.get_ylabel() for axes in figure.axes]
    assert all(any(unit in label for unit in ("mm", "Hz", "kg", "%")) for label in labels)
    for legend in figure.legends:
        box = legend.get_window_extent()
        assert page.x0 <= box.x0
        assert box.x1 <= page.x1


def test_the_ellipse_is_the_measures_own() -> None:
    from balance.measures.areas import ellipse95_area_mm2

    points = figures.feet_points(signals_of(read_recording(AFTER), 10.0))
    ml, ap = figures.stabilogram(points).axes[0].lines[1].get_data()
    shoelace = 0.5 * abs(np.dot(ml, np.roll(ap, 1)) - np.dot(ap, np.roll(ml, 1)))
    centred = points - points.mean(axis=1, keepdims=True)
    assert shoelace == pytest.approx(ellipse95_area_mm2(centred, 80.0), rel=1e-3)


@pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
def test_files_are_the_same_each_time(tmp_path: Path, kind: str) -> None:
    for out in ("a", "b"):
        done = bandstand("figures", SHIFT, "--out", tmp_path / out, "--format", kind)
        assert done.exit_code == 0, done.stderr
    names = sorted(path.name for path in (tmp_path / "a").iterdir())
    assert len(names) == 4
    for name in names:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_agreement_of_repeats(tmp_path: Path) -> None:
    for k in range(3):
        add(tmp_path / f"A{k}" / "2026-03-02", BEFORE, "10:00", subject={"code": f"A{k}"}, placing=1)
        add(tmp_path / f"A{k}" / "2026-03-02", AFTER, "10:10", subject={"code": f"A{k}"}, placing=2)
    done = bandstand("figures", tmp_path, "--agreement", "sway.resultant.path_mm", "--out", tmp_path / "out")
    assert done.exit_code == 0, done.stderr
    assert (tmp_path / "out" / "agreement-sway.resultant.path_mm.png").stat().st_size > 5000
    done = bandstand(
        "figures", tmp_path / "A0", "--agreement", "sway.resultant.path_mm", "--out", tmp_path / "out"
    )
    assert (done.exit_code, "1 people" in done.stderr) == (2, True)


def test_what_is_too_short_is_said(tmp_path: Path) -> None:
    folder = add(tmp_path / "A1" / "2026-03-02", AFTER, "10:00", state="interrupted", samples=None)
    path = folder / "samples.csv"
    path.write_text("".join(path.read_text().splitlines(keepends=True)[:500]))
    done = bandstand("figures", folder, "--out", tmp_path / "out")
    assert done.exit_code == 0
    assert "6 s without a gap" in done.stderr
    assert [p.name.rsplit("_", 1)[1] for p in (tmp_path / "out").iterdir()] == ["load.png"]
