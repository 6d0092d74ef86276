"""The files used last are taken again, visibly; subjects that are there are offered."""

from __future__ import annotations

from pathlib import Path

import pytest
import typer

from balance import demo
from balance.command_line.setting_up import needed, say_subjects
from balance.command_line.settings import read_settings, subjects
from balance.files import FileProblem
from tests.balance.day.a_day import AFTER, add

RIG, STANCE, KNOWN = (demo.path(name) for name in ("rig.toml", "stance.toml", "calibration.json"))


def test_files_are_remembered_and_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(typer.Exit):
        needed(RIG, None, None, tmp_path)
    assert not (tmp_path / "bandstand.toml").exists()
    first = needed(RIG, STANCE, KNOWN, tmp_path)
    assert "used last" not in capsys.readouterr().err
    second = needed(None, None, None, tmp_path)
    assert second == first
    told = capsys.readouterr().err
    assert told.count("was used last here") == 3
    assert str(RIG.resolve()) in told
    other = tmp_path / "other.toml"
    other.write_text(STANCE.read_text())
    needed(None, other, None, tmp_path)
    assert read_settings(tmp_path).stance == str(other.resolve())


def test_a_settings_file_that_is_none_is_refused(tmp_path: Path) -> None:
    (tmp_path / "bandstand.toml").write_text("rig = 5\nluck = 1\n")
    with pytest.raises(FileProblem, match="luck"):
        needed(None, None, None, tmp_path)


def test_subjects_are_offered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    say_subjects(tmp_path / "none", "unnamed")
    assert capsys.readouterr().err == ""
    add(tmp_path / "R7T" / "2026-03-02", AFTER, "10:00")
    (tmp_path / "empty").mkdir()
    assert subjects(tmp_path) == ["R7T"]
    say_subjects(tmp_path, "unnamed")
    assert "of: R7T" in capsys.readouterr().err
    say_subjects(tmp_path, "Q1")
    assert "Q1 is new here" in capsys.readouterr().err
    say_subjects(tmp_path, "R7T")
    assert capsys.readouterr().err == ""
