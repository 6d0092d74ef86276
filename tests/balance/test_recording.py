"""Recordings: round trip, every kind of bad file, what a kill leaves, repair."""

from __future__ import annotations

import json
import os
import shutil
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balance import demo
from balance.command_line.setting_up import demo_floor
from balance.files import FileProblem
from balance.recording import Recorder, next_folder, read_recording, repair
from balance.trial import Trial
from drivers.samples import SampleBlock

FLOOR = demo_floor()


def a_trial() -> Trial:
    return Trial(schema=1, state="recording", protocol="quiet standing", rig=FLOOR.rig, stance=FLOOR.stance, calibration=FLOOR.calibration, rate_hz=80.0)  # fmt: skip


def a_block(n: int = 50, first: int = 0, seed: int = 1, dt: bool = True) -> SampleBlock:
    rng = np.random.default_rng(seed)
    sequence = np.arange(first, first + n)
    return SampleBlock(
        sequence, sequence * 12_500, np.zeros(n, dtype=np.int64), rng.integers(-(2**23), 2**23, (n, 10)),
        rng.integers(-9000, 0, (n, 10)) if dt else None,
    )  # fmt: skip


def write(folder: Path, blocks: list[SampleBlock]) -> Path:
    recorder = Recorder(folder, a_trial())
    for block in blocks:
        recorder.put(block)
    recorder.event(100, "mark", "a, b\nc")
    assert recorder.problem is None
    return recorder.close()


@settings(deadline=None, max_examples=20)
@given(
    st.integers(0, 10_000),
    st.lists(st.integers(1, 40), min_size=1, max_size=5),
    st.booleans(),
    st.integers(0, 10**12),
)
def test_round_trip(seed: int, sizes: list[int], dt: bool, first: int) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as scratch:
        blocks, at = [], first
        for size in [*sizes, 2]:
            blocks.append(a_block(size, at, seed, dt))
            at += size
        read = read_recording(write(Path(scratch) / "x", blocks))
        assert np.array_equal(read.samples.counts, np.concatenate([b.counts for b in blocks]))
        assert np.array_equal(read.samples.sequence, np.arange(first, at))
        assert (read.samples.dt_us is not None) == dt
        assert read.trial.state == "complete"
        assert [(e.kind, e.detail) for e in read.events] == [("mark", "a, b c")]


def test_only_the_owner_reads_it(tmp_path: Path) -> None:
    folder = write(tmp_path / "x", [a_block()])
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {stat.S_IMODE(p.stat().st_mode) for p in folder.iterdir()} == {0o600}


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    write(tmp_path / "x", [a_block()])
    before = (tmp_path / "x" / "samples.csv").read_bytes()
    with pytest.raises(FileProblem, match="exists already"):
        Recorder(tmp_path / "x", a_trial())
    assert (tmp_path / "x" / "samples.csv").read_bytes() == before


def test_a_full_disk_is_said_and_what_was_written_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    recorder = Recorder(tmp_path / "x", a_trial())
    recorder.put(a_block(20))
    full = recorder._samples

    class Full:
        def write(self, data: bytes) -> int:
            raise OSError(28, "No space left on device")

        def __getattr__(self, name: str) -> object:
            return getattr(full, name)

    while recorder._rows < 20:
        recorder._thread.join(0.01)
    monkeypatch.setattr(recorder, "_samples", Full())
    recorder.put(a_block(20, 20))
    recorder.put(a_block(20, 40))
    recorder.close()
    assert recorder.problem is not None
    assert "No space left" in recorder.problem
    read = read_recording(tmp_path / "x")
    assert read.trial.state == "interrupted"
    assert len(read.samples) == 20


def test_an_overflow_is_loud(tmp_path: Path) -> None:
    recorder = Recorder(tmp_path / "x", a_trial(), queue_blocks=1)
    for i in range(2000):
        recorder.put(a_block(1, i))
    recorder.close()
    if recorder.problem is not None:  # the disk may be quick enough
        assert "spoiled" in recorder.problem


