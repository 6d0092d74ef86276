"""Closed recordings are analysed one after the other in another process, which gives way to the picture."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from balance.findings_words import Told
from balance.recording import find_recordings
from balance.words import language, say, speak

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

GIVES_WAY = 10  # on the system's scale of 0 to 19; a result that comes a little later harms nobody


class Analyses:
    """``add`` a recording's folder; ``finished`` gives what was found, in the order of adding."""

    def __init__(self, findings: Callable[[Path], Told]) -> None:
        self._findings = findings
        self._process: ProcessPoolExecutor | None = None
        self._are_earlier_added = False
        # the last of the three: is it a trial just recorded
        self._waited_for: deque[tuple[Path, Future[Told], bool]] = deque()

    def add(self, folder: Path) -> None:
        """The first time, those of the day that were recorded before the program was started are found too."""
        there = [] if self._are_earlier_added else find_recordings(folder.parent)
        self._are_earlier_added = True
        for one in (*(earlier for earlier in there if earlier.name < folder.name), folder):
            self._waited_for.append((one, self._begun(one), one is folder))

    def _begun(self, folder: Path) -> Future[Told]:
        from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
        from multiprocessing import get_context

        if self._process is not None:
            try:
                return self._process.submit(self._findings, folder)
            except BrokenExecutor:
                self._process.shutdown()  # something ended it: another takes its place
        self._process = ProcessPoolExecutor(1, get_context("spawn"), _begin, (language(),))
        return self._process.submit(self._findings, folder)

    def finished(self) -> tuple[Told, bool] | None:
        """The next that is done, and whether it is of a trial just recorded; an error is told in its sentences."""
        if not self._waited_for or not self._waited_for[0][1].done():
            return None
        from concurrent.futures import BrokenExecutor

        folder, done, newest = self._waited_for.popleft()
        error = done.exception()
        if error is None:
            return done.result(), newest
        ended = isinstance(error, BrokenExecutor)
        problem = say("window.analysis-ended", folder=folder) if ended else str(error)
        lines = problem.splitlines() or [repr(error)]
        return Told(lines[0], lines, {}), newest

    def stop(self) -> None:
        """Those not begun are left out."""
        if self._process is not None:
            self._process.shutdown(wait=True, cancel_futures=True)


def _begin(language: str) -> None:
    """In that process, before anything else."""
    speak(language)
    if hasattr(os, "nice"):  # where it is missing, the system shares its processors by its own rules
        os.nice(GIVES_WAY)
