"""What a researcher is asked before recording: the conditions, and how many trials alike."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from balance.command_line.output import message
from balance.words import say

if TYPE_CHECKING:
    from balance.live_state import Described
    from balance.session import Session

MOST_REPEATS = 100


def ask(out: Path, person: Described) -> int:
    """Completes the conditions and gives the repeats; names and repeats are those used last with this folder, kept for next time."""
    from balance.command_line.settings import keep_settings, read_settings

    last = read_settings(out)
    conditions = dict(person.conditions or {})
    for name in last.conditions:
        if name not in conditions:
            value = typer.prompt(say("research.value", name=name), default="", show_default=False, err=True)
            conditions |= {name: value.strip()} if value.strip() else {}
    while text := typer.prompt(say("research.another"), default="", show_default=False, err=True).strip():
        name, equals, value = text.partition("=")
        if equals and name.strip() and value.strip():
            conditions[name.strip()] = value.strip()
        else:
            message(say("command.condition", text=text))
    repeats = 0
    while not 1 <= repeats <= MOST_REPEATS:
        repeats = typer.prompt(say("research.repeats"), default=last.repeats, type=int, err=True)
    names = list(dict.fromkeys([*last.conditions, *conditions]))
    keep_settings(out, last.model_copy(update={"conditions": names, "repeats": repeats}))
    person.conditions = conditions or None
    return repeats


def wait_for_the_next(session: Session, number: int, repeats: int) -> None:
    """Until a key is pressed or the source ends; without a terminal it goes on at once."""
    import sys

    from balance.command_line.keys import single_keys

    message(say("research.next", number=number, repeats=repeats))
    if sys.stdin.isatty():
        with single_keys() as keys:
            while keys(0.25) is None and not session.finished.is_set():
                pass