@pytest.mark.parametrize("lost", [1, 5, 30, 60, 200])
def test_cut_off_anywhere_and_repaired(tmp_path: Path, lost: int) -> None:
    folder = write(tmp_path / "x", [a_block()])
    trial = json.loads((folder / "trial.json").read_text())
    trial["state"], trial["samples"] = "recording", {"file": "samples.csv", "rows": None, "sha256": None}
    (folder / "trial.json").write_text(json.dumps(trial))
    data = (folder / "samples.csv").read_bytes()[:-lost]
    (folder / "samples.csv").write_bytes(data)
    rows = data.count(b"\n") - 1
    assert len(read_recording(folder).samples) == rows
    assert repair(folder)
    once = {p.name: p.read_bytes() for p in folder.iterdir()}
    assert len(read_recording(folder).samples) == rows
    assert read_recording(folder).trial.state == "interrupted"
    assert not repair(folder)
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == once


BAD_SAMPLES = {
    "empty": (b"", "0 rows are too few"),
    "binary": (bytes(range(256)) * 20, "line 1"),
    "short row": (b"HEAD\n0,0,0,1,2\n1,9,0,1,2\n", "line 2"),
    "not a number": (b"HEAD\n0,0,0,1,2,3,4,5,6,7,8,9,x\n1,9,0,1,2,3,4,5,6,7,8,9,10\n", "line 2"),
    "nan": (b"HEAD\n0,0,0,1,2,3,4,5,6,7,8,9,10\n1,9,0,nan,2,3,4,5,6,7,8,9,10\n", "line 3"),
    "clock back": (b"HEAD\n0,9,0,1,2,3,4,5,6,7,8,9,10\n1,8,0,1,2,3,4,5,6,7,8,9,10\n", "line 3"),
    "sequence": (b"HEAD\n5,1,0,1,2,3,4,5,6,7,8,9,10\n5,2,0,1,2,3,4,5,6,7,8,9,10\n", "line 3"),
    "too large": (b"HEAD\n0,1,0,1,2,3,4,5,6,7,8,9,10\n1,2,0,99999999,2,3,4,5,6,7,8,9,10\n", "line 3"),
    "huge jump": (
        b"HEAD\n0,1,0,1,2,3,4,5,6,7,8,9,10\n1000000000000,2,0,1,2,3,4,5,6,7,8,9,10\n",
        "line 3",
    ),
    "one row": (b"HEAD\n0,1,0,1,2,3,4,5,6,7,8,9,10\n", "too few"),
    "huge number": (
        b"HEAD\n0,1,0,1,2,3,4,5,6,7,8,9,10\n1,99999999999999999999999,0,1,2,3,4,5,6,7,8,9,1\n",
        "line 3",
    ),
    "swapped columns": (b"board_us,sequence,status,ch0\n0,1,0,1\n", "line 1"),
    "missing column": (b"sequence,board_us,status,ch0,ch2\n0,1,0,1,1\n", "line 1"),
}
HEAD = b"sequence,board_us,status," + b",".join(b"ch%d" % i for i in range(10))


@pytest.mark.parametrize("kind", BAD_SAMPLES)
def test_bad_samples_are_one_sentence(tmp_path: Path, kind: str) -> None:
    data, where = BAD_SAMPLES[kind]
    folder = write(tmp_path / "x", [a_block()])
    trial = json.loads((folder / "trial.json").read_text())
    trial["samples"] = {"file": "samples.csv", "rows": None, "sha256": None}
    (folder / "trial.json").write_text(json.dumps(trial))
    (folder / "samples.csv").write_bytes(data.replace(b"HEAD", HEAD))
    with pytest.raises(FileProblem, match=r"samples\.csv") as caught:
        read_recording(folder)
    assert where in str(caught.value)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda t: t.update(schema=9), "schema 9"),
        (lambda t: t["samples"].update(file="../../etc/passwd"), "plain file name"),
        (lambda t: t["samples"].update(rows=10**9), "claims 1000000000"),
        (lambda t: t["samples"].update(sha256="0" * 64), "checksum"),
        (lambda t: t.pop("rig"), "rig: is missing"),
        (lambda t: t["rig"].update(colour="blue"), "rig.colour: is not a key"),
        (lambda t: t["stance"]["left_foot"].update(usable_length_mm=-4), "usable_length_mm"),
        (lambda t: t["calibration"]["channels"].pop(), "no calibration for channel 9"),
    ],
)
def test_bad_trials_are_sentences(tmp_path: Path, change: object, says: str) -> None:
    folder = write(tmp_path / "x", [a_block()])
    trial = json.loads((folder / "trial.json").read_text())
    change(trial)
    (folder / "trial.json").write_text(json.dumps(trial))
    with pytest.raises(FileProblem, match=r"json|csv") as caught:
        read_recording(folder)
    assert says in str(caught.value)


