"""The top of the window: who and what on the left, the link on the right, time below them, then the one place for what to do and faults."""

from __future__ import annotations

from collections.abc import Iterator

from balance.findings_words import replay_words
from balance.live_state import Link, LiveState
from balance.window.drawing import Box, Disc, Fill, Shape, Stroke, Words, rectangle
from balance.window.look import DISTANCE_M, Look
from balance.window.painted import Painted
from balance.window.steady import Steady
from balance.words import name, say

STEP_MS = 5  # delay is shown in steps of so much


class Header(Painted):
    """``draw`` draws a state."""

    def __init__(self, look: Look) -> None:
        super().__init__(say("window.header"), look)
        self._steady = Steady()
        self.smallest_px: int | None = (
            None  # of the facts that should be read from afar, as they had to be drawn
        )

    def wanted_height(self) -> int:
        """Of the window, pixels."""
        look = self.look
        return round(look.glance * 1.25 + look.small * 1.5 + look.px(26) + look.notices * look.middle * 1.45)

    def draw(self, state: LiveState, may_record: bool, at_once: str | None = None) -> None:
        """at_once: a sentence of the window's own, before all others."""
        self.show_picture(tuple(self._shapes(state, may_record, at_once)))

    def _shapes(self, state: LiveState, may_record: bool, at_once: str | None) -> Iterator[Shape]:
        look, w = self.look, float(self.width())
        colours, big = look.palette, look.glance * 1.25
        beside = look.small * 1.5
        left = w * 0.6
        yield Words(trial_words(state, may_record), Box(0, beside, left, big), round(look.middle * 1.15), colours.ink, bold=True, name="trial")  # fmt: skip
        yield Words(
            occasion_words(state), Box(0, 0, left, beside), look.small, colours.quiet, name="occasion"
        )
        yield from self._link(state, Box(left, 0, w - left, big), beside)
        y = big + beside + look.px(8)
        yield from _time(look, state, w, y)
        row = look.middle * 1.45
        for number, (sentence, urgent) in enumerate(self._told(state, may_record, at_once)):
            box = Box(0, y + look.px(12) + number * row, w, row)
            yield from _notice(look, sentence, urgent, box, number)

    def _told(self, state: LiveState, may_record: bool, at_once: str | None) -> list[tuple[str, bool]]:
        """As many sentences as there are lines for: what is wrong comes first, then what to do next, then what happened last."""
        own = [(one, False) for one in (at_once, state.question) if one][:1]
        step = state.next_step if may_record else None
        after = [(one, False) for one in [step, *state.fresh[-1:]] if one]
        wrong, room = state.wrong, self.look.notices - len(own)
        if len(wrong) > room > 0:
            wrong = [
                *wrong[: room - 1],
                f"{wrong[room - 1]} {say('window.more-wrong', count=len(wrong) - room)}",
            ]
        return [*own, *((one, True) for one in wrong), *after][: self.look.notices]

    def _link(self, state: LiveState, box: Box, beside: float) -> Iterator[Shape]:
        look, colours = self.look, self.look.palette
        good = state.link == "ok"
        words = say("link.replay" if state.playback is not None else f"link.{state.link}")
        wide = box.w - look.px(122)
        yield Words(words, Box(box.x, box.y, wide, box.h), look.glance, colours.ink, bold=not good, align="right", name="link")  # fmt: skip
        if state.playback is None:
            yield from _plug(look, state.link, box.right - look.px(48), box.y + box.h / 2)
        detail = ""
        if state.snapshot is not None and good and state.playback is None:
            delay = STEP_MS * self._steady("delay", state.snapshot.delay_ms / STEP_MS)
            detail = say("window.link-detail", rate=state.rate_hz, delay=delay)
        distance = look.read_from_m(self.smallest_px or look.glance)
        if distance < DISTANCE_M - 0.05:
            detail = f"{detail} · {say('window.read-from', metres=distance)}".removeprefix(" · ")
        yield Words(detail, Box(box.x, box.y + box.h, box.w, beside), look.small, colours.quiet, align="right", name="link detail")  # fmt: skip


def _plug(look: Look, link: Link, x: float, y: float) -> Iterator[Shape]:
    """Two ends joined, apart, or waiting: the link by a shape beside its words."""
    colours, r = look.palette, look.px(13)
    apart = r * (2.0 if link == "ok" else 2.4)
    filled = colours.ink if link == "ok" else None
    if link == "ok":
        yield Stroke(((x - apart, y), (x + apart, y)), colours.ink, look.px(7))
    for way in (-1, 1):
        yield Disc(x + way * apart, y, r, filled, colours.ink, max(2.0, look.px(4)))
    if link == "lost":
        yield Stroke(((x - r, y + 1.6 * r), (x + r, y - 1.6 * r)), colours.ink, max(2.0, look.px(5)))


def _time(look: Look, state: LiveState, w: float, y: float) -> Iterator[Shape]:
    """A thin line across: how much of the trial is recorded, or where a replay stands, with its marks."""
    colours, wide = look.palette, max(3.0, look.px(6))
    yield Stroke(((0, y), (w, y)), colours.rule, max(1.0, look.px(2)))
    part = None
    if state.protocol is not None and state.planned_s:
        part = state.seconds / state.planned_s
    elif state.playback is not None and state.playback.duration_s > 0:
        part = state.playback.position_s / state.playback.duration_s
        for mark in state.playback.marks:
            x = w * mark.at_s / state.playback.duration_s
            yield Stroke(((x, y - look.px(9)), (x, y + look.px(9))), colours.quiet, max(2.0, look.px(3)))
    if part:
        yield Stroke(((0, y), (w * min(part, 1.0), y)), colours.ink, wide)


def _notice(look: Look, sentence: str, urgent: bool, box: Box, number: int) -> Iterator[Shape]:
    colours, inset = look.palette, 0.0
    if urgent:
        inset, middle = look.px(46), box.y + box.h / 2
        a = look.px(15)
        yield Fill(((look.px(16), middle - a), (look.px(16) + a, middle + a * 0.8), (look.px(16) - a, middle + a * 0.8)), None, colours.ink, max(2.0, look.px(4)))  # fmt: skip
        dot = Box(look.px(16) - look.px(2), middle - a * 0.35, look.px(4), a * 0.75)
        yield Fill(rectangle(dot), colours.ink)
    words = Box(box.x + inset, box.y, box.w - inset, box.h)
    yield Words(sentence, words, look.middle, colours.ink, bold=urgent, name=f"notice {number}")


def occasion_words(state: LiveState) -> str:
    """Who, which placing, which posture."""
    parts = [state.subject or "", say("window.placing", number=state.placing), say("window.posture", kind=state.posture)]  # fmt: skip
    return " · ".join(part for part in (parts if state.playback is None else parts[:1]) if part)


def trial_words(state: LiveState, may_record: bool) -> str:
    """What the trial does, in words."""
    if state.protocol is not None and state.planned_s is None:
        return say("window.recording-open", protocol=state.protocol, seconds=state.seconds)
    if state.protocol is not None:
        return say("window.recording", protocol=state.protocol, seconds=state.seconds, planned=f"{state.planned_s:.0f}")  # fmt: skip
    if state.playback is not None:
        return replay_words(state.playback)
    if state.state == "waiting" or not may_record:
        return say("window.waiting" if state.state == "waiting" else "window.watching")
    usual = "window.ready" if state.places_confirmed else "window.places-first"
    return say(usual if state.course is None else "window.hands-free", protocol=name(state.chosen))
