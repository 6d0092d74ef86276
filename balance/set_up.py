"""What a session stands on, each with the key that changes it: plates, calibration, zero, shoes, places, person, posture, course."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from balance.findings_words import kg
from balance.live_state import LiveState
from balance.rig import SIDES, Cell
from balance.session import Session
from balance.words import name, say


def _rounded(_: str, value: float) -> float:
    return round(value)


@dataclass(frozen=True)
class Item:
    """One line: what, its value in words, the key (or command) that changes it; done: it was done or is known in this session."""

    what: str
    value: str
    key: str
    done: bool


def items(session: Session, state: LiveState, steady: Callable[[str, float], float] = _rounded) -> list[Item]:
    """In the order in which they are looked at before somebody stands up.

    steady: the whole number to show for a value, by a name; the same as before where it hardly moved
    """
    stance, calibration = session.stance, session.calibration
    lengths = ", ".join(
        say("set-up.length", side=side, mm=stance.foot(side).usable_length_mm) for side in SIDES
    )
    band = say("set-up.band", low=100 * stance.band[0], high=100 * stance.band[1])
    weight = session.described.subject.body_weight_n if session.described.subject else None
    orthosis = session.described.orthosis
    side = orthosis.side if orthosis and orthosis.side else None
    cells_n = {} if state.link in ("lost", "waiting") else session.cells_n()
    found = [
        ("plates", session.rig.name, "", True),
        ("calibration", calibration.made[:10], "bandstand calibrate --window", True),
        ("zero", say(f"set-up.{'zeroed' if session.is_zeroed else 'not-zeroed'}"), "Z", session.is_zeroed),
        ("shoes", f"{lengths}; {band}", "bandstand place --window", True),
        ("braced", say("set-up.not-known") if side is None else name(side), "--orthosis", side is not None),
        ("crutches", say(f"set-up.crutches-{stance.crutches}"), "", True),
        ("weight", say("set-up.not-known") if weight is None else say("set-up.kg", kg=kg(weight)), "W", weight is not None),
        ("places", say(f"set-up.{'confirmed' if state.places_confirmed else 'unconfirmed'}", number=state.placing), "O, Y", state.places_confirmed),
        ("posture", name(state.posture), "U", True),
        ("trial", name(state.chosen), "1 – 5", True),
        ("course", say(f"set-up.{'hands-free' if state.course is not None else 'by-key'}"), "H", True),
    ]  # fmt: skip
    return [
        *(Item(say(f"set-up.{what}"), value, key, done) for what, value, key, done in found),
        *_cells(session.rig.cells, cells_n, steady),
    ]


def _cells(cells: Sequence[Cell], cells_n: Mapping[int, float], steady: Callable[[str, float], float]) -> Iterator[Item]:  # fmt: skip
    """What each cell carries, foot and crutch: a line for the left ones, one for the right ones."""
    for side in SIDES:
        channels = [cell.channel for cell in cells if cell.side == side]
        said = [
            say("set-up.cell", channel=c, kg=steady(f"cell {c}", 10 * kg(cells_n[c])) / 10)
            if c in cells_n
            else say("set-up.cell-none", channel=c)
            for c in channels
        ]
        all_known = all(c in cells_n for c in channels)
        yield Item(say("set-up.cells", side=side), "   ".join(said), "", all_known)
