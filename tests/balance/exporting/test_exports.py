"""What is exported is read back by other people's libraries, and is what the recording says."""

from __future__ import annotations

import csv
import json
import subprocess
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from typer.testing import CliRunner, Result

from balance.chain import prepare
from balance.command_line.app import app
from balance.exporting.bids import label, read_physio
from balance.exporting.signals import Signals, on_one_grid, signals_of
from balance.forces import cell_forces
from balance.recording import read_recording
from tests.balance.day.a_day import SHIFT, add


def bandstand(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(a) for a in arguments])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return add(tmp_path / "R7T" / "2026-03-02", SHIFT, "10:00")


@pytest.fixture
def gappy(folder: Path) -> Path:
    """The same without rows 100 to 101 (filled in) and 1000 to 1099 (a gap)."""
    path = folder / "samples.csv"
    lines = path.read_text().splitlines(keepends=True)
    del lines[1001:1101], lines[101:103]
    path.write_text("".join(lines))
    trial = json.loads((folder / "trial.json").read_text())
    trial["samples"] = {"file": "samples.csv", "rows": None, "sha256": None}
    (folder / "trial.json").write_text(json.dumps({**trial, "state": "interrupted"}))
    return folder


def signals(folder: Path) -> Signals:
    return signals_of(read_recording(folder))


def test_signals_are_the_chains(folder: Path) -> None:
    recording, got = read_recording(folder), signals(folder)
    trial = recording.trial
    expected = prepare(
        recording.samples, cell_forces(trial.rig, trial.calibration, trial.zero_after_counts)
    ).raw_n
    assert np.array_equal(np.stack(list(got.cell_n.values())), expected)
    feet = got.load_n["left"] + got.load_n["right"]
    left = got.load_n["left"] / feet
    mean = left[:, None] * got.point_mm["left"] + (1 - left)[:, None] * got.point_mm["right"]
    assert got.point_mm["feet"] == pytest.approx(mean, abs=1e-9)  # the lever rule
    assert [detail for _, _, detail in got.events] == [event.detail for event in recording.events]


@pytest.mark.parametrize("to", ["csv", "parquet"])
def test_tables_round_trip(folder: Path, tmp_path: Path, to: str) -> None:
    done = bandstand("export", folder, "--to", to, "--out", tmp_path / "out")
    assert done.exit_code == 0, done.stderr
    path = tmp_path / "out" / f"{folder.name}.{to}"
    table = (
        pd.read_parquet(path)
        if to == "parquet"
        else pd.read_csv(path, dtype=str).apply(lambda c: c.astype(float))
    )
    for column, values in signals(folder).columns().items():
        assert np.array_equal(table[column].to_numpy(), values, equal_nan=values.dtype.kind == "f"), column
    with (tmp_path / "out" / f"{folder.name}.events.csv").open() as file:
        assert [
            (float(row["time_s"]), row["kind"], row["detail"]) for row in csv.DictReader(file)
        ] == signals(folder).events
    words = json.loads((tmp_path / "out" / f"{folder.name}.json").read_text())
    assert list(words["columns"]) == list(table.columns)
    assert all(said["meaning"] and said["unit"] for said in words["columns"].values())
    assert words["trial"]["rig"]["name"]
    assert "raw counts" in done.stderr