@pytest.mark.parametrize("text", ["", "{", "[]", "null", '{"schema": NaN}', "\xff", "9" * 5000])
def test_trial_that_is_no_json(tmp_path: Path, text: str) -> None:
    folder = write(tmp_path / "x", [a_block()])
    (folder / "trial.json").write_bytes(text.encode("latin-1"))
    with pytest.raises(FileProblem):
        read_recording(folder)


def test_line_ends_and_byte_order_mark(tmp_path: Path) -> None:
    folder = write(tmp_path / "x", [a_block()])
    trial = json.loads((folder / "trial.json").read_text())
    trial["samples"]["sha256"] = None
    (folder / "trial.json").write_text(json.dumps(trial), encoding="utf-8-sig")
    data = (folder / "samples.csv").read_bytes()
    (folder / "samples.csv").write_bytes(b"\xef\xbb\xbf" + data.replace(b"\n", b"\r\n"))
    assert len(read_recording(folder).samples) == 50


def test_subject_codes(tmp_path: Path) -> None:
    assert next_folder(tmp_path, "R7T", "2026-03-02", "weight shift").name == "01-weight-shift"
    (tmp_path / "R7T" / "2026-03-02" / "07-free").mkdir(parents=True)
    assert next_folder(tmp_path, "R7T", "2026-03-02", "free").name == "08-free"
    for code in ("../x", "", "a/b", "a b", "x" * 60):
        with pytest.raises(FileProblem):
            next_folder(tmp_path, code, "2026-03-02", "free")


def test_demo_files_lie_in_the_package() -> None:
    for name in ("rig.toml", "stance.toml", "calibration.json", "quiet.toml", "shift.toml", "demo.toml"):
        assert demo.path(name).is_file()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A real disk of 1 MB; only the superuser may mount one."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = shutil.which("mount")
    if sys.platform != "linux" or os.geteuid() != 0 or mount is None:
        pytest.skip("a 1 MB disk needs Linux and the superuser")
    if subprocess.run([mount, "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(folder)], check=False).returncode:
        pytest.skip("this machine does not let a 1 MB disk be mounted")
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)


def test_a_really_full_disk(small_disk: Path) -> None:
    recorder = Recorder(small_disk / "x", a_trial())
    sent = 0
    while recorder.problem is None and sent < 100_000:
        recorder.put(a_block(400, sent))
        sent += 400
        recorder._thread.join(0.001)
    recorder.close()
    assert recorder.problem is not None
    assert "No space left" in recorder.problem
    read = read_recording(small_disk / "x")
    assert len(read.samples) > 4000
    assert (np.diff(read.samples.sequence) == 1).all()


def test_a_folder_that_vanishes_is_said(tmp_path: Path) -> None:
    recorder = Recorder(tmp_path / "x", a_trial())
    recorder.put(a_block(20))
    while recorder._rows < 20:
        recorder._thread.join(0.001)
    shutil.rmtree(tmp_path / "x")
    recorder.put(a_block(20, 20))
    recorder.close()
    assert recorder.problem is not None
    assert "vanished" in recorder.problem or "No such file" in recorder.problem
