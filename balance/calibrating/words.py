"""A calibration in words, a line each."""

from __future__ import annotations

from balance.calibrating.result import Calibrated
from balance.words import number, say


def calibration_lines(done: Calibrated) -> list[str]:
    """The table that a person reads."""
    known = done.calibration
    lines = [say("calibration.head", rig=known.rig, made=known.made)]
    for row, channel in zip(done.data["channels"], done.channels, strict=True):
        lines.append(
            say(
                "calibration.channel",
                channel=row["channel"],
                slope=channel.slope * 1e6,
                u=100 * float(channel.fit.covariance[0, 0]) ** 0.5 / abs(channel.slope)
                if channel.fit.dof
                else 0.0,
                residual=row["residual_n"] or 0.0,
                points=row["points"],
                loads=row["loads"],
                largest=row["largest_applied_n"],
            )
        )
        for limit in row["limits"]:
            key = {True: "met", False: "not-met", None: "open"}[limit["met"]]
            value = number(None if limit["value"] is None else abs(limit["value"]), ".2f")
            lines.append(say(f"calibration.limit-{key}", name=say(f"calibration.{limit['name']}"), value=value, limit=limit["limit"]))  # fmt: skip
    lines.append(say("calibration.shared", gain=100 * known.shared_gain_uncertainty, creep=known.creep_pct))
    lines += [say("summary.quality", text=entry["text"]) for entry in done.data["quality"]]
    lines.append(say("calibration.accepted" if done.accepted else "calibration.refused"))
    return lines
