"""How much each sway measure depends on choices that somebody made: the cut-off, the rate, the length of the trial."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from balance.study.settings import Settings
from balance.words import say
from drivers.samples import SampleBlock

if TYPE_CHECKING:
    from balance.recording import Recording

CUTOFFS_HZ = (5.0, 7.5, 10.0, 12.5, None)
RATE_PARTS = (
    1,
    2,
    4,
)  # of the rate: each k conversions averaged, as a slower converter of the same kind does
LENGTH_PARTS = (1.0, 0.75, 0.5, 0.25)  # of the trial, from its beginning
CHOICES = ("cutoff", "rate", "length")


def vary(folder: Path, settings: Settings, choices: list[str]) -> dict[str, Any]:
    """{"recording", "usual": {measure: value}, "varied": [{"choice", "value", "measures": {measure: value or None}}]}. Raises
    FileProblem."""
    from balance.analysis import findings
    from balance.recording import read_recording

    recording = read_recording(folder)

    def measured(of: Recording, cutoff_hz: float | None) -> tuple[dict[str, float | None], float]:
        found = findings(
            of,
            cutoff_hz=cutoff_hz,
            spectrum=settings.spectrum,
            stance=settings.stance,
            calibration=settings.calibration,
        )
        return {
            f"sway.{axis}.{k}": v for axis, block in found["sway"].items() for k, v in block.items()
        }, found["time"]["rate_hz"]

    varied = []
    whole, rate_hz = measured(recording, settings.cutoff_hz)
    if "cutoff" in choices:
        for cutoff_hz in CUTOFFS_HZ:
            if cutoff_hz is None or cutoff_hz < rate_hz / 2:
                varied.append(
                    {"choice": "cutoff_hz", "value": cutoff_hz, "measures": measured(recording, cutoff_hz)[0]}
                )
    if "rate" in choices:
        for part in RATE_PARTS:
            slower = replace(
                recording, samples=averaged(recording.samples, part), trial=_at_rate(recording, part)
            )
            fits = (
                settings.cutoff_hz
                if settings.cutoff_hz is not None and settings.cutoff_hz < rate_hz / part / 2
                else None
            )
            varied.append(
                {"choice": "rate_hz", "value": rate_hz / part, "measures": measured(slower, fits)[0]}
            )
    if "length" in choices:
        for share in LENGTH_PARTS:
            count = max(int(len(recording.samples) * share), 2)
            shorter = replace(recording, samples=recording.samples[:count])
            varied.append(
                {
                    "choice": "length_s",
                    "value": count / rate_hz,
                    "measures": measured(shorter, settings.cutoff_hz)[0],
                }
            )
    return {"recording": recording.name, "usual": whole, "varied": varied}


def _at_rate(recording: Recording, part: int) -> Any:
    nominal = recording.trial.rate_hz
    return recording.trial.model_copy(update={"rate_hz": nominal / part if nominal else None})


def averaged(block: SampleBlock, part: int) -> SampleBlock:
    """Each ``part`` samples that follow one another as one: counts averaged, time and number of the last, status of all."""
    if part == 1:
        return block
    group = block.sequence // part
    starts = np.flatnonzero(np.concatenate(([True], np.diff(group) != 0)))
    whole = starts[np.diff(np.concatenate((starts, [len(block)]))) == part]
    rows = whole[:, None] + np.arange(part)
    counts = np.round(block.counts[rows].mean(axis=1)).astype(block.counts.dtype)
    status = np.bitwise_or.reduce(block.status[rows], axis=1)
    return SampleBlock(group[whole], block.board_us[rows[:, -1]], status, counts, None)


def vary_lines(table: dict[str, Any]) -> list[str]:
    """For a person: a line a measure and choice, the values with their change against the usual one."""
    lines = [table["recording"]]
    for choice in dict.fromkeys(one["choice"] for one in table["varied"]):
        of = [one for one in table["varied"] if one["choice"] == choice]
        heads = [say("study.vary-none") if one["value"] is None else f"{one['value']:g}" for one in of]
        lines += ["", say("study.vary-head", choice=choice, values="".join(f"{head:>18}" for head in heads))]
        for measure, usual in table["usual"].items():
            cells = []
            for one in of:
                value = one["measures"][measure]
                change = "" if value is None or not usual else f" ({100 * (value / usual - 1):+.0f} %)"
                cells.append(f"{'–' if value is None else f'{value:.4g}' + change:>18}")
            if any(cell.strip() != "–" for cell in cells):
                lines.append(f"{measure:<44}{''.join(cells)}")
    return lines
