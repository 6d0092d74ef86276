"""bandstand replay: a recording as if live, or its live numbers as JSON."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import result, strict_json
from balance.command_line.window_options import Language, ScreenMm, speaking
from balance.words import say


def run(
    recording: Annotated[Path, typer.Argument(metavar="REC", help=say("help.recording"))],
    speed: Annotated[float, typer.Option(min=0.05, max=1000, help=say("help.replay.speed"))] = 1.0,
    stance: Annotated[Path | None, typer.Option(help=say("help.analyse.stance"))] = None,
    calibration: Annotated[Path | None, typer.Option(help=say("help.analyse.calibration"))] = None,
    terminal: Annotated[bool, typer.Option("--terminal", help=say("help.terminal"))] = False,
    language: Language = None,
    screen_mm: ScreenMm = None,
    form: Annotated[Format, typer.Option("--format", help=say("help.replay.format"))] = Format.table,
) -> None:
    from balance.calibration import check_fits, read_calibration
    from balance.live_state import Described
    from balance.reading import PlayedMark
    from balance.recording import read_recording
    from balance.session import Session
    from balance.stance import read_stance
    from drivers.recorded_board import RecordedBoard
    from drivers.samples import BoardInfo

    speaking(language)
    read = read_recording(recording)
    trial = read.trial
    the_stance = read_stance(stance) if stance else trial.stance
    known = read_calibration(calibration) if calibration else trial.calibration
    if calibration:
        check_fits(calibration, trial.rig, known)
    rate = trial.rate_hz or _measured(read.samples)
    if form is Format.json:
        result(strict_json(_snapshots(read, the_stance, known, rate)))
        return
    first_us = int(read.samples.board_us[0])
    marks = [PlayedMark((e.board_us - first_us) / 1e6, f"{e.kind} {e.detail}".strip()) for e in read.events]
    info = BoardInfo("", "", "", 0, 0, read.samples.counts.shape[1], 1, 0, rate, 0)
    from balance.command_line.showing import show

    show(
        lambda on_news: Session(
            RecordedBoard(read.samples, info, speed=speed, hold=True), trial.rig, the_stance, known,
            described=Described(subject=trial.subject), on_news=on_news, marks=marks,
        ),
        terminal=terminal, screen_mm=screen_mm,
    )  # fmt: skip


def _measured(samples: Any) -> float:
    from balance.chain import measured_rate_hz

    return measured_rate_hz(samples)


def _snapshots(read: Any, stance: Any, calibration: Any, rate_hz: float) -> list[dict[str, Any]]:
    from balance.monitor import Monitor

    trial = read.trial
    monitor = Monitor(
        trial.rig, stance, calibration, rate_hz=rate_hz, body_weight_n=trial.body_weight_n,
        body_weight_u_n=trial.body_weight_u_n, touched=trial.is_touched,
    )  # fmt: skip
    rows = []
    for snapshot in monitor.feed(read.samples).snapshots:
        row = asdict(snapshot)
        row["support_mm"] = snapshot.support_mm.tolist()
        row["total_n_u"] = None if row["total_n_u"] != row["total_n_u"] else row["total_n_u"]
        rows.append(row)
    return rows
