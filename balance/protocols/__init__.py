"""One file a protocol: how long it lasts, what is said when. A new one is one new file and its line in ``ALL``."""

from __future__ import annotations

from balance.protocols import crutch_load, free, lean, noise_floor, quiet_standing, weight_shift
from balance.protocols.protocol import Cue, Protocol

ALL: dict[str, Protocol] = {
    one.PROTOCOL.name: one.PROTOCOL
    for one in (quiet_standing, weight_shift, crutch_load, lean, noise_floor, free)
}

__all__ = ["ALL", "Cue", "Protocol", "by_name"]


def by_name(name: str) -> Protocol | None:
    """The protocol of that name, written with spaces or hyphens."""
    return ALL.get(name.replace("-", " "))
