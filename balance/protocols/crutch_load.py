"""Crutch load: tips as they are, nearer, lighter hands, and lifted only if the clinician says so; each step is said, and an event."""

from balance.protocols.protocol import Cue, Protocol

PROTOCOL = Protocol(
    "crutch load",
    40.0,
    (
        Cue(0.0, "tips as they are", "step"),
        Cue(12.0, "tips nearer", "step"),
        Cue(26.0, "lighter hands", "step"),
    ),
    on_request=Cue(0.0, "tips lifted", "step"),
)
