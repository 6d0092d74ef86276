"""What keys do to a replay: hold, go on, step, seek, speed, from mark to mark."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from balance.reading import Played, PlayedMark
from drivers.samples import Playback

Playing = Literal["pause", "step", "back", "forward", "slower", "faster", "last mark", "next mark"]

SKIP_S = 5.0
NEAR_S = 0.3  # a mark so near is the one that the replay stands at
SLOWEST, FASTEST = 0.125, 16.0  # times real time


def play(played: Playback, what: Playing, marks: Sequence[PlayedMark]) -> None:
    """One of the keys' wishes."""
    at_s = played.position_s
    if what == "pause":
        (played.resume if played.is_paused else played.pause)()
    elif what == "step":
        played.pause()
        played.step()
    elif what in ("slower", "faster"):
        speed = played.speed * (2.0 if what == "faster" else 0.5)
        played.set_speed(min(max(speed, SLOWEST), FASTEST))
    elif what == "next mark":
        played.seek(min((m.at_s for m in marks if m.at_s > at_s + NEAR_S), default=played.duration_s))
    elif what == "last mark":
        played.seek(max((m.at_s for m in marks if m.at_s < at_s - NEAR_S), default=0.0))
    else:
        played.seek(at_s + (SKIP_S if what == "forward" else -SKIP_S))


def played_now(source: Playback, marks: tuple[PlayedMark, ...]) -> Played:
    """Where a replay stands."""
    return Played(source.position_s, source.duration_s, source.is_paused, source.speed, marks)
