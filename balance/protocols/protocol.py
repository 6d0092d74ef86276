"""What a protocol is made of, and the states of a trial as a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

State = Literal["waiting", "ready", "running", "finished", "stopped"]
Happening = Literal["samples", "begin", "time over", "end", "lost", "again"]

# A trial's life. What is not in the table cannot happen: it leaves the state as it is.
TRANSITIONS: dict[tuple[State, Happening], State] = {
    ("waiting", "samples"): "ready",
    ("ready", "begin"): "running",
    ("ready", "lost"): "waiting",
    ("running", "time over"): "finished",
    ("running", "end"): "finished",
    ("running", "lost"): "running",
    ("finished", "again"): "ready",
    ("waiting", "end"): "stopped",
    ("ready", "end"): "stopped",
}


def after(state: State, happening: Happening) -> State:
    """The state that follows."""
    return TRANSITIONS.get((state, happening), state)


def diagram() -> str:
    """The table as text, a line a transition; DEVELOPERS.md shows it."""
    return "\n".join(f"{state} --{happening}--> {then}" for (state, happening), then in TRANSITIONS.items())


@dataclass(frozen=True)
class Cue:
    """Something said during a trial: when, and its kind and detail in events.csv, for example 'shift left 50'."""

    at_s: float
    detail: str
    kind: Literal["cue", "step"] = "cue"


@dataclass(frozen=True)
class Protocol:
    """name as in trial.json; seconds: usual length, None until stopped; cues in their order; on_request: a step that only
    the clinician begins, by a key · stands: somebody stands in it, and sitting down ends it."""

    name: str
    seconds: float | None
    cues: tuple[Cue, ...] = ()
    on_request: Cue | None = None
    stands: bool = True  # whoever is measured stands; then sitting down ends it
