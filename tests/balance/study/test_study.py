"""Studies: the same table by any engine, broken off and gone on with; what is wrong in a study is a row or a sentence."""

from __future__ import annotations

import csv
import json
import os
import shutil
import signal
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from typer.testing import CliRunner, Result

from balance.command_line.app import app
from balance.recording import find_recordings
from balance.study import engines, tables
from balance.study.engines import Done, Task
from balance.study.journal import InMemory, Journal
from balance.study.run import run_study
from balance.study.settings import Settings, key_of
from tests.balance.day.a_day import AFTER, BEFORE, SHIFT, add


def bandstand(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(a) for a in arguments])


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    add(folder / "A1" / "2026-03-02", BEFORE, "10:00")
    add(folder / "A1" / "2026-03-02", AFTER, "10:10", conditions={"eyes": "closed"})
    add(folder / "Ä 2" / "2026-03-02", SHIFT, "10:00")
    add(folder / "Ä 2" / "2026-03-02", AFTER, "10:10", subject={"code": "Ä 2", "height_m": 1.7})
    return folder


def told(count: int) -> None:
    pass


def table_of(found: Iterable[dict[str, Any]]) -> list[str]:
    return [json.dumps(one, sort_keys=True) for one in found]


def test_all_engines_give_the_same(study: Path) -> None:
    folders = find_recordings(study)
    one = run_study(folders, Settings(), engines.here, InMemory(), told)
    two = run_study(folders, Settings(), lambda t, s: engines.processes(t, s, 2), InMemory(), told)
    assert table_of(one.found()) == table_of(two.found())
    assert [found["recording"] for found in one.found()] == ["/".join(f.parts[-3:]) for f in folders]


def test_broken_off_and_gone_on_with(study: Path, tmp_path: Path) -> None:
    """What is done is not done again; what changed is; the table is the same as of one go."""
    folders, asked = find_recordings(study), list[str]()

    def stops(tasks: Iterable[Task], settings: Settings) -> Iterator[Done]:
        for number, done in enumerate(engines.here(tasks, settings)):
            if number == 2:
                raise KeyboardInterrupt
            yield done

    def counts(tasks: Iterable[Task], settings: Settings) -> Iterator[Done]:
        asked.extend(folder for _, folder in tasks)
        yield from engines.here(list(tasks), settings)

    path = tmp_path / "t.csv.rows.jsonl"
    with Journal(path, go_on=False) as journal, pytest.raises(KeyboardInterrupt):
        run_study(folders, Settings(), stops, journal, told)
    with path.open("ab") as file:
        file.write(b'{"key": "torn')
    with Journal(path, go_on=True) as journal:
        done = table_of(run_study(folders, Settings(), counts, journal, told).found())
    assert asked == [str(folder) for folder in folders[2:]]
    assert done == table_of(run_study(folders, Settings(), engines.here, InMemory(), told).found())
    trial = folders[0] / "trial.json"
    trial.write_text(trial.read_text().replace('"A1"', '"A3"').replace('"R7T"', '"A3"'))
    asked.clear()
    with Journal(path, go_on=True) as journal:
        run_study(folders, Settings(), counts, journal, told)
        assert asked == [str(folders[0])]
        asked.clear()
        run_study(folders, Settings(cutoff_hz=5.0), counts, journal, told)
        assert len(asked) == 4


def test_formats_hold_the_same_numbers(study: Path, tmp_path: Path) -> None:
    for form in ("csv", "parquet", "jsonl", "json"):
        done = bandstand("analyse", study, "--format", form, "--out", tmp_path / f"t.{form}")
        assert done.exit_code == 0, done.stderr
    csv_table, parquet = pd.read_csv(tmp_path / "t.csv"), pd.read_parquet(tmp_path / "t.parquet")
    assert list(csv_table.columns) == list(parquet.columns)
    for column in csv_table.select_dtypes("number"):
        assert csv_table[column].to_numpy() == pytest.approx(
            parquet[column].to_numpy(dtype=float), rel=1e-15, nan_ok=True
        )
    lines = [json.loads(line) for line in (tmp_path / "t.jsonl").read_text().splitlines()]
    assert lines == json.loads((tmp_path / "t.json").read_text())
    assert parquet["sway.resultant.path_mm"].tolist() == [
        one["sway"]["resultant"]["path_mm"] for one in lines
    ]
    assert bandstand("analyse", study, "--format", "csv").stdout == (tmp_path / "t.csv").read_text()
    with (tmp_path / "t.dictionary.csv").open() as file:
        words = {row["column"]: row for row in csv.DictReader(file)}
    assert list(words) == list(csv_table.columns)
    assert all(row["meaning"] for row in words.values())
    assert words["sway.resultant.path_mm"]["unit"] == "mm"
    assert "Prieto" in words["sway.resultant.path_mm"]["source"]
    assert words["load.total_n_u"]["unit"] == "N"


