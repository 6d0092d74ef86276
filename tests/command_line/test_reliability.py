"""Reliability over folders of people, and the list of measures."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from balance.analysis import findings
from balance.command_line.app import app
from balance.recording import read_recording
from tests.balance.day.a_day import AFTER, BEFORE, add


def test_people_with_unequal_repeats(tmp_path: Path) -> None:
    for person, sources in (("A1", (AFTER, BEFORE, AFTER)), ("A2", (BEFORE, AFTER)), ("A3", (AFTER,))):
        for k, source in enumerate(sources):
            subject = {**json.loads((source / "trial.json").read_text())["subject"], "code": person}
            add(tmp_path / person / "2026-03-02", source, f"10:0{k}", placing=k + 1, subject=subject)
    done = CliRunner().invoke(app, ["reliability", str(tmp_path), "--format", "json"])
    assert done.exit_code == 0, done.stderr
    entries = {one["measure"]: one for one in json.loads(done.stdout)}
    one = entries["load_line.body_on_left.mean_mm"]
    assert (one["subjects"], one["repeats"], one["unbalanced"]) == (2, 2, True)
    assert "2 placings were left out" in one["quality"][0]["text"]
    assert one["bias"] == pytest.approx(0, abs=1e-9)
    assert one["mdc95_agreement"] == pytest.approx(1.96 * 2**0.5 * one["sem_agreement"])
    assert "sway.resultant.path_mm" in entries
    assert "SEM" in CliRunner().invoke(app, ["reliability", str(tmp_path)]).stdout
    few = CliRunner().invoke(app, ["reliability", str(tmp_path / "A1")])
    assert few.exit_code == 2
    assert "two subjects" in few.stderr


def test_every_sway_key_is_declared_and_nothing_else() -> None:
    done = CliRunner().invoke(app, ["measures", "--format", "json"])
    declared = {(one["measure"], axis) for one in json.loads(done.stdout) for axis in one["axes"]}
    found = findings(read_recording(AFTER))
    keys = {(key, axis) for axis, block in found["sway"].items() for key in block}
    assert declared == keys | {(key, "both feet") for key in found["coordination"]}
    assert {m for m, _ in declared} == set(found["provenance"]["measure_versions"])
    for one in json.loads(done.stdout):
        assert one["unit"]
        assert one["formula"]
        assert one["source"]
    assert "Prieto" in CliRunner().invoke(app, ["measures"]).stdout


def test_other_conditions_are_left_out_and_said(tmp_path: Path) -> None:
    for person in ("A1", "A2"):
        for k in (1, 2):
            add(tmp_path / person / "2026-03-02", AFTER, f"10:0{k}", placing=k, subject={"code": person})
        add(
            tmp_path / person / "2026-03-02",
            BEFORE,
            "10:05",
            placing=2,
            subject={"code": person},
            conditions={"eyes": "closed"},
        )
    done = CliRunner().invoke(app, ["reliability", str(tmp_path), "--format", "json"])
    (one,) = [e for e in json.loads(done.stdout) if e["measure"] == "load_line.body_on_left.mean_mm"]
    assert one["sem_agreement"] == pytest.approx(0, abs=1e-9)  # the eyes closed would differ
    assert "2 recordings of other conditions" in one["quality"][0]["text"]
