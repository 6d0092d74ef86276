"""What is noted of a session while it runs: what the person says of a trial, adjustments, placings; each into its file at once."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

from balance.day.notes import TO_DESCRIBE, Adjustment, Notes, Placing, read_notes, write_notes
from balance.files import FileProblem
from balance.placing import Way
from balance.recording import amend
from balance.words import say


class NotNoted(Exception):
    """A note could not be kept; the message says why."""


class Noting:
    """Beside the newest recording. Every method gives the sentence to show; raises NotNoted."""

    def __init__(self) -> None:
        self._recorded: Path | None = None
        self._said: dict[str, Any] = {}

    def closed(self, recording: Path) -> None:
        """A recording that what is noted now belongs to."""
        self._recorded, self._said = recording, {}

    def person_says(self, entry: dict[str, Any]) -> str:
        """Into the newest recording's header."""
        if self._recorded is None:
            return say("session.no-trial-to-note")
        self._said |= entry
        try:
            amend(self._recorded, person_says=self._said)
        except OSError as error:
            raise NotNoted(
                say("recording.write", folder=self._recorded, reason=error.strerror or str(error))
            ) from None
        return say(
            "session.noted", words=", ".join(say(f"report.says-{k}", value=v) for k, v in entry.items())
        )

    def adjusted(self, temporary: bool = False) -> str:
        """An adjustment made just now, or something tried; what it was is noted later."""
        if self._recorded is None:
            return say("session.no-trial-to-note")
        entry = Adjustment(when=_now(), what="other", note=TO_DESCRIBE, temporary=True if temporary else None)
        self._note(lambda notes: {"adjustments": [*notes.adjustments, entry]})
        return say("session.tried" if temporary else "session.adjusted", time=(entry.when or "")[11:16])

    def describe(self, what: str) -> str | None:
        """What the adjustment just noted was; None where it is described already, or there is none."""
        if self._recorded is None:
            return None
        told = None

        def changed(notes: Notes) -> dict[str, Any]:
            nonlocal told
            entry = notes.adjustments[-1] if notes.adjustments else None
            if entry is None or entry.note != TO_DESCRIBE:
                return {}
            described = entry.model_copy(update={"what": what, "note": None})
            told = say("session.described", what=what, time=(entry.when or "")[11:16])
            return {"adjustments": [*notes.adjustments[:-1], described]}

        self._note(changed)
        return told

    def placed(self, number: int, way: Way) -> None:
        """The feet put down; before the first recording there is no file for it yet."""
        if self._recorded is not None:
            entry = Placing(number=number, when=_now(), how=way)
            self._note(lambda notes: {"placings": [*notes.placings, entry]})

    def _note(self, changes: Callable[[Notes], dict[str, Any]]) -> None:
        assert self._recorded is not None
        day = self._recorded.parent
        try:
            notes = read_notes(day)
            write_notes(day, notes.model_copy(update=changes(notes)))
        except (FileProblem, OSError) as error:
            raise NotNoted(str(error)) from None


def _now() -> str:
    return datetime.datetime.now().astimezone().isoformat(timespec="seconds")