def test_every_row_says_where_it_comes_from(study: Path) -> None:
    (row, *_) = json.loads(bandstand("analyse", study, "--format", "json").stdout)
    known = row["provenance"]
    assert (
        known["samples_sha256"]
        == json.loads((find_recordings(study)[0] / "trial.json").read_text())["samples"]["sha256"]
    )
    assert {
        "software",
        "filter",
        "spectrum",
        "stance_sha256",
        "calibration_sha256",
        "rig_sha256",
        "started",
    } <= set(known)
    assert known["measure_versions"]["path_mm"] == 1


def test_what_is_wrong_is_a_row_or_a_sentence(study: Path, tmp_path: Path) -> None:
    first = find_recordings(study)[0]
    (first / "samples.csv").write_text("nothing")
    again = study / "A1" / "2026-03-03" / "01-quiet-standing"
    shutil.copytree(find_recordings(study)[1], again)
    (study / "loop").symlink_to(study)
    odd = os.fsencode(study) + b"/\xff\xfe"
    shutil.copytree(again, os.fsdecode(odd + b"/01-free"))
    done = bandstand("analyse", study, "--format", "json", "--out", tmp_path / "t.json")
    assert done.exit_code == 2
    assert "1 of 6" in done.stderr
    rows = json.loads((tmp_path / "t.json").read_text())
    assert [("error" in row, "duplicate_of" in row) for row in rows].count((True, False)) == 1
    assert sum("duplicate_of" in row for row in rows) == 3  # AFTER stands four times in all
    assert "samples.csv" in next(row["error"] for row in rows if "error" in row)


def test_a_folder_that_may_not_be_looked_into_is_said(study: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.scandir

    def barred(path: Any) -> Any:
        if str(path).endswith("Ä 2"):
            raise PermissionError(13, "Permission denied", str(path))
        return real(path)

    monkeypatch.setattr(os, "scandir", barred)
    done = bandstand("analyse", study, "--format", "csv")
    assert "may not be looked into" in done.stderr
    assert done.exit_code == 2


def test_a_full_disk_keeps_what_was_done(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "t.csv"

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tables, "_synced", full)
    done = bandstand("analyse", study, "--format", "csv", "--out", out)
    assert done.exit_code == 2
    assert "No space left" in done.stderr
    assert not out.exists()
    monkeypatch.undo()
    asked: list[Task] = []
    monkeypatch.setattr(engines, "here", lambda tasks, settings: iter(asked.extend(tasks) or ()))
    assert bandstand("analyse", study, "--format", "csv", "--out", out, "--resume").exit_code == 0
    assert asked == []
    assert len(pd.read_csv(out)) == 4
    monkeypatch.undo()
    monkeypatch.setattr(Journal, "add", full)
    done = bandstand("analyse", study, "--format", "csv", "--out", out)
    assert (done.exit_code, "make room" in done.stderr) == (2, True)


def test_control_c_keeps_what_is_done(study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = engines.here
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # as in a program just started

    def interrupted(tasks: Iterable[Task], settings: Settings) -> Iterator[Done]:
        for done in real(tasks, settings):
            yield done
            signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(engines, "here", interrupted)
    out = tmp_path / "t.csv"
    try:
        done = bandstand("analyse", study, "--format", "csv", "--out", out)
    finally:
        signal.signal(signal.SIGINT, before)
    assert done.exit_code == 1
    assert "Stopped. 1 more" in done.stderr
    monkeypatch.undo()
    assert bandstand("analyse", study, "--format", "csv", "--out", out, "--resume").exit_code == 0
    assert len(pd.read_csv(out)) == 4


def test_keys_change_with_contents_settings_and_name(study: Path) -> None:
    one, two, *_ = find_recordings(study)
    settings = Settings().digest
    assert key_of(one, settings) == key_of(one, settings)
    assert (
        len({key_of(one, settings), key_of(two, settings), key_of(one, Settings(spectrum="welch").digest)})
        == 3
    )
    assert key_of(study / "nowhere", settings) != key_of(one, settings)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--resume"], "--out"),
        (["--format", "parquet"], "--out"),
        (["--vary", "moon"], "not known"),
        (["--ratios", "eyes"], "NAME=ABOVE/BELOW"),
        (["--ratios", "eyes=open/closed"], "no two recordings"),
        (["--cluster", "tcp://127.0.0.1:1"], "no cluster's scheduler"),
    ],
)
def test_what_cannot_be_asked(
    study: Path, arguments: list[str], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engines, "CONNECT_S", 0.5)
    done = bandstand("analyse", study, *arguments)
    assert done.exit_code == 2
    assert words in done.stderr


