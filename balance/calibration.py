"""What turns a cell's counts into newtons, with its evidence (calibration.json)."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Literal

from pydantic import Field, model_validator

from balance.files import Described, FileProblem, read_json
from balance.rig import MAX_CHANNELS, Rig
from balance.words import say

OLD_DAYS = 365  # tool default: cells age, and screws loosen


class Point(Described):
    """One applied load of a calibration."""

    applied_n: float
    counts: float
    direction: Literal["up", "down"] | None = None
    run: int | None = None
    seconds: float | None = Field(default=None, ge=0)
    applied_uncertainty_n: float | None = Field(default=None, ge=0)


class PlacedLoad(Described):
    """One load on a marked place, of a calibration that solved a plate's cells together."""

    ap_mm: float
    ml_mm: float
    applied_n: float
    counts: list[float]
    place_u_mm: float = Field(ge=0)
    applied_u_n: float = Field(ge=0)


class ChannelCalibration(Described):
    """newtons = newton_per_count·x + newton_per_count2·x², x = counts − zero_counts."""

    channel: int = Field(ge=0, lt=MAX_CHANNELS)
    zero_counts: float
    zero_uncertainty_counts: float = Field(ge=0)
    newton_per_count: float
    newton_per_count2: float = 0.0
    covariance: list[list[float]]
    residual_n: float = Field(ge=0)
    hysteresis_n: float | None = Field(default=None, ge=0)
    points: list[Point] = Field(default_factory=list)

    @model_validator(mode="after")
    def _consistent(self) -> ChannelCalibration:
        size = len(self.covariance)
        if size not in (1, 2) or any(len(row) != size for row in self.covariance):
            raise ValueError(say("calibration.covariance-shape", channel=self.channel))
        if size == 1 and self.newton_per_count2 != 0.0:
            raise ValueError(say("calibration.covariance-shape", channel=self.channel))
        if any(self.covariance[i][i] < 0 for i in range(size)):
            raise ValueError(say("calibration.covariance-negative", channel=self.channel))
        if self.newton_per_count == 0.0:
            raise ValueError(say("calibration.no-slope", channel=self.channel))
        return self

    @property
    def largest_applied_n(self) -> float | None:
        """The largest load of the evidence; None without points."""
        return max((abs(point.applied_n) for point in self.points), default=None)


class Calibration(Described):
    """All channels of one rig, at one date."""

    schema_: Literal[1] = Field(alias="schema")
    rig: str
    made: str
    shared_gain_uncertainty: float = Field(default=0.01, ge=0)
    creep_pct: float = Field(default=0.3, ge=0)
    channels: list[ChannelCalibration] = Field(min_length=1)
    accepted_anyway: bool | None = None
    board_id: str | None = None
    gain: int | None = None  # of the converters when it was made
    places: list[PlacedLoad] | None = None

    @model_validator(mode="after")
    def _each_once(self) -> Calibration:
        seen = [c.channel for c in self.channels]
        if len(set(seen)) != len(seen):
            raise ValueError(say("calibration.channel-twice"))
        return self

    def of(self, channel: int) -> ChannelCalibration:
        """The channel's calibration; KeyError where there is none (``check_fits`` has said so before)."""
        for one in self.channels:
            if one.channel == channel:
                return one
        raise KeyError(channel)

    def with_zeros(self, counts: dict[int, float], u_counts: dict[int, float] | None = None) -> Calibration:
        """The calibration with other zeros, by channel; their uncertainties too where given."""

        def zeroed(one: ChannelCalibration) -> ChannelCalibration:
            if one.channel not in counts:
                return one
            u = {} if u_counts is None else {"zero_uncertainty_counts": u_counts[one.channel]}
            return one.model_copy(update={"zero_counts": counts[one.channel], **u})

        return self.model_copy(update={"channels": [zeroed(one) for one in self.channels]})

    @property
    def gain_error(self) -> float:
        """Relative standard error that all channels share: masses, and creep as rectangular."""
        return float((self.shared_gain_uncertainty**2 + (self.creep_pct / 100) ** 2 / 3) ** 0.5)


def read_calibration(path: Path) -> Calibration:
    """calibration.json. Raises FileProblem."""
    return read_json(path, Calibration)


def check_fits(path: Path, rig: Rig, calibration: Calibration) -> None:
    """Raises FileProblem where a cell of the rig has no calibration: without one there are no newtons."""
    known = {c.channel for c in calibration.channels}
    missing = [c.channel for c in rig.cells if c.channel not in known]
    if missing:
        raise FileProblem(
            path, say("calibration.cell-missing", file=path, channels=", ".join(map(str, missing)))
        )


def doubts(path: Path, rig: Rig, calibration: Calibration, now: datetime.datetime) -> list[str]:
    """Sentences on what makes a calibration that fits doubtful: its age, another rig's name, not accepted when it was made."""
    sentences = []
    if calibration.rig != rig.name:
        sentences.append(say("calibration.other-rig", file=path, made_for=calibration.rig, rig=rig.name))
    try:
        made = datetime.datetime.fromisoformat(calibration.made)
    except ValueError:
        made = None
    if made is None:
        sentences.append(say("calibration.no-date", file=path, made=calibration.made[:40]))
    elif (now - (made if made.tzinfo else made.astimezone())).days > OLD_DAYS:
        sentences.append(say("calibration.old", file=path, made=calibration.made))
    if calibration.accepted_anyway:
        sentences.append(say("calibration.anyway", file=path))
    return sentences


def against_board(file: str, calibration: Calibration, board_id: str, gain: int) -> tuple[bool, str | None]:
    """(refused, sentence): at another gain counts mean other newtons; another board of the same gain is said. (False, None)
    where all is as it was, or the calibration does not know its board."""
    if calibration.gain is not None and calibration.gain != gain:
        return True, say("calibration.other-gain", file=file, made_at=calibration.gain, gain=gain)
    if calibration.board_id is not None and calibration.board_id != board_id:
        return False, say("calibration.other-board", file=file, made_on=calibration.board_id, board=board_id)
    return False, None
