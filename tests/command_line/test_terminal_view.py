"""The terminal view stays within 80 × 24 and says what the window says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from balance.command_line.terminal_view import picture, show_findings
from balance.files import FileProblem
from balance.findings_words import Told
from tests.window.test_window import FLOOR, state

__all__ = ["state"]


def test_80_by_24(state) -> None:
    for one in (state, replace(state, snapshot=None), replace(state, link="lost", problem="x" * 200), replace(state, protocol="weight shift", seconds=3.0, planned_s=None)):  # fmt: skip
        lines = picture(one, FLOOR.stance).split("\n")
        assert len(lines) <= 24
        assert max(map(len, lines)) <= 80
    text = picture(state, FLOOR.stance)
    for words in ("body line left", "crutches", "held elsewhere", "Not a medical device"):
        assert words in text


def test_one_that_cannot_be_read_hides_no_other(capsys: pytest.CaptureFixture[str]) -> None:
    def findings(folder: Path) -> Told:
        if folder.name.startswith("torn"):
            raise FileProblem(folder, f"{folder}: torn.")
        return Told("", [f"of {folder}"], {})

    with pytest.raises(FileProblem) as caught:
        show_findings([Path("one"), Path("torn-a"), Path("two"), Path("torn-b")], findings)
    assert str(caught.value) == "torn-a: torn.\ntorn-b: torn."
    assert capsys.readouterr().out == "of one\nof two\n"