def test_ratios_of_what_differs_in_one_condition(tmp_path: Path) -> None:
    day = tmp_path / "A1" / "2026-03-02"
    add(day, BEFORE, "10:00", conditions={"eyes": "open", "floor": "firm"})
    add(day, AFTER, "10:05", conditions={"eyes": "closed", "floor": "firm"})
    add(day, AFTER, "10:10", conditions={"eyes": "closed", "floor": "foam"})
    found = json.loads(bandstand("analyse", day, "--format", "json").stdout)
    done = bandstand("analyse", day, "--ratios", "eyes=closed/open", "--format", "json")
    (row,) = json.loads(done.stdout)
    paths = [one["sway"]["resultant"]["path_mm"] for one in found]
    assert row["ratios"]["resultant.path_mm"] == pytest.approx(paths[1] / paths[0])
    assert "no recording with eyes=open" in done.stderr
    assert "eyes closed (1) / open (1)" in bandstand("analyse", day, "--ratios", "eyes=closed/open").stdout


def test_vary_shows_what_depends_on_the_choice(study: Path) -> None:
    folder = find_recordings(study)[0]
    (table,) = json.loads(
        bandstand("analyse", folder, "--vary", "cutoff,rate,length", "--format", "json").stdout
    )
    usual = table["usual"]["sway.resultant.path_mm"]
    of = {(one["choice"], one["value"]): one["measures"]["sway.resultant.path_mm"] for one in table["varied"]}
    assert of["cutoff_hz", 10.0] == usual
    assert of["cutoff_hz", 5.0] < usual < of["cutoff_hz", None]
    rates = sorted(value for choice, value in of if choice == "rate_hz")
    assert [round(value) for value in rates] == [20, 40, 80]
    assert of["rate_hz", rates[0]] is None  # 20 a second are too few for a path
    assert of["length_s", 20.0] == usual
    text = bandstand("analyse", folder, "--vary", "cutoff").stdout
    assert "(+0 %)" in text


def test_values_at_the_rigs_floor_are_marked(study: Path, tmp_path: Path) -> None:
    floor = add(tmp_path / "F1" / "2026-03-02", AFTER, "09:00", protocol="noise floor")
    rows = json.loads(bandstand("analyse", study, "--floor", floor, "--format", "json").stdout)
    marked = [entry for row in rows for entry in row["quality"] if entry["code"] == "below-floor"]
    assert marked
    assert "sway.resultant.path_mm" in marked[0]["keys"]
    assert not any(key.endswith("_hz") for entry in marked for key in entry["keys"])
    told = [row["sway_bias"]["resultant"]["rms_distance_mm"] for row in rows]
    assert all(value is None or abs(value) < 50 for value in told)
    assert any(value is not None for value in told)
    table = bandstand("analyse", study, "--floor", floor, "--format", "csv").stdout
    assert "sway_bias.resultant.path_mm" in table.splitlines()[0]
    refused = bandstand("analyse", study, "--floor", find_recordings(study)[0])
    assert (refused.exit_code, "no noise floor" in refused.stderr) == (2, True)


def test_what_a_study_mixes_is_said(study: Path) -> None:
    alike = bandstand("analyse", study, "--format", "csv")
    assert "rigs" not in alike.stderr
    folder = find_recordings(study)[0]
    trial = json.loads((folder / "trial.json").read_text())
    trial["rig"]["name"], trial["software"] = "another", "bandstand 9"
    (folder / "trial.json").write_text(json.dumps(trial))
    slower = find_recordings(study)[1] / "samples.csv"
    rows = [line.split(",") for line in slower.read_text().splitlines()]
    body = [[row[0], str(2 * int(row[1])), *row[2:]] for row in rows[1:]]
    slower.write_text("\n".join(",".join(row) for row in [rows[0], *body]) + "\n")
    header = slower.with_name("trial.json")
    said = json.loads(header.read_text())
    header.write_text(
        json.dumps(
            {**said, "state": "interrupted", "samples": {"file": "samples.csv", "rows": None, "sha256": None}}
        )
    )
    done = bandstand("analyse", study, "--format", "csv")
    for words in ("40, 80 samples a second", "from 2 rigs", "several versions"):
        assert words in done.stderr


def test_parquet_without_its_extra_is_told_before_the_work_begins(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("balance.command_line.analyse.find_spec", lambda name: None)
    refused = bandstand("analyse", study, "--format", "parquet", "--out", tmp_path / "study.parquet")
    assert refused.exit_code == 2
    assert "bandstand[parquet]" in refused.stderr
    assert list(tmp_path.glob("study.parquet*")) == []
