"""The commands as their users call them: results, statuses, sentences instead of tracebacks."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from balance import demo
from drivers.simulated_board.lines import serve_tcp
from tests.drivers.test_sources import a_board

FILES = [
    "--rig", str(demo.path("rig.toml")), "--stance", str(demo.path("stance.toml")),
    "--calibration", str(demo.path("calibration.json")),
]  # fmt: skip


def bandstand(*args: object, expect: int = 0) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        [sys.executable, "-m", "balance", *map(str, args)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert "Traceback" not in done.stderr, done.stderr
    assert done.returncode == expect, done.stderr
    return done


@pytest.fixture(scope="module")
def session_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("demo") / "files"
    done = bandstand("demo", "--no-window", "--seconds", 12, "--out", out)
    folder = Path(done.stdout.strip().splitlines()[-1])
    assert "Not examined here: skin" in done.stdout
    return folder


def test_demo_leaves_two_recordings(session_folder: Path) -> None:
    assert sorted(p.name for p in session_folder.iterdir() if p.is_dir()) == [
        "01-quiet-standing",
        "02-weight-shift",
    ]


def test_analyse_json_is_strict_and_complete(session_folder: Path) -> None:
    done = bandstand("analyse", session_folder, "--format", "json")
    results = json.loads(done.stdout, parse_constant=lambda c: pytest.fail(f"not strict: {c}"))
    assert len(results) == 2
    for result in results:
        named = {key for entry in result["quality"] for key in entry.get("keys", [])}
        unexplained = [path for path in _nulls(result) if path not in named]
        assert not unexplained, unexplained


def _nulls(value: Any, path: str = "") -> list[str]:
    if isinstance(value, dict):
        return [
            p for k, v in value.items() if k != "quality" for p in _nulls(v, f"{path}.{k}" if path else k)
        ]
    if isinstance(value, list):
        return sorted({p for v in value for p in _nulls(v, path)})
    return [path] if value is None else []


def test_analyse_table_and_csv(session_folder: Path) -> None:
    assert "body line" in bandstand("analyse", session_folder).stdout
    lines = bandstand("analyse", session_folder, "--format", "csv").stdout.strip().splitlines()
    assert len(lines) == 3
    assert "load_line.body_on_left.mean_mm" in lines[0]


def test_same_seed_same_samples(tmp_path: Path) -> None:
    files = []
    for name in ("a", "b"):
        done = bandstand("simulate", "--out", tmp_path / name, "--seed", 4, "--seconds", 5)
        folder = Path(done.stdout.strip())
        files.append((folder / "samples.csv").read_bytes())
        truth = json.loads(folder.with_name(folder.name + ".truth.json").read_text())
        assert len(truth["sequence"]) == len(truth["cop_mm"]["body"]) == 400
    assert files[0] == files[1]


@pytest.mark.parametrize(
    "args",
    [
        ("analyse", "no-such-folder"),
        ("analyse", "."),
        ("analyse", "x", "--cutoff", "-3"),
        ("analyse", "x", "--cutoff", "nan"),
        ("repair", "no-such-folder"),
        ("replay", "no-such-folder"),
        ("simulate",),
        ("simulate", "--scenario", "no.toml", "--out", "y"),
        ("record", "--port", "socket://127.0.0.1:9"),
        ("record", "--protocol", "jumping", *FILES),
        ("record", "--port", "/dev/no-such-port", *FILES),
        ("live", "--terminal", "--port", "/dev/no-such-port", *FILES),
        ("nonsense",),
    ],
)
def test_wrong_input_is_a_sentence_and_status_2(
    args: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
    done = bandstand(*args, expect=2)
    assert done.stdout == ""
    assert done.stderr.strip()


def test_one_broken_of_many(session_folder: Path, tmp_path: Path) -> None:
    import shutil

    copy = tmp_path / "copy"
    shutil.copytree(session_folder, copy)
    (copy / "01-quiet-standing" / "samples.csv").write_text("spoiled")
    done = bandstand("analyse", copy, "--format", "json", expect=2)
    results = json.loads(done.stdout)
    assert "error" in results[0]
    assert "samples.csv" in results[0]["error"]
    assert results[1]["load"]["total_n"] > 500
    assert bandstand("analyse", copy / "01-quiet-standing", "--format", "json", expect=2).stdout == ""


def test_impossible_cutoff(session_folder: Path) -> None:
    assert "40" in bandstand("analyse", session_folder, "--cutoff", "40", expect=2).stderr


def test_record_over_a_socket(tmp_path: Path) -> None:
    with serve_tcp(a_board()) as server:
        done = bandstand(
            "record", "--port", server.address, *FILES, "--seconds", 1.5, "--out", tmp_path, "--subject", "R7T",
            "--body-weight-n", 627.6,
        )  # fmt: skip
    folder = Path(done.stdout.strip().splitlines()[-1])
    (result,) = json.loads(bandstand("analyse", folder, "--format", "json").stdout)
    assert result["time"]["samples"] == 120
    assert result["state"] == "complete"
    assert result["load"]["total_n"] == pytest.approx(627.6, abs=10)


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_stopped_record_is_complete(tmp_path: Path, number: int) -> None:
    with serve_tcp(a_board()) as server:
        process = subprocess.Popen(
            [sys.executable, "-m", "balance", "record", "--port", server.address, *FILES, "--seconds", "60", "--out", str(tmp_path), "--subject", "R7T"],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert process.stderr is not None
        line = process.stderr.readline()
        folder = Path(line.strip().split("recording into ")[1])
        while not (folder / "samples.csv").exists() or (folder / "samples.csv").stat().st_size < 2000:
            assert process.poll() is None
        process.send_signal(number)
        out, _ = process.communicate(timeout=30)
    assert process.returncode == 0
    assert out.strip().splitlines()[-1] == str(folder)
    assert json.loads((folder / "trial.json").read_text())["state"] == "complete"


def test_replay_gives_the_live_numbers(session_folder: Path) -> None:
    rows = json.loads(bandstand("replay", session_folder / "01-quiet-standing", "--format", "json").stdout)
    assert len(rows) == pytest.approx(120, abs=2)
    assert rows[-1]["lines"]["body_on_left"]["verdict"] in ("inside", "outside", "undecided")


def test_devices_without_a_board() -> None:
    done = bandstand("devices", "--port", "/dev/no-such-port", "--format", "json", expect=1)
    (row,) = json.loads(done.stdout)
    assert row["board"] is None
    assert "no such port" in row["problem"]


@pytest.mark.parametrize(
    "command", ["demo", "live", "record", "devices", "replay", "analyse", "simulate", "repair"]
)
def test_help_has_an_example(command: str) -> None:
    assert f"bandstand {command}" in " ".join(bandstand(command, "--help").stdout.split())


def test_serve_prints_its_line_first(tmp_path: Path) -> None:
    line = [sys.executable, "-m", "balance", "simulate", "--serve", "--tcp", "--seconds", "30"]
    with subprocess.Popen(line, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline().startswith("socket://127.0.0.1:")
        process.send_signal(signal.SIGTERM)
        assert process.wait(30) == 0


@pytest.mark.skipif(os.name != "posix", reason="kill -9 as POSIX has it")
def test_a_killed_record_keeps_all_but_the_last_second(tmp_path: Path) -> None:
    with serve_tcp(a_board()) as server:
        with subprocess.Popen(
            [sys.executable, "-m", "balance", "record", "--port", server.address, *FILES, "--seconds", "60", "--out", str(tmp_path), "--subject", "R7T"],
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        ) as process:  # fmt: skip
            assert process.stderr is not None
            folder = Path(process.stderr.readline().strip().split("recording into ")[1])
            samples = folder / "samples.csv"
            while not samples.exists() or samples.read_bytes().count(b"\n") < 160:
                assert process.poll() is None
            process.kill()
            process.wait(30)
        last_us = round(server.board.now_s * 1e6)
    from balance.recording import read_recording

    read = read_recording(folder)
    assert read.trial.state == "recording"
    assert last_us - int(read.samples.board_us[-1]) < 1_500_000
    bandstand("repair", folder)
    (result,) = json.loads(bandstand("analyse", folder, "--format", "json").stdout)
    assert result["state"] == "interrupted"
    assert result["time"]["samples"] == len(read.samples)


def test_a_scenario_with_faults_and_far_crutches(tmp_path: Path) -> None:
    """A dead cell, damaged bytes and a pulled plug are in the recording; tips stand where the scenario says."""
    scenario = tmp_path / "s.toml"
    scenario.write_text(
        "schema = 1\nmass_kg = 64.0\nseconds = 8.0\ntips_ahead_mm = 420.0\n"
        "[faults]\nstuck_channel = 9\ncorrupted_bytes = 0.0005\nnoise_n = 0.01\n[[faults.unplugged]]\nstart_s = 3.0\nend_s = 4.0\n"
    )
    folder = Path(bandstand("simulate", "--scenario", scenario, "--out", tmp_path / "o").stdout.strip())
    (found,) = json.loads(bandstand("analyse", folder, "--format", "json").stdout)
    assert "values-left-out" in {entry["code"] for entry in found["quality"]}
    assert found["time"]["longest_gap_s"] > 0.9
    trial = json.loads((folder / "trial.json").read_text())
    assert trial["stance"]["left_crutch"]["tip_ap_mm"] == 420.0
    assert "damaged" in (folder / "events.csv").read_text()
    bad = tmp_path / "bad.toml"
    bad.write_text("schema = 1\nmass_kg = 64.0\n[faults]\nfire = true\n")
    assert "fire" in bandstand("simulate", "--scenario", bad, "--out", tmp_path / "p", expect=2).stderr