def test_c3d_by_two_readers(folder: Path, tmp_path: Path) -> None:
    ezc3d, c3d = pytest.importorskip("ezc3d"), pytest.importorskip("c3d")
    assert bandstand("export", folder, "--to", "c3d", "--out", tmp_path).exit_code == 0
    path, got = tmp_path / f"{folder.name}.c3d", signals(folder)
    one = ezc3d.c3d(str(path))
    labels = one["parameters"]["POINT"]["LABELS"]["value"]
    channels = one["parameters"]["ANALOG"]["LABELS"]["value"]
    assert one["parameters"]["POINT"]["UNITS"]["value"] == ["mm"]
    assert set(one["parameters"]["ANALOG"]["UNITS"]["value"]) == {"N"}
    analog = one["data"]["analogs"][0]
    for channel, force in got.load_n.items():
        assert analog[channels.index(f"{channel}_n")] == pytest.approx(force, rel=1e-6, abs=1e-4)
    for point, at in got.point_mm.items():
        x, y, z, _ = one["data"]["points"][:, labels.index(f"{point}_line")]
        assert x == pytest.approx(at[:, 0], rel=1e-6, abs=1e-4, nan_ok=True)
        assert y == pytest.approx(-at[:, 1], rel=1e-6, abs=1e-4, nan_ok=True)  # Y is to the left there
        assert (z[~np.isnan(z)] == 0).all()
    times = one["parameters"]["EVENT"]["TIMES"]["value"][1]
    assert times == pytest.approx([at for at, _, _ in got.events], abs=1e-5)
    with path.open("rb") as file, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the library's own: a last block that is not full
        two = c3d.Reader(file)
        assert two.point_rate == pytest.approx(got.rate_hz, rel=1e-5)
        frames = [(points, values) for _, points, values in two.read_frames()]
    assert len(frames) == len(got.time_s)
    assert frames[7][0][labels.index("body_line"), 0] == pytest.approx(got.point_mm["body"][7, 0], rel=1e-6)
    assert frames[7][1][channels.index("left_n"), 0] == pytest.approx(got.load_n["left"][7], rel=1e-6)


def test_bids_is_valid_and_round_trips(gappy: Path, tmp_path: Path) -> None:
    out = tmp_path / "set"
    other = add(
        tmp_path / "O'Ne_il" / "2026-03-02",
        SHIFT,
        "10:00",
        subject={"code": "O'Ne_il", "body_weight_n": 700.0},
    )
    done = bandstand("export", gappy, other, "--to", "bids", "--out", out)
    assert done.exit_code == 0, done.stderr
    validator = pytest.importorskip("bids_validator_deno")
    assert validator is not None
    command = Path(__file__).parents[3] / ".venv" / "bin" / "bids-validator-deno"
    checked = subprocess.run(
        [command if command.exists() else "bids-validator-deno", out],
        capture_output=True,
        text=True,
        check=False,
    )
    assert checked.returncode == 0, checked.stdout
    (data,) = (out / "sub-R7T").rglob("*_physio.tsv.gz")
    got, read = signals(gappy), read_physio(data)
    _, grid = on_one_grid(got)
    for column, values in read.items():
        assert np.array_equal(values, grid[column], equal_nan=True), column
    assert np.isnan(read["left_n"]).sum() == 100
    assert (read["measured"] == 0).sum() == 102
    people = (out / "participants.tsv").read_text().splitlines()
    assert people[1:] == ["sub-R7T\t627.6\tn/a", "sub-ONeil\t700\tn/a"]
    assert (
        bandstand("export", gappy, "--to", "bids", "--out", out).exit_code == 0
    )  # again: nothing stands twice
    assert (out / "participants.tsv").read_text().splitlines() == people


def test_gaps_are_said_and_not_filled(gappy: Path, tmp_path: Path) -> None:
    assert bandstand("export", gappy, "--to", "csv", "--out", tmp_path).exit_code == 0
    table = pd.read_csv(tmp_path / f"{gappy.name}.csv")
    assert (table["measured"] == 0).sum() == 2
    assert np.diff(table["time_s"]).max() == pytest.approx(101 / 80, rel=1e-3)


def test_labels_are_letters_and_digits() -> None:
    assert label("P-07/ä b") == "P07b"
    assert label("äöü") == "unnamed"


def test_a_broken_recording_is_said_and_the_rest_is_done(folder: Path, tmp_path: Path) -> None:
    broken = add(folder.parent, SHIFT, "10:10")
    (broken / "samples.csv").write_text("x")
    done = bandstand("export", folder.parent, "--to", "csv", "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert "samples.csv" in done.stderr
    assert (tmp_path / "out" / f"{folder.name}.csv").exists()


def test_a_cutoff_above_half_the_rate_is_refused(folder: Path, tmp_path: Path) -> None:
    done = bandstand("export", folder, "--to", "csv", "--out", tmp_path, "--cutoff", "50")
    assert (done.exit_code, "half" in done.stderr) == (2, True)
