"""Comparison and reliability from a study's tables give what the recordings give."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from balance.command_line.app import app
from tests.balance.day.a_day import AFTER, BEFORE, SHIFT, add


def bandstand(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(a) for a in arguments])


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    for code, first, second in (("A1", BEFORE, AFTER), ("A2", AFTER, BEFORE), ("A3", BEFORE, BEFORE)):
        day = folder / code / "2026-03-02"
        for k, source in enumerate((first, second), 1):
            add(day, source, f"10:{k:02d}", subject={"code": code, "body_weight_n": 627.6}, placing=k)
            add(day, SHIFT, f"11:{k:02d}", subject={"code": code, "body_weight_n": 627.6}, placing=k)
    return folder


@pytest.mark.parametrize("form", ["csv", "parquet", "jsonl"])
def test_reliability_of_a_table(study: Path, tmp_path: Path, form: str) -> None:
    out = tmp_path / f"t.{form}"
    assert bandstand("analyse", study, "--format", form, "--out", out).exit_code == 0
    recordings = json.loads(bandstand("reliability", study, "--format", "json").stdout)
    table = json.loads(bandstand("reliability", out, "--format", "json").stdout)
    assert {one["measure"] for one in table} == {one["measure"] for one in recordings}
    assert any(one["measure"].startswith("shifts.") for one in table)
    of = {one["measure"]: one for one in table}
    for one in recordings:
        for key in ("subjects", "repeats", "icc_2_1", "sem_agreement", "mdc95_agreement", "bias"):
            assert of[one["measure"]][key] == (one[key] and pytest.approx(one[key], rel=1e-9, abs=1e-12))


def test_comparison_of_tables(study: Path, tmp_path: Path) -> None:
    for code in ("A1", "A2"):
        assert (
            bandstand("analyse", study / code, "--format", "csv", "--out", tmp_path / f"{code}.csv").exit_code
            == 0
        )
    recordings = json.loads(
        bandstand(
            "compare", study / "A1", study / "A2", "--sway", "--repeats", study / "A1", "--format", "json"
        ).stdout
    )
    tables = json.loads(
        bandstand("compare", tmp_path / "A1.csv", tmp_path / "A2.csv", "--sway", "--format", "json").stdout
    )
    of = {row["measure"]: row for row in tables}
    assert set(of) == {row["measure"] for row in recordings}
    for row in recordings:
        for key in ("a", "b", "n_a", "difference", "p", "mdc95"):
            assert of[row["measure"]][key] == (row[key] and pytest.approx(row[key], rel=1e-9, abs=1e-12)), (
                row["measure"]
            )


def test_what_is_no_such_table(tmp_path: Path) -> None:
    (tmp_path / "x.csv").write_text("a,b\n1,2\n")
    (tmp_path / "x.parquet").write_bytes(b"PAR1 no")
    (tmp_path / "x.jsonl").write_text("{]\n")
    for name, words in (
        ("x.csv", "it lacks recording"),
        ("x.parquet", "cannot be read"),
        ("x.jsonl", "cannot be read"),
    ):
        done = bandstand("reliability", tmp_path / name)
        assert words in done.stderr + str(done.exception)
