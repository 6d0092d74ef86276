"""Closed recordings are analysed beside the window."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from balance.files import FileProblem
from balance.findings_words import Told
from balance.window.analyses import GIVES_WAY, Analyses
from balance.words import say


def what_is_in(folder: Path) -> Told:
    """In place of an analysis, in the other process."""
    if folder.name.endswith("killed"):
        os._exit(1)
    if folder.name.endswith("torn"):
        raise FileProblem(folder, f"{folder}: torn", "the rest")
    return Told(f"{folder.name}, {os.nice(0)}", [], {})


@pytest.fixture
def analyses() -> Iterator[Analyses]:
    made = Analyses(what_is_in)
    yield made
    made.stop()


@pytest.fixture
def lines(analyses: Analyses, qtbot: object) -> Callable[[int], list[tuple[str, bool]]]:
    """So many results, waited for."""

    def collect(count: int) -> list[tuple[str, bool]]:
        found: list[tuple[str, bool]] = []

        def are_there() -> bool:
            while (one := analyses.finished()) is not None:
                found.append((one[0].line, one[1]))
            return len(found) == count

        qtbot.waitUntil(are_there, timeout=30_000)  # type: ignore[attr-defined]
        return found

    return collect


Lines = Callable[[int], list[tuple[str, bool]]]


def test_earlier_ones_of_the_day_come_first_and_the_picture_has_precedence(analyses: Analyses, lines: Lines, tmp_path: Path) -> None:  # fmt: skip
    for name in ("1", "2", "3", "4"):  # 4 is recorded by somebody else meanwhile
        (tmp_path / name).mkdir()
        (tmp_path / name / "trial.json").touch()
    analyses.add(tmp_path / "3")
    analyses.add(tmp_path / "4")
    slow = os.nice(0) + GIVES_WAY
    assert lines(4) == [(f"1, {slow}", False), (f"2, {slow}", False), (f"3, {slow}", True), (f"4, {slow}", True)]  # fmt: skip


def test_what_goes_wrong_is_a_sentence_and_the_next_is_analysed(analyses: Analyses, lines: Lines, tmp_path: Path) -> None:  # fmt: skip
    analyses.add(tmp_path / "1 torn")
    analyses.add(tmp_path / "2 killed")
    assert lines(2) == [
        (f"{tmp_path / '1 torn'}: torn", True),
        (say("window.analysis-ended", folder=tmp_path / "2 killed"), True),
    ]
    analyses.add(tmp_path / "3")
    assert lines(1)[0][0].startswith("3, ")
