"""What keys, buttons and pedals ask of a session; the same in window and terminal."""

from __future__ import annotations

from collections.abc import Callable

from balance.person_says import Saying
from balance.protocols import ALL
from balance.session import Session
from balance.words import name, say

# The keys that mean the same everywhere; a view may have more of its own (arrows, buttons).
LIVE_KEYS = {
    " ": "start",
    "h": "hands-free",
    "j": "adjusted",
    "x": "tried",
    "w": "weigh",
    "u": "posture",
    "c": "step on request",
    "o": "on the marks",
    "y": "by eye",
    "m": "mark",
    "z": "zero",
}
ADJUSTMENTS = {  # after j or x: what it was
    "1": "alignment angle", "2": "resistance to dorsiflexion", "3": "resistance to plantarflexion", "4": "motion limit",
    "5": "heel wedge", "6": "rocker position", "7": "knee angle", "8": "shoe",
}  # fmt: skip
CHOICES = {"1": "quiet standing", "2": "weight shift", "3": "crutch load", "4": "lean", "5": "free"}
# What the card of keys tells, in groups; each key has its sentence "key.…". Only the window has those of 'picture'.
CARD = {
    "trial": ("n", "1-5", "space", "h", "u", "c", "m", "w", "z", "oy"),
    "after": ("s", "p", "k", "j", "x", "r", "i"),
    "picture": ("l", "f", "a", "g", "e", "v", "b", "d", "plus", "F2", "F1", "esc", "q"),
    "replay": ("hold", "one", "seek", "speed", "marks"),
    "hands": ("pedal", "presenter"),
}
REPLAY_KEYS = {
    " ": "start", "p": "pause", ".": "step", "b": "back", "n": "forward", "<": "slower", ">": "faster", "[": "last mark", "]": "next mark",
}  # fmt: skip


class Controls:
    """Obeys actions by their names, and keys; what cannot be is said by the session."""

    def __init__(self, session: Session) -> None:
        self._session, self._saying = session, Saying()
        self._adjusting = False  # an adjustment was noted and the next digit may say what it was
        self._actions: dict[str, Callable[[], None]] = {
            "start": self._start,
            "mark": session.mark,
            "weigh": session.weigh,
            "zero": lambda: session.say(session.zero()),
            "adjusted": lambda: self._where_recorded(self._adjusted),
            "tried": lambda: self._where_recorded(lambda: self._adjusted(temporary=True)),
            "posture": lambda: self._where_recorded(session.next_posture),
            "step on request": lambda: self._where_recorded(session.step_on_request),
            "hands-free": lambda: self._where_recorded(self._hands_free),
            "on the marks": lambda: session.confirm_places("on the marks"),
            "by eye": lambda: session.confirm_places("by eye"),
            "pause": lambda: session.play("pause"),
            "step": lambda: session.play("step"),
            "back": lambda: session.play("back"),
            "forward": lambda: session.play("forward"),
            "slower": lambda: session.play("slower"),
            "faster": lambda: session.play("faster"),
            "last mark": lambda: session.play("last mark"),
            "next mark": lambda: session.play("next mark"),
        }

    def obey(self, what: str) -> None:
        """An action by its name; unknown ones are nothing."""
        if what in self._actions:
            self._actions[what]()

    def key(self, key: str) -> bool:
        """A key as typed; False where it means nothing here."""
        session = self._session
        if session.playback is None and session.records:
            adjusting, self._adjusting = self._adjusting, False
            session.ask(None)
            if adjusting and key in ADJUSTMENTS and session.latest().state != "running":
                session.describe_adjustment(ADJUSTMENTS[key])
                return True
            entry = self._saying.key(key)
            if entry is not None:
                session.person_says(entry)
                return True
            if self._saying.asked is not None:
                session.ask(say(f"session.asked-{self._saying.asked}"))
                return True
            if key in CHOICES:
                session.choose(ALL[CHOICES[key]])
                return True
        what = (LIVE_KEYS if session.playback is None else REPLAY_KEYS).get(key)
        if what is not None:
            self.obey(what)
        return what is not None

    def _start(self) -> None:
        session = self._session
        if session.playback is not None:
            session.play("pause")
        elif session.latest().state == "running":
            session.end_trial()
        elif session.records:
            session.try_trial(session.chosen)

    def _adjusted(self, *, temporary: bool = False) -> None:
        self._session.adjusted(temporary=temporary)
        self._adjusting = True
        choices = " · ".join(f"{key} {name(what)}" for key, what in ADJUSTMENTS.items())
        question = say("session.adjusted-what", choices=choices)
        state = self._session.latest()
        stands = state.snapshot is not None and not state.sits
        self._session.ask(f"{say('session.sit-first')} {question}" if stands else question)

    def _hands_free(self) -> None:
        self._session.hands_free(None if self._session.is_hands_free else self._session.chosen)

    def _where_recorded(self, action: Callable[[], None]) -> None:
        if self._session.records:
            action()
