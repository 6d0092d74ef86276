"""Weight shift in double support, to each side, at the person's own pace, never rhythmic (common practice: before gait training)."""

from __future__ import annotations

from collections.abc import Sequence

from balance.protocols.protocol import Cue, Protocol

TARGETS = (50, 65, 80)  # % of body weight on a side, offered as rungs; tool default
FIRST_S, EVERY_S = (
    7.0,
    9.0,
)  # a quiet time before, and between cues: each shift has time to come, to be held, and to return

PROTOCOL = Protocol(
    "weight shift",
    40.0,
    (Cue(7.0, "shift left 50"), Cue(16.0, "shift right 50"), Cue(25.0, "shift left 80")),
)


def with_targets(targets: Sequence[int], repetitions: int = 1) -> Protocol:
    """The same with these targets, to either side, so often."""
    wanted = [(side, target) for target in targets for _ in range(repetitions) for side in ("left", "right")]
    cues = tuple(
        Cue(FIRST_S + k * EVERY_S, f"shift {side} {target}") for k, (side, target) in enumerate(wanted)
    )
    return Protocol("weight shift", FIRST_S + len(cues) * EVERY_S, cues)
