"""Weight shift in double support, to each side, at the person's own pace (common practice: before gait training)."""

from balance.protocols.protocol import Cue, Protocol

PROTOCOL = Protocol(
    "weight shift",
    40.0,
    (Cue(7.0, "shift left 50"), Cue(16.0, "shift right 50"), Cue(25.0, "shift left 80")),
)
