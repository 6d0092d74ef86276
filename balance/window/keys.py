"""Which key and which button ask for what; keys that stand in no table here are typed to the session."""

from __future__ import annotations

from PySide6.QtCore import Qt

BUTTONS = ("start", "hands-free", "mark", "zero", "front", "trials", "what-if", "help")
REPLAY_BUTTONS = {
    "hold": "start",
    "one": "step",
    "on": "forward",
    "front": "front",
    "what-if": "what-if",
    "help": "help",
}
QT_KEYS = {
    Qt.Key.Key_F: "front", Qt.Key.Key_A: "area", Qt.Key.Key_L: "lanes", Qt.Key.Key_G: "chart", Qt.Key.Key_I: "what-if", Qt.Key.Key_R: "trials",
    Qt.Key.Key_E: "findings", Qt.Key.Key_N: "set-up", Qt.Key.Key_F1: "help", Qt.Key.Key_Question: "help", Qt.Key.Key_F2: "picture", Qt.Key.Key_V: "person", Qt.Key.Key_B: "mirror",
    Qt.Key.Key_D: "dark", Qt.Key.Key_Plus: "larger", Qt.Key.Key_Equal: "larger", Qt.Key.Key_Minus: "smaller", Qt.Key.Key_Escape: "stand", Qt.Key.Key_Q: "end",
    Qt.Key.Key_PageDown: "start", Qt.Key.Key_F5: "start", Qt.Key.Key_PageUp: "mark",
}  # fmt: skip
REPLAY_QT_KEYS = {
    Qt.Key.Key_Left: "back", Qt.Key.Key_Right: "forward", Qt.Key.Key_Up: "last mark", Qt.Key.Key_Down: "next mark", Qt.Key.Key_B: "back", Qt.Key.Key_N: "forward",
}  # fmt: skip


def asked_by_key(key: Qt.Key, *, is_replay: bool) -> str | None:
    """What the window does at a key; None: nothing of its own."""
    return (REPLAY_QT_KEYS.get(key) if is_replay else None) or QT_KEYS.get(key)


def buttons(*, is_replay: bool) -> dict[str, str]:
    """The row below: each button's name and what it asks for."""
    return REPLAY_BUTTONS if is_replay else {what: what for what in BUTTONS}
