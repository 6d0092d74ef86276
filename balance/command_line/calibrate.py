"""bandstand calibrate: masses and counts to a calibration, from a table or guided on a board."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from balance.command_line.analyse import Format
from balance.command_line.output import message, result, strict_json, wrong
from balance.words import say

if TYPE_CHECKING:
    from balance.calibrating.limits import Limits
    from balance.calibrating.points import AppliedPoint
    from balance.rig import Rig
    from balance.verifying.places import Placed
    from drivers.samples import BoardInfo


def run(
    source: Annotated[Path | None, typer.Option("--from", help=say("help.calibrate.from"))] = None,
    from_plates: Annotated[
        Path | None, typer.Option("--from-plates", help=say("help.calibrate.from-plates"))
    ] = None,
    masses: Annotated[str | None, typer.Option(help=say("help.calibrate.masses"))] = None,
    mass_uncertainty_kg: Annotated[
        float | None, typer.Option(min=0, help=say("help.calibrate.mass-u"))
    ] = None,
    runs: Annotated[int, typer.Option(min=1, max=9, help=say("help.calibrate.runs"))] = 1,
    creep: Annotated[bool, typer.Option("--creep", help=say("help.calibrate.creep"))] = False,
    plates: Annotated[bool, typer.Option("--plates", help=say("help.calibrate.plates"))] = False,
    person: Annotated[str | None, typer.Option(help=say("help.calibrate.person"))] = None,
    port: Annotated[str | None, typer.Option(help=say("help.port"))] = None,
    window: Annotated[bool, typer.Option("--window", help=say("help.guided.window"))] = False,
    rig: Annotated[Path | None, typer.Option(help=say("help.rig"))] = None,
    limits: Annotated[Path | None, typer.Option(help=say("help.calibrate.limits"))] = None,
    degree: Annotated[int | None, typer.Option(min=1, max=2, help=say("help.calibrate.degree"))] = None,
    gravity: Annotated[float, typer.Option(min=9.7, max=9.9, help=say("help.calibrate.gravity"))] = 9.80665,
    out: Annotated[Path | None, typer.Option(help=say("help.calibrate.out"))] = None,
    report: Annotated[Path | None, typer.Option(help=say("help.calibrate.report"))] = None,
    accept_anyway: Annotated[
        bool, typer.Option("--accept-anyway", help=say("help.calibrate.anyway"))
    ] = False,
    form: Annotated[Format, typer.Option("--format", help=say("help.format"))] = Format.table,
) -> None:
    from balance.calibrating.limits import read_limits
    from balance.calibrating.points import read_points
    from balance.rig import read_rig

    the_rig = read_rig(rig) if rig else None
    the_limits = read_limits(limits) if limits else None
    ends = _Ends(the_rig, the_limits, degree, form, out, report, accept_anyway)
    if source is not None:
        ends.of_cells(read_points(source, gravity, the_rig), source)
    elif from_plates is not None and the_rig is not None:
        from balance.verifying.places import read_placed

        ends.of_plates(read_placed(from_plates, the_rig, zeros=True), from_plates)
    elif the_rig is None or (masses is None and person is None):
        raise wrong("command.calibrate-from")
    elif plates or person is not None:
        from balance.command_line.guided import board, kilograms, run_guided
        from balance.guiding.plates import PlateJob, masses_on_marks, person_on_marks

        loads = masses_on_marks(the_rig, kilograms(masses) if masses else (), mass_uncertainty_kg, gravity)
        if person is not None:
            loads += person_on_marks(the_rig, *_person(person), gravity)
        job = PlateJob(the_rig, loads)
        taken, info = run_guided(
            board(port), job.steps, say("guide.job-calibrate"), _steps_file(out), window=window
        )
        ends.of_plates(job.placed(taken), None, info)
    else:
        from balance.command_line.guided import board, kilograms, run_guided
        from balance.guiding.cells import CellJob, Masses

        totals = kilograms(masses or "")
        if len(totals) < 2:
            raise wrong("command.two-masses")
        cells = CellJob(the_rig, Masses(totals, mass_uncertainty_kg, runs, creep))
        taken, info = run_guided(
            board(port), cells.steps, say("guide.job-calibrate"), _steps_file(out), window=window
        )
        ends.of_cells(cells.points(taken, gravity), None, info)


def _steps_file(out: Path | None) -> Path | None:
    """Where the done steps of a guided calibration are kept: beside what it will write."""
    return None if out is None else out.with_name(out.name + ".steps")


def _person(text: str) -> tuple[float, float]:
    """'71.2,0.1': kilograms by a verified scale and their standard uncertainty."""
    try:
        kg, u_kg = (float(part) for part in text.split(","))
    except ValueError:
        raise wrong("command.person", text=text) from None
    if not (20 <= kg <= 300 and 0 < u_kg <= 5):
        raise wrong("command.person", text=text)
    return kg, u_kg


@dataclass(frozen=True)
class _Ends:
    """How a calibration ends, whatever its readings came from: fitted, printed, written where that is allowed, the status."""

    rig: Rig | None
    limits: Limits | None
    degree: int | None
    form: Format
    out: Path | None
    report: Path | None
    anyway: bool

    def of_cells(self, points: list[AppliedPoint], file: Path | None, info: BoardInfo | None = None) -> None:
        """One cell after the other."""
        from balance.calibrating.polynomial import CannotFit
        from balance.calibrating.result import calibrate
        from balance.calibrating.words import calibration_lines

        try:
            done = calibrate(points, self.rig, self.limits, degree=self.degree, anyway=self.anyway)
        except CannotFit as error:
            (channel,) = error.args
            raise wrong("calibrate.cannot-fit", file=file or say("guide.job-calibrate"), channel=channel, degree=self.degree or 1) from None  # fmt: skip
        if self.report is not None:
            from balance.calibrating.page import calibration_page

            result(calibration_page(done), self.report)
        self._finish(done.data, calibration_lines(done), info)

    def of_plates(self, placed: list[Placed], file: Path | None, info: BoardInfo | None = None) -> None:
        """All cells of each plate together."""
        from balance.calibrating.together import CannotTell, calibrate_together, together_lines

        assert self.rig is not None
        if all(p.applied_n for p in placed):
            raise wrong("together.no-zero", file=file)
        try:
            data = calibrate_together(placed, self.rig, self.limits, anyway=self.anyway)
        except CannotTell as error:
            message(str(error))
            raise typer.Exit(2) from None
        if self.report is not None:
            from balance.calibrating.page import together_page

            result(together_page(data), self.report)
        self._finish(data, together_lines(data), info)

    def _finish(self, data: dict[str, Any], lines: list[str], info: BoardInfo | None) -> None:
        if info is not None:
            data["calibration"] |= {"board_id": info.board_id, "gain": info.gain}
        result(strict_json(data) if self.form is Format.json else "\n".join(lines))
        if self.out is not None and (data["accepted"] or self.anyway):
            from balance.recording.writing import write_private

            write_private(self.out, strict_json(data["calibration"]) + "\n")
            message(say("command.written", file=self.out))
            if info is not None and (steps := _steps_file(self.out)) is not None:
                steps.unlink(missing_ok=True)  # the calibration carries all its evidence
        elif self.out is not None:
            message(say("command.not-accepted", file=self.out))
        if not data["accepted"]:
            raise typer.Exit(1)
