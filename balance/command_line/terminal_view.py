"""The terminal view: the window's facts in 80 × 24, also over a slow line."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

from rich.console import Console, Group
from rich.live import Live
from rich.text import Text

from balance.command_line.keys import single_keys
from balance.command_line.output import result
from balance.controls import CARD, Controls
from balance.files import FileProblem
from balance.findings_words import (
    Told,
    band_words,
    expanded,
    held_elsewhere_words,
    kg,
    replay_words,
    side_of_feet,
    stands_words,
)
from balance.live_state import LiveState
from balance.load_line import FootFrame
from balance.protocols import Protocol
from balance.reading import Snapshot
from balance.rig import SIDES, Side
from balance.session import Session
from balance.stance import Stance
from balance.trial_plan import TrialPlan
from balance.words import say

WIDTH = 78
REFRESH_S = 0.25
WINDOW_ONLY = ("n", "r", "i", "seek", "marks")  # of the card of keys
RULER_MM = (-120.0, 480.0)  # what the lanes show of the plates' scale


def column(ap_mm: float) -> int:
    """Where a place on the plates' AP scale stands in a lane."""
    low, high = RULER_MM
    return round((ap_mm - low) / (high - low) * (WIDTH - 1))


def lane(stance: Stance, side: Side, snapshot: Snapshot | None) -> list[str]:
    """Two lines: the shoe with its band and the body line, and the foot point under it."""
    frame = FootFrame.of(stance, side)
    heel, cosine = frame.heel_mm[0], frame.along[0]
    upper, lower = [" "] * WIDTH, [" "] * WIDTH

    def put(row: list[str], ap_mm: float, mark: str) -> None:
        at = column(ap_mm)
        if 0 <= at < WIDTH:
            row[at] = mark

    end = heel + frame.length_mm * cosine
    for at in range(max(column(heel), 0), min(column(end), WIDTH - 1) + 1):
        upper[at] = "_"
    low, high = (heel + part * frame.length_mm * cosine for part in stance.band)
    put(upper, heel, "|")
    put(upper, end, "|")
    if snapshot is not None:
        body = snapshot.point_mm.get("body")
        place = snapshot.lines.get(f"body_on_{side}")
        if body is not None and place is not None:
            for at in range(
                column(body[0] - 2 * place.uncertainty_mm), column(body[0] + 2 * place.uncertainty_mm) + 1
            ):
                if 0 <= at < WIDTH:
                    upper[at] = "-"
    put(upper, low, "[")
    put(upper, high, "]")
    if snapshot is not None:
        if snapshot.point_mm.get("body") is not None:
            put(upper, snapshot.point_mm["body"][0], "#")
        if side in snapshot.point_mm:
            put(lower, snapshot.point_mm[side][0], "^")
        tip = snapshot.tips_mm.get(f"{side}_crutch")
        if tip is not None:
            put(upper, tip[0], "o")
            label = say("terminal.tip", kg=round(kg(snapshot.load_n.get(f"{side}_crutch", 0.0))))
            start = max(min(column(tip[0]) - len(label) // 2, WIDTH - len(label)), 0)
            lower[start : start + len(label)] = list(label)
    return ["".join(upper).rstrip(), "".join(lower).rstrip()]


def facts(snapshot: Snapshot | None) -> list[str]:
    """The live facts in words, a line each."""
    if snapshot is None:
        return []
    lines = []
    weight = snapshot.body_weight_n
    for side in SIDES:
        load = snapshot.load_n.get(side, 0.0)
        pct = "" if weight is None else say("terminal.pct", pct=round(100 * load / weight))
        lines.append(say("terminal.load", side=side, kg=round(kg(load)), pct=pct))
    if snapshot.crutch_pct is None:
        lines.append(say("terminal.crutches-unknown"))
    else:
        whole = weight if snapshot.crutch_from == "weight" and weight else snapshot.total_n
        lines.append(
            say("terminal.crutches", kg=kg(whole * snapshot.crutch_pct / 100), pct=snapshot.crutch_pct)
        )
    for side in SIDES:
        place = snapshot.lines.get(f"body_on_{side}")
        words = say("words.not-measured")
        if place is not None:
            words = band_words(place.probability_inside, place.offset_mm, place.uncertainty_mm, place.verdict)
            words = words.partition(": ")[0]  # what may hold stands in its own line
            words += say("terminal.from-heel", mm=place.mean_mm, pm=expanded(place.uncertainty_mm))
        lines.append(say("terminal.body", side=side, words=words))
    places = [snapshot.lines.get(f"body_on_{side}") for side in SIDES]
    where = side_of_feet([None if place is None else place.position_pct for place in places])
    lines.append(stands_words(snapshot.stands_on, snapshot.body_margin_mm, None, snapshot.crutch_pct, where))
    held = held_elsewhere_words(
        snapshot.unmeasured_n,
        snapshot.unmeasured_n_u,
        snapshot.unmeasured_beyond_limit,
        weight_known=weight is not None,
    )
    lines.append(say("terminal.elsewhere", words=held))
    return lines


def picture(state: LiveState, stance: Stance) -> str:
    """The whole view as text of at most 80 × 24."""
    trial = say(f"terminal.{'waiting' if state.state == 'waiting' else 'ready'}", protocol=state.chosen)
    if state.protocol is not None:
        planned = "…" if state.planned_s is None else f"{state.planned_s:.0f}"
        trial = say("terminal.recording", protocol=state.protocol, seconds=state.seconds, planned=planned)
    elif state.playback is not None:
        trial = replay_words(state.playback)
    snapshot = state.shown
    link = say(f"terminal.link-{state.link}", rate=state.rate_hz)
    delay = 0.0 if snapshot is None else snapshot.delay_ms
    rows = [
        say("terminal.title", subject=state.subject or "", trial=trial, link=link, delay=delay),
        state.next_step or "",
    ]
    for side in SIDES:
        rows += [say("terminal.side", side=side), *lane(stance, side, snapshot)]
    rows += [say("terminal.legend"), "", *facts(snapshot), ""]
    rows += [line for notice in state.notices[:2] for line in textwrap.wrap(notice, WIDTH)]
    rows = [line for row in rows for line in [row[:WIDTH]]]
    rows = rows[:21] + [""] * max(0, 21 - len(rows))
    keys = "terminal.keys" if state.playback is None else "terminal.keys-replay"
    return "\n".join([*rows, say(keys), say("caution.terminal")])


def key_card() -> str:
    """All keys, in the picture's place."""
    rows = []
    for group in ("trial", "after", "replay"):
        rows.append(say(f"keys.{group}"))
        for key in (key for key in CARD[group] if key not in WINDOW_ONLY):
            what, _, words = say(f"key.{key}").partition(" | ")
            rows.append(f"  {what:<14}{words}"[:WIDTH])
    return "\n".join([*rows, say("key.terminal")])


def run_terminal(
    make: Callable[[Callable[[], None]], Session],
    findings: Callable[[Path], Told],
    trials: list[tuple[Protocol, float | None]],
    tones: bool = True,
) -> None:
    """Shows a session until q, its end, or the end of the planned trials; findings are printed after each trial."""
    session = make(lambda: None)
    plan = TrialPlan(session, trials)
    session.open()
    session.start()
    console = Console(highlight=False)
    recorded: list[Path] = []
    controls, quiet, card = Controls(session), True, False
    try:
        with single_keys() as keys, Live(console=console, refresh_per_second=4, auto_refresh=False) as live:
            while True:
                key = keys(REFRESH_S)
                state = session.latest()
                if (state.protocol is None) != quiet:
                    quiet = state.protocol is None
                    if tones:
                        console.bell()
                plan.step(state)
                recorded += plan.finished
                plan.finished.clear()
                card = (key == "?") != card
                shown = key_card() if card else picture(state, session.stance)
                live.update(Group(Text(shown)), refresh=True)
                if (
                    key in ("q", "\x03")
                    or state.link == "ended"
                    or _is_played_out(state)
                    or plan.is_over
                    or session.finished.is_set()
                ):
                    break
                if key is not None:
                    controls.key(key)
    except KeyboardInterrupt:
        pass
    finally:
        session.stop()
    last = session.latest().recorded
    show_findings([*recorded, *([last] if last is not None and last not in recorded else [])], findings)


def show_findings(folders: list[Path], findings: Callable[[Path], Told]) -> None:
    """Of all recordings that can be read; what is wrong with the others is raised after them, as one ``FileProblem``."""
    faults: list[FileProblem] = []
    for folder in folders:
        try:
            result("\n".join(findings(folder).lines) + "\n")
        except FileProblem as fault:
            faults.append(fault)
    if faults:
        raise FileProblem(faults[0].path, *(sentence for fault in faults for sentence in fault.sentences))


def _is_played_out(state: LiveState) -> bool:
    """A replay that nobody can seek in is over at its end."""
    played = state.playback
    return not sys.stdin.isatty() and played is not None and played.position_s >= played.duration_s
