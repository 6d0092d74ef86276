"""Lean: forward as far as is easy, with a helper within reach; backward only where the clinician asks for it by a key."""

from balance.protocols.protocol import Cue, Protocol

PROTOCOL = Protocol(
    "lean",
    25.0,
    (Cue(6.0, "lean forward"), Cue(18.0, "stand as before")),
    on_request=Cue(0.0, "lean back"),
)
